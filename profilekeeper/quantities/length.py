"""Lengths: an exact decimal with its unit."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Self

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import EXACT, check_number, exact_quotient
from profilekeeper.quantities.measure import Measure


class LengthUnit(StrEnum):
    """A unit of length; `mm_each` is how many millimetres one is, exactly.

    Source:  SI prefixes; the inch of 25.4 mm and the foot of 0.3048 m are those of the
             international yard and pound agreement, in force from 1 July 1959.
    """

    mm_each: Decimal

    def __new__(cls, symbol: str, mm_each: str = "") -> Self:
        unit = str.__new__(cls, symbol)
        unit._value_ = symbol
        unit.mm_each = Decimal(mm_each)
        return unit

    MM = "mm", "1"
    CM = "cm", "10"
    M = "m", "1000"
    IN = "in", "25.4"
    FT = "ft", "304.8"
    UM = "\N{MICRO SIGN}m", "0.001"


@dataclass(frozen=True, slots=True, eq=False)
class Length(Measure):
    """A length as it was written: number, unit and, if it was read, its notation.

    Units:   equality, hash and order go by exact value, so 25.4 mm == 1 in; `number` keeps its
             trailing zeros, and neither they nor `notation` take part in equality.
    Raises:  InvalidQuantity, if the number is not a finite Decimal of at most 30 digits.
    >>> Length(Decimal("25.40"), LengthUnit.MM) == Length(Decimal(1), LengthUnit.IN)
    True
    """

    number: Decimal
    unit: LengthUnit
    notation: str | None = field(default=None, kw_only=True)

    def __post_init__(self) -> None:
        check_number(self.number)
        if not isinstance(self.unit, LengthUnit):
            raise InvalidQuantity("the unit of a length must be a LengthUnit; read text with parse_length")

    @property
    def mm(self) -> Decimal:
        """The exact value in millimetres."""
        if self.unit is LengthUnit.MM:
            return self.number
        return EXACT.multiply(self.number, self.unit.mm_each)

    @property
    def base(self) -> Decimal:
        """The exact value in millimetres."""
        return self.mm

    @property
    def base_unit(self) -> str:
        """Millimetres."""
        return LengthUnit.MM

    def remade(self, number: Decimal, unit: str) -> Self:
        """A length with another number and unit, and no notation."""
        return type(self)(number, LengthUnit(unit))

    def to(self, unit: LengthUnit) -> Length:
        """The same length in another unit, exactly.

        Raises:  InvalidQuantity, if it has no finite decimal there (10 mm in inches); then
                 `round_to` with a resolution in that unit gives the nearest and its error.
        """
        if unit is self.unit:
            return self
        number = exact_quotient(self.mm, unit.mm_each)
        if number is None:
            raise InvalidQuantity(f"{self} has no exact decimal in {unit}; round it to a resolution given in {unit}")
        return Length(number, unit)
