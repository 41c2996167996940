"""From heads, shapes and motions to the arrays the search works on: one row a section and convex piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import pi, radians

import numpy as np

from profilekeeper.clearance.bound import Cells
from profilekeeper.clearance.distance import Indices
from profilekeeper.clearance.frames import AngleMap, Frame, Head, JointBox, Joints, Span, Straight, TipHeld
from profilekeeper.clearance.shapes import Obstacle, Section

__all__ = ["Layout", "Request", "lay_out"]

Request = tuple[Head, Sequence[Section], Sequence[Obstacle], JointBox | Straight, TipHeld | None]


_Triple = tuple[float, ...]
_STILL: _Triple = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The rows of all questions: to which question, section and obstacle each belongs."""

    cells: Cells
    group: Indices
    section: Indices
    obstacle: Indices
    sections: tuple[Section, ...]
    obstacles: tuple[Obstacle, ...]


@dataclass(slots=True)
class _Tables:
    """Each section, obstacle and placement once, however many questions share it."""

    sections: dict[int, int] = field(default_factory=dict)
    obstacles: dict[int, tuple[int, ...]] = field(default_factory=dict)
    section_list: list[Section] = field(default_factory=list)
    obstacle_list: list[Obstacle] = field(default_factory=list)
    pieces: list[tuple[tuple[float, float], ...]] = field(default_factory=list)
    piece_owner: list[int] = field(default_factory=list)
    places: list[tuple[float, ...]] = field(default_factory=list)
    tied: list[bool] = field(default_factory=list)

    def section_at(self, section: Section) -> int:
        at = self.sections.get(id(section))
        if at is None:
            at = self.sections[id(section)] = len(self.section_list)
            self.section_list.append(section)
        return at

    def pieces_at(self, obstacle: Obstacle) -> tuple[int, ...]:
        at = self.obstacles.get(id(obstacle))
        if at is None:
            pieces = obstacle.pieces()
            at = tuple(range(len(self.pieces), len(self.pieces) + len(pieces)))
            self.obstacles[id(obstacle)] = at
            self.pieces.extend(pieces)
            self.piece_owner.extend([len(self.obstacle_list)] * len(pieces))
            self.obstacle_list.append(obstacle)
        return at


def lay_out(requests: Sequence[Request]) -> Layout:
    """The rows of all questions, in their order."""
    tables = _Tables()
    runs: list[tuple[int, int, int]] = []  # question, place, rows
    section: list[int] = []
    piece: list[int] = []
    for group, (head, sections, obstacles, motion, held) in enumerate(requests):
        section_rows = [tables.section_at(one) for one in sections]
        for frame, pieces in _by_frame(tables, obstacles).items():
            runs.append((group, len(tables.places), len(pieces) * len(section_rows)))
            tables.places.append(_placed(head, frame, motion, held))
            tables.tied.append(isinstance(motion, Straight))
            section.extend(section_rows * len(pieces))
            piece.extend([one for one in pieces for _ in section_rows])
    run = np.array(runs, dtype=np.int64)
    pieces_at = np.array(piece, dtype=np.int64)
    section_at = np.array(section, dtype=np.int64)
    return Layout(
        cells=_cells(tables, section_at, pieces_at, np.repeat(run[:, 1], run[:, 2])),
        group=np.repeat(run[:, 0], run[:, 2]),
        section=section_at,
        obstacle=np.array(tables.piece_owner, dtype=np.int64)[pieces_at],
        sections=tuple(tables.section_list),
        obstacles=tuple(tables.obstacle_list),
    )


def _by_frame(tables: _Tables, obstacles: Sequence[Obstacle]) -> dict[Frame, list[int]]:
    found: dict[Frame, list[int]] = {}
    for obstacle in obstacles:
        found.setdefault(obstacle.frame, []).extend(tables.pieces_at(obstacle))
    return found


def _cells(tables: _Tables, section: Indices, piece: Indices, place: Indices) -> Cells:
    rims = np.array([(s.from_mm, s.to_mm, s.radius_from_mm, s.radius_to_mm) for s in tables.section_list])[section]
    most = max(map(len, tables.pieces))
    corners = np.array([(*piece, *([piece[0]] * (most - len(piece)))) for piece in tables.pieces], dtype=float)
    owners = [tables.obstacle_list[owner] for owner in tables.piece_owner]
    heights = np.array([(owner.from_mm, owner.to_mm) for owner in owners])
    places = np.array(tables.places)[place]
    return Cells(
        depth=rims[:, :2] + places[:, 21:22],
        radius=rims[:, 2:],
        corners=corners[piece],
        heights=heights[piece],
        base=places[:, 0:3],
        spread=places[:, 3:6],
        drift=places[:, 6:9],
        mask=places[:, 9:12],
        offset=places[:, 12:17],
        tilt=places[:, 17],
        tilt_half=places[:, 18],
        turn=places[:, 19],
        turn_half=places[:, 20],
        tied=np.array(tables.tied)[place],
        hull=np.zeros((len(place), 0, 3)),
    )


