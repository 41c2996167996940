"""Quantities as text that a person can read and key, and that reads back as the same value."""

from __future__ import annotations

from decimal import Decimal

from profilekeeper.quantities.angle import Angle
from profilekeeper.quantities.length import Length, LengthUnit
from profilekeeper.quantities.measure import Measure
from profilekeeper.quantities.quantity import Quantity
from profilekeeper.quantities.rounding import Rounded, round_to


def format_number(number: Decimal) -> str:
    """The number written out, trailing zeros as written, never with an exponent."""
    return f"{number:f}"


def format_length(length: Length, unit: LengthUnit | None = None, resolution: Length | None = None) -> str:
    """The length with its unit, such as `21.700 mm`; what was read back equals it.

    Without `resolution` nothing is rounded. With it the length is shown on that grid, in
    `unit` or else the resolution's own, and `≈ ` stands before a value that rounding changed,
    so that it cannot be keyed or read back unnoticed.
    Raises:  InvalidQuantity, if it has no exact decimal in `unit` and no resolution was given.
    """
    if resolution is None:
        return str(length.to(unit or length.unit))
    rounded = round_to(length, resolution)
    return _marked(rounded, rounded.value.to(unit or resolution.unit))


def format_angle(angle: Angle, resolution: Angle | None = None) -> str:
    """The angle in degrees, such as `45.50°`; rounded and marked as in `format_length`."""
    if resolution is None:
        return str(angle)
    rounded = round_to(angle, resolution)
    return _marked(rounded, rounded.value)


def format_quantity(quantity: Quantity) -> str:
    """The number and its unit, such as `12.5 bar` or `35 %`."""
    return str(quantity)


def format_delta(delta: Measure) -> str:
    """A difference with its sign: `+0.125 mm`, `-1.5 mm`, and `0 mm` without one; ASCII, to be keyed."""
    return f"+{delta}" if delta.number > 0 else str(delta)


def _marked(rounded: Rounded[Length] | Rounded[Angle], value: Measure) -> str:
    return str(value) if rounded.exact else f"≈ {value}"
