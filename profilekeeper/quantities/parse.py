"""Lengths, angles and quantities from a person's text; anything doubtful is refused with what to write."""

from __future__ import annotations

import re
from decimal import Decimal

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.angle import Angle, AngleUnit
from profilekeeper.quantities.exact import EXACT, exact_quotient
from profilekeeper.quantities.length import Length, LengthUnit
from profilekeeper.quantities.quantity import Quantity
from profilekeeper.quantities.spelling import (
    DEGREE,
    LENGTH_UNITS,
    find_length_unit,
    find_unit,
    is_degrees,
    plain,
    quoted,
)
from profilekeeper.quantities.written import Head, read_head

_FEET = (
    r"([+-]?) *([0-9]+) *(?:'|ft\.?|foot|feet) *[- ]? *"
    r"([0-9./ -]+?) *(?:\"|in\.?|inch|inches)"
)
_MINUTES = (
    rf"([+-]?) *([0-9]+) *(?:{DEGREE}|deg) *"
    r"([0-9]+\.?[0-9]*) *'(?: *([0-9]+\.?[0-9]*) *\")?"
)


def parse_length(text: str, default_unit: LengthUnit | None = None) -> Length:
    """The length that the text shows, as written; its notation is the trimmed text.

    Reads `465 mm`, `2.5 cm`, `-16.05 in`, `7 5/8"`, `7-5/8 in`, `12' 6 1/2"` (in inches), with
    typographic minus, primes, quotes and spaces. -7 5/8 in is -(7 + 5/8). A bare number takes
    `default_unit`; a bare fraction does so only if that is inch or foot.
    Raises:  InvalidQuantity, in one sentence with what to write instead.
    """
    head = _feet_and_inches(text, plain(text, "a length")) or read_head(text, "a length")
    unit = _length_unit(text, head, default_unit)
    return Length(head.number, unit, notation=text.strip())


def parse_angle(text: str, default_unit: AngleUnit | None = None) -> Angle:
    """The angle that the text shows: `45°`, `45.5 deg`, `45° 30'`, `45° 20' 24"`.

    A bare number is read only if `default_unit` is given.
    Raises:  InvalidQuantity, also if minutes and seconds are no exact decimal of a degree.
    """
    number = _degrees_and_minutes(text, plain(text, "an angle"))
    if number is None:
        head = read_head(text, "an angle")
        _check_degrees(text, head, default_unit)
        number = head.number
    return Angle(number, notation=text.strip())


def parse_quantity(text: str, default_unit: str | None = None) -> Quantity:
    """The number and unit that the text shows, the unit from an open list: `12.5 bar`, `35 %`.

    Units are spelt one way (`HZ` as Hz, `mm/s^2` as mm/s²); feet with inches become inches, and
    degrees with minutes become degrees.
    Raises:  InvalidQuantity, if there is no number, no unit and no default, or a doubtful number.
    """
    written = plain(text, "a quantity")
    degrees = _degrees_and_minutes(text, written)
    if degrees is not None:
        return Quantity(degrees, str(AngleUnit.DEG), notation=text.strip())
    head = _feet_and_inches(text, written) or read_head(text, "a quantity")
    unit = find_unit(head.rest.rstrip()) if head.rest else default_unit
    if unit is None:
        raise InvalidQuantity(_no_unit(text, head))
    return Quantity(head.number, unit, notation=text.strip())


def _no_unit(text: str, head: Head) -> str:
    if head.rest:
        return f"{quoted(head.rest)} in {quoted(text)} is not a unit; write one such as mm, deg, bar, Hz or %"
    return f"{quoted(text)} has no unit; write it with one, such as {head.number:f} bar"


def _length_unit(text: str, head: Head, default: LengthUnit | None) -> LengthUnit:
    if not head.rest:
        return _default_length_unit(text, head, default)
    unit = find_length_unit(head.rest.rstrip())
    if unit:
        return unit
    if is_degrees(head.rest) or head.rest.startswith(DEGREE):
        raise InvalidQuantity(f"{quoted(text)} is an angle where a length is wanted; write {LENGTH_UNITS}")
    if head.rest.lower() in ("m", "mm", "mil", "mils", "thou"):
        raise InvalidQuantity(f"the unit of {quoted(text)} can be misread; write it in {LENGTH_UNITS}")
    raise InvalidQuantity(f"{quoted(head.rest)} in {quoted(text)} is not a unit of length; write {LENGTH_UNITS}")


def _default_length_unit(text: str, head: Head, default: LengthUnit | None) -> LengthUnit:
    if default is None and head.is_fraction:
        raise InvalidQuantity(f"{quoted(text)} has no unit; write the fraction with in, if inches are meant")
    if default is None:
        raise InvalidQuantity(
            f"{quoted(text)} has no unit; write {head.number:f} mm or {head.number:f} in, as it is meant"
        )
    if head.is_fraction and default not in (LengthUnit.IN, LengthUnit.FT):
        # A fraction keyed on a metric machine is most likely an inch: a slip of 25.4.
        raise InvalidQuantity(
            f"{quoted(text)} is a fraction without a unit; write it with in, or as {head.number:f} {default}"
        )
    return default


def _feet_and_inches(text: str, written: str) -> Head | None:
    """Feet with inches as a number of inches with the unit `in`; None if the text is not that."""
    written = written.lower()
    if "'" not in written and "f" not in written:
        return None
    found = re.fullmatch(_FEET, written)
    if not found:
        return None
    inches = read_head(found[3], "a number of inches")
    if inches.rest or not 0 <= inches.number < 12:
        raise InvalidQuantity(
            f"the inches in {quoted(text)} must be one number from 0 to under 12; write it in inches alone"
        )
    number = EXACT.add(EXACT.multiply(Decimal(found[2]), 12), inches.number)
    return Head(_signed(found[1], number), "in", inches.is_fraction)


def _degrees_and_minutes(text: str, written: str) -> Decimal | None:
    """Degrees with minutes (and seconds) as a number of degrees; None if the text is not that."""
    found = re.fullmatch(_MINUTES, written.lower()) if "'" in written else None
    if not found:
        return None
    minutes, seconds = Decimal(found[3]), Decimal(found[4] or 0)
    if minutes >= 60 or seconds >= 60 or (found[4] and "." in found[3]):
        raise InvalidQuantity(f"minutes and seconds in {quoted(text)} must be under 60; write degrees alone")
    whole = EXACT.multiply(Decimal(found[2]), 3600)
    total = EXACT.add(EXACT.add(whole, EXACT.multiply(minutes, 60)), seconds)
    number = exact_quotient(total, Decimal(3600))
    if number is None:
        near = f"{found[1]}{float(total) / 3600:.4f}"
        raise InvalidQuantity(
            f"{quoted(text)} is no exact decimal of a degree; write the decimal meant, such as {near} deg"
        )
    return _signed(found[1], number)


def _signed(sign: str, number: Decimal) -> Decimal:
    return number.copy_negate() if sign == "-" else number


def _check_degrees(text: str, head: Head, default: AngleUnit | None) -> None:
    if is_degrees(head.rest.rstrip()):
        return
    if not head.rest and default is not None:
        return
    if not head.rest:
        raise InvalidQuantity(f"{quoted(text)} has no unit; write {head.number:f} deg if degrees are meant")
    if find_length_unit(head.rest):
        raise InvalidQuantity(f"{quoted(text)} is a length where an angle is wanted; write it as 45.5 deg")
    raise InvalidQuantity(f"{quoted(head.rest)} in {quoted(text)} is not degrees; write it as 45.5 deg")
