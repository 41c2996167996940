"""Quantities whose unit comes from an open list: what a control's pages show."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Self

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.angle import Angle, AngleUnit
from profilekeeper.quantities.exact import EXACT, check_number
from profilekeeper.quantities.length import Length, LengthUnit
from profilekeeper.quantities.measure import Measure

UNIT_LENGTH = 16
"""Most characters of a unit. Source: common practice, no source; keeps absurd input out."""


@dataclass(frozen=True, slots=True, eq=False)
class Quantity(Measure):
    """A number with any unit (12.5 bar, 230 Hz, 35 %), as it was written.

    Units:   units with an exact decimal relation compare by value (1 s == 1000 ms, 1 in ==
             25.4 mm, also against a Length or Angle); any other unit is a kind of its own, so
             1 bar is neither equal to nor comparable with 14.5 psi.
    Raises:  InvalidQuantity, if the number is not a finite Decimal of at most 30 digits, or the
             unit is empty or longer than 16 characters. The unit is taken as it stands: spell
             it through `parse_unit` when a person wrote it.
    >>> Quantity(Decimal("0.5"), "s") == Quantity(Decimal(500), "ms")
    True
    """

    number: Decimal
    unit: str
    notation: str | None = field(default=None, kw_only=True)

    def __post_init__(self) -> None:
        check_number(self.number)
        if not isinstance(self.unit, str) or not 0 < len(self.unit) <= UNIT_LENGTH:
            raise InvalidQuantity(f"a unit must be a text of 1 to {UNIT_LENGTH} characters, such as bar")

    @property
    def base(self) -> Decimal:
        """The exact value in `base_unit`."""
        scale = _SCALES.get(self.unit)
        return self.number if scale is None else EXACT.multiply(self.number, scale[1])

    @property
    def base_unit(self) -> str:
        """The unit in which quantities of this kind are compared; the unit itself if it stands alone."""
        scale = _SCALES.get(self.unit)
        return str(self.unit) if scale is None else scale[0]

    def remade(self, number: Decimal, unit: str) -> Self:
        """A quantity with another number and unit, and no notation."""
        return type(self)(number, unit)

    @property
    def length(self) -> Length | None:
        """The same as a Length, or None if the unit is no unit of length."""
        if self.base_unit != LengthUnit.MM:
            return None
        return Length(self.number, LengthUnit(self.unit), notation=self.notation)

    @property
    def angle(self) -> Angle | None:
        """The same as an Angle, or None if the unit is not degrees."""
        return Angle(self.number, notation=self.notation) if self.unit == AngleUnit.DEG else None


def _scaled(base: str, table: dict[str, str]) -> dict[str, tuple[str, Decimal]]:
    return {unit: (base, Decimal(each)) for unit, each in table.items()}


# Only relations that are exact decimals. psi is left out on purpose (1 psi is no finite decimal
# of a bar), and so is rpm against Hz (a sixtieth). Source: SI prefixes and definitions; inch and
# foot as in `LengthUnit`; 1 bar = 100 kPa and 1 min = 60 s from the SI brochure, table 8.
_SCALES: dict[str, tuple[str, Decimal]] = {
    **{str(unit): (str(LengthUnit.MM), unit.mm_each) for unit in LengthUnit},
    **_scaled("mm/min", {"mm/min": "1", "mm/s": "60", "cm/min": "10", "m/min": "1000", "m/s": "60000"}),
    **_scaled("mm/min", {"in/min": "25.4", "in/s": "1524", "ft/min": "304.8", "ft/s": "18288"}),
    **_scaled("mm/s²", {"mm/s²": "1", "m/s²": "1000", "in/s²": "25.4", "ft/s²": "304.8"}),
    **_scaled("s", {"s": "1", "ms": "0.001", "\N{MICRO SIGN}s": "0.000001", "min": "60", "h": "3600"}),
    **_scaled("Hz", {"Hz": "1", "kHz": "1000", "MHz": "1000000"}),
    **_scaled("Pa", {"Pa": "1", "mbar": "100", "kPa": "1000", "bar": "100000", "MPa": "1000000"}),
    **_scaled("A", {"A": "1", "mA": "0.001"}),
    **_scaled("V", {"V": "1", "mV": "0.001", "kV": "1000"}),
    **_scaled("W", {"W": "1", "kW": "1000"}),
    **_scaled("N", {"N": "1", "kN": "1000"}),
    **_scaled("g", {"g": "1", "kg": "1000"}),
    **_scaled("rpm", {"rpm": "1", "1/min": "1"}),
}
