"""What moves with what: the head's joints, the frames obstacles ride on, and boxes of joint readings.

All frames coincide with the machine frame (X, Y, Z of ISO 841, Z up) when every axis reads 0.
Derivation of the chain: docs/clearance-method.md#the-chain.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from functools import lru_cache
from math import cos, isfinite, radians, sin

from profilekeeper.errors import InvalidShape

__all__ = ["AngleMap", "Frame", "Head", "JointBox", "Joints", "Span", "Straight", "TipHeld", "Vector"]

Vector = tuple[float, float, float]
_LINEAR = frozenset("XYZ")


class Frame(StrEnum):
    """What an obstacle stands on or rides with."""

    FLOOR = "floor"
    TABLE = "table"
    BRIDGE = "bridge"
    CARRIAGE = "carriage"
    RAM = "ram"
    SWIVEL = "swivel"


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleMap:
    """How a rotary axis' reading becomes a geometric angle: `zero_deg + sense * reading`.

    Geometric tilt is 0 with the spindle level and 90 with it pointing down.
    Geometric swivel is the angle from +X towards +Y in which the level spindle points.
    """

    sense: float = 1.0
    zero_deg: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.sense) and isfinite(self.zero_deg)) or self.sense == 0.0:
            raise InvalidShape(f"an axis' sense must be a number other than 0, found {self.sense!r}")

    def geometric_deg(self, reading_deg: float) -> float:
        """The geometric angle at a reading."""
        return self.zero_deg + self.sense * reading_deg

    def reading_deg(self, geometric_deg: float) -> float:
        """The reading at a geometric angle."""
        return (geometric_deg - self.zero_deg) / self.sense


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A closed range of one joint, `low <= high`; one value is a range of no width."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not (isfinite(self.low) and isfinite(self.high)):
            raise InvalidShape(f"a range needs two finite ends, found {self.low!r} to {self.high!r}")
        if self.low > self.high:
            raise InvalidShape(f"the range {self.low:g} to {self.high:g} is empty; give the lower end first")

    @classmethod
    def at(cls, value: float) -> Span:
        """The range that holds one value."""
        return cls(low=value, high=value)

    @classmethod
    def between(cls, one: float, other: float) -> Span:
        """The range from the lower of two values to the higher."""
        return cls(low=min(one, other), high=max(one, other))

    @property
    def middle(self) -> float:
        """The value half-way."""
        return (self.low + self.high) / 2

    @property
    def half(self) -> float:
        """Half the width."""
        return (self.high - self.low) / 2

    def moved(self, by: float) -> Span:
        """The same range, shifted."""
        return Span(low=self.low + by, high=self.high + by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joints:
    """One set of readings: X, Y, Z in mm, tilt and swivel in degrees."""

    x_mm: float
    y_mm: float
    z_mm: float
    tilt_deg: float
    swivel_deg: float = 0.0

    def __post_init__(self) -> None:
        readings = (self.x_mm, self.y_mm, self.z_mm, self.tilt_deg, self.swivel_deg)
        if not all(map(isfinite, readings)):
            raise InvalidShape(f"the readings of a pose must be finite numbers, found {readings}")


@dataclass(frozen=True, slots=True, kw_only=True)
class JointBox:
    """Every set of readings with each joint in its own range: what any path between may touch.

    A swivel without limits is any range 360 wide or wider; a range may run across 180.
    """

    x_mm: Span
    y_mm: Span
    z_mm: Span
    tilt_deg: Span
    swivel_deg: Span = Span(low=0.0, high=0.0)

    @classmethod
    def at(cls, joints: Joints) -> JointBox:
        """The box that holds one set of readings."""
        return cls.between(joints, joints)

    @classmethod
    def between(cls, start: Joints, end: Joints) -> JointBox:
        """The smallest box that holds two sets of readings."""
        return cls(
            x_mm=Span.between(start.x_mm, end.x_mm),
            y_mm=Span.between(start.y_mm, end.y_mm),
            z_mm=Span.between(start.z_mm, end.z_mm),
            tilt_deg=Span.between(start.tilt_deg, end.tilt_deg),
            swivel_deg=Span.between(start.swivel_deg, end.swivel_deg),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A move on which all axes start and end together."""

    start: Joints
    end: Joints

    def at(self, share: float) -> Joints:
        """The readings after `share` (0 to 1) of the move."""
        pairs = ((getattr(self.start, f.name), getattr(self.end, f.name)) for f in fields(Joints))
        x, y, z, tilt, swivel = (one * (1 - share) + other * share for one, other in pairs)
        return Joints(x_mm=x, y_mm=y, z_mm=z, tilt_deg=tilt, swivel_deg=swivel)

    def part(self, begin: float, end: float) -> Straight:
        """The stretch of the move between two shares."""
        return Straight(start=self.at(begin), end=self.at(end))


