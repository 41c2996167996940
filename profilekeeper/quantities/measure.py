"""What lengths, angles and other quantities share: equality, order and exact arithmetic.

The one base class of the room. It exists because two values of one kind must compare by value
whichever class carries them: a length kept as a page entry equals the modelled length.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Self

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import EXACT, exact_product


class Measure:
    """A number with a unit, compared by exact value: 25.4 mm == 1 in, and their hashes are equal."""

    __slots__ = ()

    number: Decimal
    unit: str

    @property
    def base(self) -> Decimal:
        """The exact value in `base_unit`."""
        raise NotImplementedError

    @property
    def base_unit(self) -> str:
        """The unit in which all values of this kind are compared: mm for lengths, deg for angles."""
        raise NotImplementedError

    def remade(self, number: Decimal, unit: str) -> Self:
        """A value of the same class with another number and unit, and no notation."""
        raise NotImplementedError

    def is_like(self, other: Measure) -> bool:
        """Whether the two can be compared at all: both lengths, both angles, both pressures ..."""
        return self.base_unit == other.base_unit

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Measure):
            return NotImplemented
        return self.base == other.base and self.base_unit == other.base_unit

    def __hash__(self) -> int:
        return hash((self.base, self.base_unit))

    def __lt__(self, other: Self) -> bool:
        if not isinstance(other, Measure):
            return NotImplemented
        check_like(self, other)
        return self.base < other.base

    def __le__(self, other: Self) -> bool:
        if not isinstance(other, Measure):
            return NotImplemented
        check_like(self, other)
        return self.base <= other.base

    def __gt__(self, other: Self) -> bool:
        if not isinstance(other, Measure):
            return NotImplemented
        check_like(self, other)
        return self.base > other.base

    def __ge__(self, other: Self) -> bool:
        if not isinstance(other, Measure):
            return NotImplemented
        check_like(self, other)
        return self.base >= other.base

    def __add__(self, other: Self) -> Self:
        """The exact sum, in the common unit of the two, else in the base unit of their kind."""
        if not isinstance(other, Measure):
            return NotImplemented
        check_like(self, other)
        if self.unit == other.unit:
            return self.remade(EXACT.add(self.number, other.number), self.unit)
        return self.remade(EXACT.add(self.base, other.base), self.base_unit)

    def __sub__(self, other: Self) -> Self:
        """The exact difference, in the common unit of the two, else in the base unit of their kind."""
        if not isinstance(other, Measure):
            return NotImplemented
        return self + -other

    def __neg__(self) -> Self:
        return self.remade(EXACT.minus(self.number), self.unit)

    def __pos__(self) -> Self:
        return self

    def __abs__(self) -> Self:
        return self.remade(EXACT.abs(self.number), self.unit)

    def __mul__(self, factor: Decimal | int) -> Self:
        """The exact multiple; a float factor is refused, because it is not the number written."""
        if not isinstance(factor, (Decimal, int)):
            return NotImplemented
        return self.remade(exact_product(self.number, factor), self.unit)

    def __rmul__(self, factor: Decimal | int) -> Self:
        return self * factor

    def __str__(self) -> str:
        return f"{self.number:f} {self.unit}"


def check_like(a: Measure, b: Measure) -> None:
    """Nothing, when a and b are of one kind.

    Raises:  InvalidQuantity, when they are not: a length against an angle, bar against psi.
    """
    if a.base_unit != b.base_unit:
        raise InvalidQuantity(f"{a} and {b} cannot be compared or added; give both in one kind of unit")
