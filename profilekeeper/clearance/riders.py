"""Guards, cameras, lifters and other prisms that ride along, against the slab and what stands about.

The head itself is kept clear of them by `gaps`; here they are what moves.
Derivation: docs/clearance-method.md#riders.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np

from profilekeeper.clearance.bound import Cells
from profilekeeper.clearance.frames import Frame, Head, JointBox, Joints, Straight, Vector
from profilekeeper.clearance.outline import Point
from profilekeeper.clearance.search import Outcome, search
from profilekeeper.clearance.shapes import Obstacle
from profilekeeper.clearance.sweep import DEFAULT_WIDTH_MM
from profilekeeper.errors import InvalidShape

__all__ = ["RiderGap", "RiderQuery", "rider_gap", "rider_gaps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiderQuery:
    """These riders, moving so, against these obstacles; compensation must be off, or the axes' travel known."""

    head: Head
    riders: tuple[Obstacle, ...]
    obstacles: tuple[Obstacle, ...]
    motion: JointBox | Straight
    width_mm: float = DEFAULT_WIDTH_MM

    def __post_init__(self) -> None:
        if not self.riders or not self.obstacles:
            raise InvalidShape("give at least one thing that rides along and one to keep it clear of")
        if not self.width_mm > 0:
            raise InvalidShape(f"the width of an answer must be more than 0 mm, found {self.width_mm!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class RiderGap:
    """As `Gap`, for a rider: the least gap lies in [low_mm, high_mm], and both are 0 in contact."""

    low_mm: float
    high_mm: float
    rider: Obstacle
    obstacle: Obstacle
    joints: Joints
    point_on_rider_mm: Vector
    point_on_obstacle_mm: Vector
    boxes: int
    settled: bool

    @property
    def is_contact(self) -> bool:
        """Whether contact is proven."""
        return self.high_mm <= 0.0


def rider_gap(query: RiderQuery) -> RiderGap:
    """The least gap of one question."""
    return rider_gaps((query,))[0]


def rider_gaps(queries: Sequence[RiderQuery]) -> tuple[RiderGap, ...]:
    """The least gap between riders and obstacles of each question, in their order.

    Points are given in the obstacle's frame, or in the rider's if the obstacle swivels and the rider does not.
    """
    rows = [row for group, query in enumerate(queries) for row in _rows(group, query)]
    if not rows:
        return ()
    outcome = search(_cells(rows), np.array([row.group for row in rows]), np.array([q.width_mm for q in queries]))
    return tuple(_answer(query, rows[int(outcome.root[i])], outcome, i) for i, query in enumerate(queries))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    group: int
    rider: Obstacle
    obstacle: Obstacle
    hull: tuple[tuple[float, float, float], ...]
    wall: tuple[Point, ...]
    heights: tuple[float, float]
    base: tuple[float, ...]
    spread: tuple[float, ...]
    drift: tuple[float, ...]
    turn: tuple[float, float]
    tied: bool
    swapped: bool


def _rows(group: int, query: RiderQuery) -> list[_Row]:
    found: list[_Row] = []
    for rider in query.riders:
        for obstacle in query.obstacles:
            # Only one of two turns against the other; the one on the swivel is made the mover.
            swapped = obstacle.frame is Frame.SWIVEL and rider.frame is not Frame.SWIVEL
            mover, still = (obstacle, rider) if swapped else (rider, obstacle)
            found.extend(
                _row(query, group, mover, still, part, wall, swapped)
                for part in mover.pieces()
                for wall in still.pieces()
            )
    return found


def _row(
    query: RiderQuery,
    group: int,
    mover: Obstacle,
    still: Obstacle,
    part: tuple[Point, ...],
    wall: tuple[Point, ...],
    swapped: bool,
) -> _Row:
    head, motion = query.head, query.motion
    pairs = zip(head.carried(mover.frame), head.carried(still.frame), strict=True)
    share = [one - other for one, other in pairs]
    turns = mover.frame is Frame.SWIVEL and still.frame is not Frame.SWIVEL
    zero = radians(head.swivel.geometric_deg(0.0)) if turns else 0.0
    middle, spread, drift, swivel = _travel(motion)
    turn = (radians(head.swivel.geometric_deg(swivel[0])), radians(head.swivel.sense * swivel[1]))
    if isinstance(motion, JointBox):
        turn = (turn[0], abs(turn[1]))
    return _Row(
        group=group,
        rider=still if swapped else mover,
        obstacle=mover if swapped else still,
        hull=tuple((*_turned(corner, -zero), z) for corner in part for z in (mover.from_mm, mover.to_mm)),
        wall=wall,
        heights=(still.from_mm, still.to_mm),
        base=tuple(by * at for by, at in zip(share, middle, strict=True)),
        spread=tuple(abs(by) * at for by, at in zip(share, spread, strict=True)),
        drift=tuple(by * at for by, at in zip(share, drift, strict=True)),
        turn=turn if turns else (0.0, 0.0),
        tied=isinstance(motion, Straight),
        swapped=swapped,
    )


_Triple = tuple[float, float, float]


def _travel(motion: JointBox | Straight) -> tuple[_Triple, _Triple, _Triple, tuple[float, float]]:
    """Middle, free half width and tied half width of X, Y, Z; middle and half width of the swivel."""
    still = (0.0, 0.0, 0.0)
    if isinstance(motion, Straight):
        one, other = motion.start, motion.end
        pairs = ((one.x_mm, other.x_mm), (one.y_mm, other.y_mm), (one.z_mm, other.z_mm))
        mx, my, mz = ((a + b) / 2 for a, b in pairs)
        dx, dy, dz = (other.x_mm - mx, other.y_mm - my, other.z_mm - mz)
        swivel = ((one.swivel_deg + other.swivel_deg) / 2, (other.swivel_deg - one.swivel_deg) / 2)
        return (mx, my, mz), still, (dx, dy, dz), swivel
    x, y, z = motion.x_mm, motion.y_mm, motion.z_mm
    half = min(motion.swivel_deg.half, 180.0)
    return (x.middle, y.middle, z.middle), (x.half, y.half, z.half), still, (motion.swivel_deg.middle, half)


def _turned(corner: Point, by: float) -> Point:
    return corner[0] * cos(by) - corner[1] * sin(by), corner[0] * sin(by) + corner[1] * cos(by)


def _cells(rows: Sequence[_Row]) -> Cells:
    count = len(rows)
    hulls, walls = max(len(row.hull) for row in rows), max(len(row.wall) for row in rows)
    hull = np.array([row.hull + row.hull[:1] * (hulls - len(row.hull)) for row in rows], dtype=float)
    arm = np.hypot(hull[:, :, 0], hull[:, :, 1]).max(axis=1)
    turn = np.array([row.turn for row in rows])
    none = np.zeros(count)
    return Cells(
        depth=np.abs(hull[:, :, 2]).max(axis=1)[:, None] * np.ones(2),
        radius=arm[:, None] * np.ones(2),
        corners=np.array([row.wall + row.wall[:1] * (walls - len(row.wall)) for row in rows], dtype=float),
        heights=np.array([row.heights for row in rows]),
        base=np.array([row.base for row in rows]),
        spread=np.array([row.spread for row in rows]),
        drift=np.array([row.drift for row in rows]),
        mask=np.ones((count, 3)),
        offset=np.zeros((count, 5)),
        tilt=none,
        tilt_half=none.copy(),
        turn=turn[:, 0],
        turn_half=turn[:, 1],
        tied=np.array([row.tied for row in rows]),
        hull=hull,
    )


def _answer(query: RiderQuery, row: _Row, outcome: Outcome, at: int) -> RiderGap:
    mover = [float(value) for value in outcome.point[at]]
    still = [float(value) for value in outcome.point[at] - outcome.apart[at]]
    on_rider, on_obstacle = (still, mover) if row.swapped else (mover, still)
    return RiderGap(
        low_mm=float(outcome.low[at]),
        high_mm=float(outcome.high[at]),
        rider=row.rider,
        obstacle=row.obstacle,
        joints=_joints(query, row, outcome, at),
        point_on_rider_mm=(on_rider[0], on_rider[1], on_rider[2]),
        point_on_obstacle_mm=(on_obstacle[0], on_obstacle[1], on_obstacle[2]),
        boxes=int(outcome.boxes[at]),
        settled=bool(outcome.settled[at]),
    )


def _joints(query: RiderQuery, row: _Row, outcome: Outcome, at: int) -> Joints:
    motion = query.motion
    if isinstance(motion, Straight):
        return motion.at((1.0 + float(outcome.share[at])) / 2)
    mover, still = (row.obstacle, row.rider) if row.swapped else (row.rider, row.obstacle)
    pairs = zip(query.head.carried(mover.frame), query.head.carried(still.frame), strict=True)
    sign = [one - other for one, other in pairs]
    x, y, z = (
        span.middle + by * float(swept)
        for span, by, swept in zip((motion.x_mm, motion.y_mm, motion.z_mm), sign, outcome.swept[at], strict=True)
    )
    turns = mover.frame is Frame.SWIVEL and still.frame is not Frame.SWIVEL
    swivel = query.head.swivel.reading_deg(float(np.degrees(outcome.turn[at]))) if turns else motion.swivel_deg.middle
    return Joints(x_mm=x, y_mm=y, z_mm=z, tilt_deg=motion.tilt_deg.middle, swivel_deg=swivel)