@dataclass(frozen=True, slots=True, kw_only=True)
class TipHeld:
    """Tool-centre compensation is on: X, Y, Z travel so that the tip stands still while the head turns.

    `tip_mm` is the tip's distance from the gauge line along the spindle. For a box, the readings of
    X, Y, Z are those held at `start_tilt_deg`, `start_swivel_deg`; a straight move brings its own.
    """

    tip_mm: float
    start_tilt_deg: float = 0.0
    start_swivel_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """How the joints carry the spindle.

    The swivel axis stands at (X, Y). The tilt axis passes `swivel_to_tilt_mm` (forward, sideways) from
    it; the spindle axis passes `tilt_to_spindle_mm` (back, sideways) from the tilt axis. Forward is
    where the level spindle points, sideways is forward turned by +90 degrees about Z, back is the way
    that is up when the spindle is level and forward when it points down. An axis in `table_axes` moves the
    table instead of the head; `bridge_axes`, `carriage_axes` name the axes that carry those two.
    """

    pivot_to_gauge_line_mm: float
    tilt: AngleMap = AngleMap()
    swivel: AngleMap = AngleMap()
    swivel_to_tilt_mm: tuple[float, float] = (0.0, 0.0)
    tilt_to_spindle_mm: tuple[float, float] = (0.0, 0.0)
    table_axes: frozenset[str] = frozenset()
    bridge_axes: frozenset[str] = frozenset({"X"})
    carriage_axes: frozenset[str] = frozenset({"X", "Y"})

    def __post_init__(self) -> None:
        numbers = (self.pivot_to_gauge_line_mm, *self.swivel_to_tilt_mm, *self.tilt_to_spindle_mm)
        if not all(isfinite(number) for number in numbers):
            raise InvalidShape("the lengths of a head must be finite numbers")
        for axes in (self.table_axes, self.bridge_axes, self.carriage_axes):
            if not axes <= _LINEAR:
                raise InvalidShape(f"only X, Y and Z carry a table, bridge or carriage, found {sorted(axes)}")

    def moves_past(self, frame: Frame) -> tuple[bool, bool, bool]:
        """Whether X, Y and Z shift the head against what stands in `frame`."""
        return _moves_past(frame, self.table_axes, self.bridge_axes, self.carriage_axes)

    def carried(self, frame: Frame) -> tuple[float, float, float]:
        """How X, Y and Z shift what rides with `frame` against the floor: 1, 0, or -1 with a moving table."""
        floor = [float(axis not in self.table_axes) for axis in "XYZ"]
        seen = self.moves_past(frame)
        x, y, z = (own - float(shift) for own, shift in zip(floor, seen, strict=True))
        return x, y, z

    def spindle_direction(self, joints: Joints) -> Vector:
        """The unit vector from the pivot towards the tip."""
        tilt, turn = self.angles_rad(joints)
        return cos(tilt) * cos(turn), cos(tilt) * sin(turn), -sin(tilt)

    def axis_point(self, joints: Joints, along_mm: float) -> Vector:
        """The point of the spindle axis `along_mm` beyond the gauge line, seen from the floor.

        With table axes, it is where the point would be if the head moved instead: seen from the table.
        """
        tilt, turn = self.angles_rad(joints)
        forward, side = self.swivel_to_tilt_mm
        back, more_side = self.tilt_to_spindle_mm
        depth = self.pivot_to_gauge_line_mm + along_mm
        ahead = forward + back * sin(tilt) + depth * cos(tilt)
        beside = side + more_side
        return (
            joints.x_mm + ahead * cos(turn) - beside * sin(turn),
            joints.y_mm + ahead * sin(turn) + beside * cos(turn),
            joints.z_mm + self.pivot_to_gauge_line_mm + back * cos(tilt) - depth * sin(tilt),
        )

    def angles_rad(self, joints: Joints) -> tuple[float, float]:
        """Geometric tilt and swivel in radians."""
        return (
            radians(self.tilt.geometric_deg(joints.tilt_deg)),
            radians(self.swivel.geometric_deg(joints.swivel_deg)),
        )


@lru_cache(maxsize=256)
def _moves_past(
    frame: Frame, table: frozenset[str], bridge: frozenset[str], carriage: frozenset[str]
) -> tuple[bool, bool, bool]:
    carried = {
        Frame.FLOOR: frozenset[str](),
        Frame.BRIDGE: bridge,
        Frame.CARRIAGE: carriage,
        Frame.RAM: _LINEAR,
        Frame.SWIVEL: _LINEAR,
    }
    seen = _LINEAR if frame is Frame.TABLE else _LINEAR - table - carried[frame]
    return "X" in seen, "Y" in seen, "Z" in seen
