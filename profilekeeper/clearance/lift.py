"""The least rise of Z that frees a sweep, all else held, certified.

How deep two solids overlap says little: cut an obstacle in two and it changes. The rise does not, and
it is what a technician does. Derivation: docs/clearance-method.md#the-lift.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite

from profilekeeper.clearance.frames import JointBox, Straight
from profilekeeper.clearance.shapes import Obstacle
from profilekeeper.clearance.sweep import Gap, Query, gap, gaps
from profilekeeper.errors import InvalidShape

__all__ = ["Lift", "least_lift"]

# Shares of the 0.1 mm promised: how exactly a pose's own end is found, and how far past it we look.
_END_MM, _BACK_MM, _STEP_MM = 0.005, 0.02, 0.03
# No gap can be told from contact more finely than this; it stands in for "more than 0".
_LEAST_GAP_MM = 0.01
_MOST_STEPS = 200
_WIDTHS_MM = (0.05, 0.005, 0.0005)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """Every rise below `low_mm` is proven too little; `high_mm` is proven enough.

    `high_mm` is None where no rise within the room given frees the sweep. `gap` is the gap after the
    rise, or the last one that was too small.
    """

    low_mm: float
    high_mm: float | None
    gap: Gap

    @property
    def is_within_travel(self) -> bool:
        """Whether some rise within the room given is enough."""
        return self.high_mm is not None


def least_lift(query: Query, *, required_mm: float, room_mm: float) -> Lift:
    """The least rise of the whole motion after which its gap is at least `required_mm`.

    Units:   millimetres; `room_mm` is how far Z may still rise from the motion's highest Z. The two
             ends are 0.1 apart at most, save where the gap grazes what is required over a stretch.
    Raises:  InvalidShape, if a length is negative or not a number.
    Source:  docs/clearance-method.md#the-lift.
    """
    if not (isfinite(required_mm) and required_mm >= 0 and isfinite(room_mm) and room_mm >= 0):
        raise InvalidShape(f"required room and travel must be 0 mm or more, found {required_mm!r}, {room_mm!r}")
    need = max(required_mm, _LEAST_GAP_MM)
    rise, proven, certain = 0.0, 0.0, True
    for _ in range(_MOST_STEPS):
        found = _decided(query, rise, need)
        if found.low_mm >= need:
            return Lift(low_mm=min(proven, rise), high_mm=rise, gap=found)
        end = _blocked_end(query, found, rise, need) if found.high_mm < need else rise
        certain = certain and found.high_mm < need
        if certain:
            proven = max(proven, min(end - _BACK_MM, room_mm))
        if end > room_mm or rise >= room_mm:
            break
        rise = min(max(end, rise) + _STEP_MM, room_mm)
    return Lift(low_mm=proven, high_mm=None, gap=found)


def risen(query: Query, by_mm: float) -> Query:
    """The same question with the whole motion higher."""
    motion = query.motion
    if isinstance(motion, JointBox):
        return replace(query, motion=replace(motion, z_mm=motion.z_mm.moved(by_mm)))
    start, end = (replace(joints, z_mm=joints.z_mm + by_mm) for joints in (motion.start, motion.end))
    return replace(query, motion=Straight(start=start, end=end))


def _decided(query: Query, rise: float, need: float) -> Gap:
    """The gap after a rise, as narrow as it takes to tell whether it is enough."""
    for width in _WIDTHS_MM:
        found = gap(replace(risen(query, rise), width_mm=min(width, query.width_mm)))
        if found.low_mm >= need or found.high_mm < need:
            break
    return found


def _blocked_end(query: Query, found: Gap, rise: float, need: float) -> float:
    """Where the nearest pair's own pose comes free: the set of rises that block it is one stretch.

    Newton's steps from above never pass the end, since the distance is convex in the rise.
    """
    if not query.head.moves_past(found.obstacle.frame)[2]:
        return inf
    pose = _single(query, found)
    end = rise + _over_the_top(query, found, need)
    for _ in range(60):
        there = gap(risen(pose, end - rise))
        steep = (there.point_on_tool_mm[2] - there.point_on_obstacle_mm[2]) / there.high_mm
        step = (there.high_mm - need) / steep
        end -= step
        if step <= _END_MM:
            break
    return end + _END_MM


def _single(query: Query, found: Gap) -> Query:
    """One section against one convex piece, at the pose found."""
    pieces = [
        Obstacle(
            name=found.obstacle.name,
            outline_mm=piece,
            from_mm=found.obstacle.from_mm,
            to_mm=found.obstacle.to_mm,
            frame=found.obstacle.frame,
        )
        for piece in found.obstacle.pieces()
    ]
    still = replace(query, motion=JointBox.at(found.joints), sections=(found.section,), tip_held=None, width_mm=1e-3)
    each = [replace(still, obstacles=(piece,)) for piece in pieces]
    answers = gaps(each)
    return min(zip(each, answers, strict=True), key=lambda pair: pair[1].high_mm)[0]


def _over_the_top(query: Query, found: Gap, need: float) -> float:
    """A rise after which the section is surely past the obstacle's top by what is needed."""
    section, head = found.section, query.head
    ends = ((section.from_mm, section.radius_from_mm), (section.to_mm, section.radius_to_mm))
    lowest = min(head.axis_point(found.joints, along)[2] - radius for along, radius in ends)
    return max(found.obstacle.to_mm - lowest, 0.0) + need + 1.0
