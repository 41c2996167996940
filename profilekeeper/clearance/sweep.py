"""The least gap between a moving head and what stands around it, certified.

`gaps` answers many questions in one call. Each answer is an interval that contains the true least gap
over every set of joint values asked about. Method and proof: docs/clearance-method.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from profilekeeper.clearance.frames import Frame, Head, JointBox, Joints, Straight, TipHeld, Vector
from profilekeeper.clearance.laying import Layout, lay_out
from profilekeeper.clearance.search import Outcome, search
from profilekeeper.clearance.shapes import Obstacle, Section
from profilekeeper.errors import InvalidShape

__all__ = ["DEFAULT_WIDTH_MM", "Gap", "HardAndSoft", "Query", "gap", "gaps", "hard_and_soft"]

DEFAULT_WIDTH_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Query:
    """One question: these sections of tool and head, moving so, against these obstacles.

    `motion` is a box (any path inside it) or a straight move (all axes start and end together).
    `tip_held` is given where tool-centre compensation is on.
    """

    head: Head
    sections: tuple[Section, ...]
    obstacles: tuple[Obstacle, ...]
    motion: JointBox | Straight
    tip_held: TipHeld | None = None
    width_mm: float = DEFAULT_WIDTH_MM

    def __post_init__(self) -> None:
        if not self.sections:
            raise InvalidShape("there is no tool or head section to keep clear; give at least one")
        if not self.obstacles:
            raise InvalidShape("there is nothing to keep clear of; give at least one obstacle")
        if not self.width_mm > 0:
            raise InvalidShape(f"the width of an answer must be more than 0 mm, found {self.width_mm!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """The least gap lies in [low_mm, high_mm]; `high_mm` is that of two actual points at `joints`.

    In contact both are 0 and `joints` is a pose of contact; on a straight move `share` says how far along
    it is. `settled` is False where the search gave up before the interval was as narrow as asked; the
    interval holds all the same.
    """

    low_mm: float
    high_mm: float
    section: Section
    obstacle: Obstacle
    joints: Joints
    point_on_tool_mm: Vector
    point_on_obstacle_mm: Vector
    boxes: int
    settled: bool
    share: float | None = None

    @property
    def is_contact(self) -> bool:
        """Whether contact is proven."""
        return self.high_mm <= 0.0

    @property
    def width_mm(self) -> float:
        """How wide the interval is."""
        return self.high_mm - self.low_mm


def gap(query: Query) -> Gap:
    """The least gap of one question."""
    return gaps((query,))[0]


def gaps(queries: Sequence[Query]) -> tuple[Gap, ...]:
    """The least gap of each question, in their order; many at once cost little more than one.

    Units:   millimetres; a gap is 0 in contact, however deep.
    Source:  docs/clearance-method.md.
    """
    if not queries:
        return ()
    layout = lay_out([(q.head, q.sections, q.obstacles, q.motion, q.tip_held) for q in queries])
    outcome = search(layout.cells, layout.group, np.array([q.width_mm for q in queries]))
    return tuple(_answer(query, layout, outcome, i) for i, query in enumerate(queries))


@dataclass(frozen=True, slots=True, kw_only=True)
class HardAndSoft:
    """The least gap of what is hard and of bristles apart; None where the tool has no such section."""

    hard: Gap | None
    soft: Gap | None


def hard_and_soft(query: Query) -> HardAndSoft:
    """The gap of the hard sections and that of the soft ones: a brush may touch what its core may not."""
    parts = [tuple(s for s in query.sections if s.soft is soft) for soft in (False, True)]
    found = iter(gaps([replace(query, sections=part) for part in parts if part]))
    hard, soft = (next(found) if part else None for part in parts)
    return HardAndSoft(hard=hard, soft=soft)


def _answer(query: Query, layout: Layout, outcome: Outcome, at: int) -> Gap:
    root = int(outcome.root[at])
    section = layout.sections[int(layout.section[root])]
    obstacle = layout.obstacles[int(layout.obstacle[root])]
    tool = outcome.point[at]
    return Gap(
        low_mm=float(outcome.low[at]),
        high_mm=float(outcome.high[at]),
        section=section,
        obstacle=obstacle,
        joints=_joints(query, obstacle.frame, outcome, at),
        point_on_tool_mm=_vector(tool),
        point_on_obstacle_mm=_vector(tool - outcome.apart[at]),
        boxes=int(outcome.boxes[at]),
        settled=bool(outcome.settled[at]),
        share=(1.0 + float(outcome.share[at])) / 2 if isinstance(query.motion, Straight) else None,
    )


def _vector(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _joints(query: Query, frame: Frame, outcome: Outcome, at: int) -> Joints:
    """The readings at the nearest pair; axes that do not matter stand at their middle."""
    if isinstance(query.motion, Straight):
        share = (1.0 + float(outcome.share[at])) / 2
        return _on_the_way(query.head, query.motion, query.tip_held, share)
    head, box = query.head, query.motion
    swept = outcome.swept[at]
    tilt = head.tilt.reading_deg(float(np.degrees(outcome.tilt[at])))
    swivel = head.swivel.reading_deg(float(np.degrees(outcome.turn[at])))
    if frame is Frame.SWIVEL:
        swivel = box.swivel_deg.middle
    x, y, z = (span.middle + float(by) for span, by in zip((box.x_mm, box.y_mm, box.z_mm), swept, strict=True))
    found = Joints(x_mm=x, y_mm=y, z_mm=z, tilt_deg=tilt, swivel_deg=swivel)
    return found if query.tip_held is None else _with_tip_held(head, query.tip_held, found)


def _on_the_way(head: Head, move: Straight, held: TipHeld | None, share: float) -> Joints:
    """The readings after a share of a move; with compensation on it is the tip that goes straight."""
    there = move.at(share)
    if held is None:
        return there
    ends = [head.axis_point(joints, held.tip_mm) for joints in (move.start, move.end)]
    tip = [one * (1 - share) + other * share for one, other in zip(*ends, strict=True)]
    dx, dy, dz = (want - has for want, has in zip(tip, head.axis_point(there, held.tip_mm), strict=True))
    return replace(there, x_mm=there.x_mm + dx, y_mm=there.y_mm + dy, z_mm=there.z_mm + dz)


def _with_tip_held(head: Head, held: TipHeld, found: Joints) -> Joints:
    """The readings after X, Y, Z have followed the turning head."""
    start = Joints(
        x_mm=found.x_mm,
        y_mm=found.y_mm,
        z_mm=found.z_mm,
        tilt_deg=held.start_tilt_deg,
        swivel_deg=held.start_swivel_deg,
    )
    before, after = head.axis_point(start, held.tip_mm), head.axis_point(found, held.tip_mm)
    return Joints(
        x_mm=found.x_mm + before[0] - after[0],
        y_mm=found.y_mm + before[1] - after[1],
        z_mm=found.z_mm + before[2] - after[2],
        tilt_deg=found.tilt_deg,
        swivel_deg=found.swivel_deg,
    )
