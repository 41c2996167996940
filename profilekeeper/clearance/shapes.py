"""What turns and what stands in the way: solids of revolution about the spindle, upright prisms.

Everything is solid: a thin post that a disc has swallowed is contact.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite

from profilekeeper.clearance.frames import Frame
from profilekeeper.clearance.outline import Point, convex_pieces
from profilekeeper.errors import InvalidShape

__all__ = ["Obstacle", "Section", "rectangle", "slab_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A cylinder or a cut cone about the spindle axis, from the gauge line, + towards the tip.

    A radius of 0 is a point of the axis (a cone's tip, a thin wire); `from_mm == to_mm` is a flat disc.
    `soft` marks bristles and brushes, whose clearance is reported apart.
    """

    from_mm: float
    to_mm: float
    radius_from_mm: float
    radius_to_mm: float
    soft: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        numbers = (self.from_mm, self.to_mm, self.radius_from_mm, self.radius_to_mm)
        if not all(isfinite(number) for number in numbers):
            raise InvalidShape(f"section {self.name!r}: its lengths and radii must be finite numbers")
        if self.from_mm > self.to_mm:
            raise InvalidShape(
                f"section {self.name!r} runs from {self.from_mm:g} to {self.to_mm:g}; give the end "
                "nearer to the spindle nose first"
            )
        if min(self.radius_from_mm, self.radius_to_mm) < 0:
            raise InvalidShape(f"section {self.name!r} has a negative radius")

    @classmethod
    def cylinder(cls, from_mm: float, to_mm: float, radius_mm: float, *, soft: bool = False, name: str = "") -> Section:
        """A section with the same radius at both ends."""
        return cls(from_mm=from_mm, to_mm=to_mm, radius_from_mm=radius_mm, radius_to_mm=radius_mm, soft=soft, name=name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """An upright prism over a simple outline, riding with `frame`; heights are Z of that frame."""

    name: str
    outline_mm: tuple[Point, ...]
    from_mm: float
    to_mm: float
    frame: Frame = Frame.FLOOR

    def __post_init__(self) -> None:
        if not (isfinite(self.from_mm) and isfinite(self.to_mm)):
            raise InvalidShape(f"{self.name!r}: its heights must be finite numbers")
        if self.from_mm > self.to_mm:
            raise InvalidShape(
                f"{self.name!r} reaches from {self.from_mm:g} to {self.to_mm:g}; give its lower end first"
            )
        self.pieces()

    def pieces(self) -> tuple[tuple[Point, ...], ...]:
        """The outline as convex polygons, counter-clockwise."""
        try:
            return convex_pieces(self.outline_mm)
        except InvalidShape as error:
            raise InvalidShape(f"{self.name!r}: {error}") from error


def rectangle(x_from_mm: float, x_to_mm: float, y_from_mm: float, y_to_mm: float) -> tuple[Point, ...]:
    """The outline of a rectangle along X and Y."""
    return ((x_from_mm, y_from_mm), (x_to_mm, y_from_mm), (x_to_mm, y_to_mm), (x_from_mm, y_to_mm))


def slab_on(bottom_mm: float, thickness_mm: float, outline_mm: Iterable[Point], *, name: str = "slab") -> Obstacle:
    """Stone of one thickness that lies with its underside at `bottom_mm`, moving with the table."""
    if not thickness_mm > 0:
        raise InvalidShape(f"{name!r}: a thickness must be more than 0, found {thickness_mm!r}")
    return Obstacle(
        name=name,
        outline_mm=tuple(outline_mm),
        from_mm=bottom_mm,
        to_mm=bottom_mm + thickness_mm,
        frame=Frame.TABLE,
    )
