"""Angles: an exact decimal number of degrees."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Self

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import check_number
from profilekeeper.quantities.measure import Measure


class AngleUnit(StrEnum):
    """A unit of angle. Degrees only: minutes and seconds are a way to write them, and a radian
    is no exact decimal of a degree."""

    DEG = "deg"


@dataclass(frozen=True, slots=True, eq=False)
class Angle(Measure):
    """An angle as it was written, in degrees; 360 deg and 0 deg are different angles.

    Raises:  InvalidQuantity, if the number is not a finite Decimal of at most 30 digits.
    >>> Angle(Decimal("45.50")) == Angle(Decimal("45.5"))
    True
    """

    number: Decimal
    unit: AngleUnit = AngleUnit.DEG
    notation: str | None = field(default=None, kw_only=True)

    def __post_init__(self) -> None:
        check_number(self.number)
        if not isinstance(self.unit, AngleUnit):
            raise InvalidQuantity("the unit of an angle must be an AngleUnit; read text with parse_angle")

    @property
    def deg(self) -> Decimal:
        """The exact value in degrees."""
        return self.number

    @property
    def base(self) -> Decimal:
        """The exact value in degrees."""
        return self.number

    @property
    def base_unit(self) -> str:
        """Degrees."""
        return AngleUnit.DEG

    def remade(self, number: Decimal, unit: str) -> Self:
        """An angle with another number, and no notation."""
        return type(self)(number, AngleUnit(unit))

    def __str__(self) -> str:
        return f"{self.number:f}\N{DEGREE SIGN}"
