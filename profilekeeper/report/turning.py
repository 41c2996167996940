"""A head in its tilt plane: where its sections stand at each tilt, and all that they pass.

Source: docs/clearance-method.md#the-chain. Points of the plane are (s, z): s forward from the swivel axis, z
the machine's height.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians

from profilekeeper.clearance import Head, JointBox, Joints, Query, Section, Straight
from profilekeeper.report.cut import TiltPlane
from profilekeeper.report.envelope import Swept, profile_of, swept, tilted
from profilekeeper.report.svg import Point

__all__ = ["Turning", "turning_of"]

_SAME_MM = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """A tilt about a centre that stands still: the pivot, or the tip where compensation is on.

    `tilts_deg` are the readings at its ends, in the order of the geometric tilt; `offset_mm` is how far back
    from the centre the spindle axis passes at level, `gauge_mm` how far along it the gauge line is.
    `moves` is True where X, Y, Z or the swivel move as well: the turn is then that at one place only.
    """

    head: Head
    joints: Joints
    centre: Point
    offset_mm: float
    gauge_mm: float
    tilts_deg: tuple[float, float]
    moves: bool

    def outline(self, section: Section, tilt_deg: float) -> tuple[Point, ...]:
        """The four corners of a section at a reading of the tilt."""
        return self._placed(tilted(profile_of(section, self.offset_mm, self.gauge_mm), self._angle(tilt_deg)))

    def on_axis(self, along_mm: float, tilt_deg: float, back_mm: float = 0.0) -> Point:
        """A point of the spindle axis beyond the gauge line, or so far back from it."""
        at_level = (self.gauge_mm + along_mm, self.offset_mm + back_mm)
        return self._placed(tilted([at_level], self._angle(tilt_deg)))[0]

    def pivot(self, tilt_deg: float) -> Point:
        """Where the tilt axis passes through the plane."""
        return self.on_axis(-self.head.pivot_to_gauge_line_mm, tilt_deg, -self.head.tilt_to_spindle_mm[0])

    def swept(self, sections: Sequence[Section]) -> Swept:
        """All that sections pass."""
        start, end = (self._angle(tilt) for tilt in self.tilts_deg)
        passed = swept([profile_of(section, self.offset_mm, self.gauge_mm) for section in sections], start, end)
        return Swept(
            regions=tuple(tuple(self._placed(ring) for ring in rings) for rings in passed.regions),
            outline=tuple(self._placed(piece) for piece in passed.outline),
        )

    def nearest_reading(self, geometric_deg: float) -> float:
        """The reading within the turn that comes nearest to a geometric tilt."""
        low, high = (self.head.tilt.geometric_deg(tilt) for tilt in self.tilts_deg)
        return self.head.tilt.reading_deg(min(max(geometric_deg, low), high))

    def _angle(self, tilt_deg: float) -> float:
        return radians(self.head.tilt.geometric_deg(tilt_deg))

    def _placed(self, points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple((self.centre[0] + p, self.centre[1] + q) for p, q in points)


def turning_of(query: Query, joints: Joints) -> Turning:
    """The turn that a question asks about, at one of its poses."""
    head = query.head
    plane = TiltPlane(head=head, joints=joints)
    depth = head.pivot_to_gauge_line_mm
    if query.tip_held is None:
        centre = (head.swivel_to_tilt_mm[0], joints.z_mm + depth)
        offset, gauge = head.tilt_to_spindle_mm[0], depth
    else:
        x, y, z = head.axis_point(joints, query.tip_held.tip_mm)
        centre, offset, gauge = (plane.along_and_off(x, y)[0], z), 0.0, -query.tip_held.tip_mm
    return Turning(
        head=head, joints=joints, centre=centre, offset_mm=offset, gauge_mm=gauge,
        tilts_deg=_tilts(query, head), moves=_moves(query.motion),
    )  # fmt: skip


def _tilts(query: Query, head: Head) -> tuple[float, float]:
    motion = query.motion
    if isinstance(motion, JointBox):
        ends = (motion.tilt_deg.low, motion.tilt_deg.high)
    else:
        ends = (motion.start.tilt_deg, motion.end.tilt_deg)
    low, high = sorted(ends, key=head.tilt.geometric_deg)
    return low, high


def _moves(motion: JointBox | Straight) -> bool:
    if isinstance(motion, JointBox):
        spans = (motion.x_mm, motion.y_mm, motion.z_mm, motion.swivel_deg)
        return any(span.half > _SAME_MM for span in spans)
    start, end = motion.start, motion.end
    pairs = [(getattr(start, name), getattr(end, name)) for name in ("x_mm", "y_mm", "z_mm", "swivel_deg")]
    return any(abs(one - other) > _SAME_MM for one, other in pairs)