def _placed(head: Head, frame: Frame, motion: JointBox | Straight, held: TipHeld | None) -> tuple[float, ...]:
    moves = head.moves_past(frame)
    # What rides with all three axes sees the head turn about its own pivot, compensated or not.
    held = held if any(moves) else None
    if isinstance(motion, Straight):
        base, drift = _straight_base(head, moves, motion, held)
        spread = _STILL
        angles = _straight_angles(head, frame, motion)
    else:
        base, spread = _box_base(head, moves, motion, held)
        drift = _STILL
        angles = _box_angles(head, frame, motion)
    deep = 0.0 if held is None else head.pivot_to_gauge_line_mm + held.tip_mm
    mask = tuple(float(held is None or not move) for move in moves)
    offset = (*head.swivel_to_tilt_mm, *head.tilt_to_spindle_mm, deep)
    return (*base, *spread, *drift, *mask, *offset, *angles, head.pivot_to_gauge_line_mm - deep)


def _base(head: Head, moves: tuple[bool, ...], joints: Joints, held: TipHeld | None) -> _Triple:
    """Where the point stands about which the tool turns: the pivot, or the tip that is held."""
    still = (0.0, 0.0, head.pivot_to_gauge_line_mm)
    pivot = (joints.x_mm, joints.y_mm, joints.z_mm + head.pivot_to_gauge_line_mm)
    moving = pivot if held is None else head.axis_point(joints, held.tip_mm)
    return tuple(there if move else here for move, there, here in zip(moves, moving, still, strict=True))


def _box_base(head: Head, moves: tuple[bool, ...], box: JointBox, held: TipHeld | None) -> tuple[_Triple, _Triple]:
    spans = (box.x_mm, box.y_mm, box.z_mm)
    start = Joints(
        x_mm=box.x_mm.middle,
        y_mm=box.y_mm.middle,
        z_mm=box.z_mm.middle,
        tilt_deg=box.tilt_deg.middle if held is None else held.start_tilt_deg,
        swivel_deg=box.swivel_deg.middle if held is None else held.start_swivel_deg,
    )
    spread = tuple(span.half if move else 0.0 for move, span in zip(moves, spans, strict=True))
    return _base(head, moves, start, held), spread


def _straight_base(
    head: Head, moves: tuple[bool, ...], move: Straight, held: TipHeld | None
) -> tuple[_Triple, _Triple]:
    one, other = _base(head, moves, move.start, held), _base(head, moves, move.end, held)
    middle = tuple((a + b) / 2 for a, b in zip(one, other, strict=True))
    return middle, tuple((b - a) / 2 for a, b in zip(one, other, strict=True))


def _box_angles(head: Head, frame: Frame, box: JointBox) -> _Triple:
    tilt, tilt_half = _centred(head.tilt, box.tilt_deg)
    turn, turn_half = _centred(head.swivel, _swivel_seen(frame, box.swivel_deg))
    return tilt, tilt_half, turn, min(turn_half, pi)


def _straight_angles(head: Head, frame: Frame, move: Straight) -> _Triple:
    ends = [head.angles_rad(joints) for joints in (move.start, move.end)]
    if frame is Frame.SWIVEL:
        still = radians(head.swivel.geometric_deg(0.0))
        ends = [(tilt, still) for tilt, _ in ends]
    (tilt, turn), (end_tilt, end_turn) = ends
    return (tilt + end_tilt) / 2, (end_tilt - tilt) / 2, (turn + end_turn) / 2, (end_turn - turn) / 2


def _swivel_seen(frame: Frame, swivel: Span) -> Span:
    """What rides on the swivel sees no swivelling; its outline is given at a reading of 0."""
    return Span.at(0.0) if frame is Frame.SWIVEL else swivel


def _centred(axis: AngleMap, span: Span) -> tuple[float, float]:
    return radians(axis.geometric_deg(span.middle)), radians(abs(axis.sense) * span.half)
