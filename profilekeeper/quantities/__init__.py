"""Exact lengths, angles and other quantities: decimals with a unit, read, converted, rounded out loud."""

from profilekeeper.quantities.angle import Angle, AngleUnit
from profilekeeper.quantities.length import Length, LengthUnit
from profilekeeper.quantities.measure import Measure
from profilekeeper.quantities.parse import parse_angle, parse_length, parse_quantity
from profilekeeper.quantities.quantity import Quantity
from profilekeeper.quantities.rounding import (
    Rounded,
    Sameness,
    round_down,
    round_inward,
    round_to,
    round_up,
    sameness,
)
from profilekeeper.quantities.show import (
    format_angle,
    format_delta,
    format_length,
    format_number,
    format_quantity,
)
from profilekeeper.quantities.spelling import parse_length_unit, parse_unit
from profilekeeper.quantities.written import parse_number

__all__ = [
    "Angle",
    "AngleUnit",
    "Length",
    "LengthUnit",
    "Measure",
    "Quantity",
    "Rounded",
    "Sameness",
    "format_angle",
    "format_delta",
    "format_length",
    "format_number",
    "format_quantity",
    "parse_angle",
    "parse_length",
    "parse_length_unit",
    "parse_number",
    "parse_quantity",
    "parse_unit",
    "round_down",
    "round_inward",
    "round_to",
    "round_up",
    "sameness",
]
