"""Where obstacles stand on the drawing: beside the head at one pose, and cut by its tilt plane.

Everything is drawn as it stands past the head at that pose: what rides along is shown where it has ridden to.
The tilt plane is the upright plane through the spindle; s runs from the swivel axis to where the level
spindle points. Source: docs/clearance-method.md#the-chain, for the frames and the chain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin

from profilekeeper.clearance import Frame, Head, Joints, Obstacle
from profilekeeper.report.envelope import turned
from profilekeeper.report.svg import Point

__all__ = ["Cut", "TiltPlane", "placed_outline", "placed_point", "rise_of"]

_Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """What the tilt plane meets of an obstacle: stretches of s, and its heights.

    Where the plane misses it, `beside` is True and the one stretch is its shadow on the plane.
    """

    obstacle: Obstacle
    stretches_mm: tuple[tuple[float, float], ...]
    from_mm: float
    to_mm: float
    beside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltPlane:
    """The tilt plane of a head at one pose."""

    head: Head
    joints: Joints

    def along_and_off(self, x_mm: float, y_mm: float) -> Point:
        """How far a spot lies forward of the swivel axis, and how far to the side of the plane."""
        (ux, uy), (ox, oy) = self._forward(), self._foot()
        return (x_mm - ox) * ux + (y_mm - oy) * uy, (y_mm - oy) * ux - (x_mm - ox) * uy

    def cut(self, obstacle: Obstacle) -> Cut:
        """What the plane meets of an obstacle."""
        rise = rise_of(obstacle.frame, self.head, self.joints)
        pieces = [
            [self.along_and_off(*spot) for spot in placed_outline(obstacle, piece, self.head, self.joints)]
            for piece in obstacle.pieces()
        ]
        met = _joined([stretch for piece in pieces if (stretch := _met(piece)) is not None])
        alongs = [along for piece in pieces for along, _ in piece]
        return Cut(
            obstacle=obstacle,
            stretches_mm=met or ((min(alongs), max(alongs)),),
            from_mm=obstacle.from_mm + rise,
            to_mm=obstacle.to_mm + rise,
            beside=not met,
        )

    def _forward(self) -> Point:
        _, turn = self.head.angles_rad(self.joints)
        return cos(turn), sin(turn)

    def _foot(self) -> Point:
        ux, uy = self._forward()
        aside = self.head.swivel_to_tilt_mm[1] + self.head.tilt_to_spindle_mm[1]
        return self.joints.x_mm - aside * uy, self.joints.y_mm + aside * ux


def placed_outline(obstacle: Obstacle, outline: Sequence[Point], head: Head, joints: Joints) -> tuple[Point, ...]:
    """Corners of an obstacle's outline as they stand past the head."""
    return tuple(placed_point(obstacle.frame, (x, y, 0.0), head, joints)[:2] for x, y in outline)


def placed_point(frame: Frame, point: _Vector, head: Head, joints: Joints) -> _Vector:
    """A point given in an obstacle's frame, as it stands past the head."""
    x, y, z = point
    if frame is Frame.SWIVEL:
        by = head.swivel.geometric_deg(joints.swivel_deg) - head.swivel.geometric_deg(0.0)
        ((x, y),) = turned([(x, y)], by)
    past = head.moves_past(frame)
    return (
        x + (0.0 if past[0] else joints.x_mm),
        y + (0.0 if past[1] else joints.y_mm),
        z + (0.0 if past[2] else joints.z_mm),
    )


def rise_of(frame: Frame, head: Head, joints: Joints) -> float:
    """How far what rides with a frame has been lifted by Z."""
    return 0.0 if head.moves_past(frame)[2] else joints.z_mm


def _met(corners: Sequence[Point]) -> tuple[float, float] | None:
    """Where a convex outline, given as (along, off), crosses the line off = 0."""
    found = []
    for i, (along, off) in enumerate(corners):
        before, before_off = corners[i - 1]
        if off * before_off <= 0 and off != before_off:
            found.append(before + (along - before) * before_off / (before_off - off))
    return (min(found), max(found)) if found and max(found) > min(found) else None


def _joined(stretches: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    joined: list[tuple[float, float]] = []
    for start, end in sorted(stretches):
        if joined and start <= joined[-1][1] + 1e-6:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)
