"""What a person keyed, made into the value that a profile keeps: in the machine's own unit, as its control shows it."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.errors import InvalidQuantity, UnknownName, UsageError
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import from_identity
from profilekeeper.model.profile import Profile
from profilekeeper.model.settings import quantity_at
from profilekeeper.quantities import (
    Angle,
    AngleUnit,
    Length,
    parse_angle,
    parse_length,
    parse_number,
    parse_quantity,
    round_to,
)

__all__ = ["Entered", "entered", "entries_from"]

Plain = Decimal | int | str | bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """One keyed value: the pointer it fills, the plain value to keep, and what was done to it (or nothing)."""

    pointer: str
    value: Plain
    notice: str


def entries_from(profile: Profile, texts: tuple[str, ...]) -> tuple[Entered, ...]:
    """Keyed `POINTER=VALUE` texts as values of a profile.

    Raises:  UsageError, for a text of another form or a pointer keyed twice; UnknownName; InvalidQuantity.
    """
    result: dict[str, Entered] = {}
    for text in texts:
        pointer, separator, value = text.partition("=")
        if not separator or not pointer.startswith("/"):
            raise UsageError(f"{text!r} is not POINTER=VALUE, such as /tools/21/length=212.730")
        one = entered(profile, pointer.strip(), value.strip())
        if one.pointer in result:
            raise UsageError(f"{one.pointer} is keyed twice; say once what it is")
        result[one.pointer] = one
    return tuple(result.values())


def entered(profile: Profile, pointer: str, text: str) -> Entered:
    """One keyed value for a setting; a length with its own unit is converted and rounded out loud.

    Raises:  UnknownName, if there is no such setting; InvalidQuantity, if the text is no such value.
    """
    here = from_identity(profile, pointer)
    if here is None:
        raise UnknownName(f"{pointer}: {profile.name} has no such tool, zone or event")
    quantity = _quantity(profile, here)
    try:
        value, notice = _value(profile, here, quantity, text)
    except InvalidQuantity as error:
        raise InvalidQuantity(f"{pointer}: {error}") from None
    return Entered(pointer=here, value=value, notice=notice)


def _quantity(profile: Profile, pointer: str) -> str:
    try:
        quantity = quantity_at(profile.data, pointer)
    except UnknownName as error:
        near = difflib.get_close_matches(pointer, list(profile.settings), n=1, cutoff=0.6)
        raise UnknownName(f"{error}" + (f"; did you mean {near[0]}?" if near else "")) from None
    if not quantity and profile.value(pointer) is None:
        below = [p for p in profile.settings if p.startswith(pointer + "/")]
        raise UnknownName(f"{pointer} is not one value; name one below it" + (f", such as {below[0]}" if below else ""))
    return quantity


def _value(profile: Profile, pointer: str, quantity: str, text: str) -> tuple[Plain, str]:
    if quantity == "length":
        return _length(parse_length(text, profile.unit), profile, text)
    if quantity == "angle":
        return _angle(parse_angle(text, AngleUnit.DEG), profile)
    if quantity in ("number", "notation") and _is_numeric(text):
        return _number(pointer, profile, text), ""
    if quantity in ("number", "rate"):
        return _number(pointer, profile, text), ""
    if quantity == "count":
        return int(_whole(text)), ""
    if quantity == "choice" and text in ("yes", "true", "no", "false"):
        return text in ("yes", "true"), ""
    if quantity in ("page value", "free"):
        return _page_value(profile, pointer, text), ""
    return text, ""


def _length(length: Length, profile: Profile, text: str) -> tuple[Plain, str]:
    if length.unit == profile.unit:
        return length.number, ""
    resolution = profile.resolution or Length(Decimal("0.001"), profile.unit)
    rounded = round_to(length, resolution)
    shown = rounded.value.to(profile.unit)
    said = f"{text} is kept as {shown}"
    return shown.number, said if rounded.exact else f"{said}, rounded by {rounded.error} to what the control can show"


def _angle(angle: Angle, profile: Profile) -> tuple[Plain, str]:
    resolution = profile.angle_resolution
    rounded = round_to(angle, resolution) if resolution else None
    if rounded is None or rounded.exact:
        return angle.deg, ""
    return angle.deg, f"{angle} is finer than the {resolution} the control shows"


def _number(pointer: str, profile: Profile, text: str) -> Plain:
    """A plain number; with a unit it must be the unit that the setting has."""
    if _is_numeric(text):
        return _plain(text)
    given = parse_quantity(text)
    setting = profile.settings.get(pointer)
    unit = setting.kind.unit if setting else ""
    if unit and given.unit not in (unit, {"1/min": "rpm"}.get(unit)):
        raise InvalidQuantity(f"{text} is in {given.unit}, this setting is in {unit}; convert it and key the number")
    return given.number


def _whole(text: str) -> Decimal:
    number = parse_number(text)
    if number != number.to_integral_value():
        raise InvalidQuantity(f"{text} is no whole number")
    return number


def _page_value(profile: Profile, pointer: str, text: str) -> Plain:
    """A page value keeps the type it has: a text of digits stays a text, so that leading zeros stay."""
    now = _raw(profile.data, pointer)
    if isinstance(now, bool):
        return text in ("yes", "true", "on")
    if isinstance(now, str) or not _is_numeric(text):
        return text
    return _plain(text)


def _raw(data: Mapping[str, object], pointer: str) -> object:
    try:
        return json_pointer.resolve(data, pointer)
    except UnknownName:
        return None


def _is_numeric(text: str) -> bool:
    try:
        parse_number(text)
    except InvalidQuantity:
        return False
    return True


def _plain(text: str) -> Plain:
    number = parse_number(text)
    return int(number) if "." not in text and number == number.to_integral_value() else number
