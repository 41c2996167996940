"""What an unquoted word or number in YAML means: null, true or false, a whole number, a decimal, or text.

YAML 1.2 core resolution, made stricter: whatever two readers of YAML could take for two different
values, or a person for another number, is refused with the ways to write what was meant.
`2026-01-02` is text exactly as written; `21.700` keeps its zeros.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import MAX_DIGITS

__all__ = ["PlainValue", "plain_value"]

PlainValue = str | int | Decimal | bool | None

# Source: YAML 1.2.2 section 10.3.2 (core schema): these spellings and no others.
_WORDS: dict[str, bool | None] = {
    "": None, "~": None, "null": None, "Null": None, "NULL": None,
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
}  # fmt: skip
# Source: YAML 1.1 type "bool" (yaml.org/type/bool.html): true or false to older readers, text to newer ones.
# Upper-case Y and N of that list stay text: Y is an axis (`rapids: [[Z], [X, Y]]`), N the newton, and the
# readers in use never took them for true and false.
_YES = {"yes", "on", "y"}
_NO = {"no", "off", "n"}

# A sign is welcome, + as well: screens of controls show it, and a sign that is kept is a sign not lost.
_INTEGER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
# `.5000` is how many inch screens show it. `-.5000` is refused below, since PyYAML takes it for text,
# and `21.`, since digits may have been lost.
_DECIMAL = re.compile(r"[-+]?(?:0|[1-9][0-9]*)\.[0-9]+|\.[0-9]+")
_MAYBE_NUMBER = frozenset("0123456789+-.,\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d")
_LONGEST_KEPT = 40

# None of these can try one stretch of digits in two ways: they stay linear on a megabyte of them.
_FIRST_ZERO = re.compile(r"[-+]?0[0-9]+(?:\.[0-9]*)?")
_BASE = re.compile(r"[-+]?0[xXoObB][0-9a-fA-F_]+")
_GROUPS = re.compile(r"(?=[-+]?[0-9.]*_)(?:[-+]?[0-9.]|[-+]_)[0-9_.]*")
_COLONS = re.compile(r"[-+]?[0-9][0-9_]*(?::[0-9]+)+(?:\.[0-9_]*)?")
_EXPONENT = re.compile(r"[-+]?(?:[0-9][0-9_]*(?:\.[0-9_]*)?|\.[0-9_]+)[eE][-+]?[0-9]+")
_NO_NUMBER = re.compile(r"[-+]?\.(?:inf|Inf|INF|nan|NaN|NAN)")
_FIRST_POINT = re.compile(r"[-+]\.[0-9]+")
_LAST_POINT = re.compile(r"[-+]?[0-9]+\.")
_COMMA = re.compile(r"[-+]?[0-9.]*,[0-9.,]*[0-9]")
# The signs that word processors and web pages put where a minus was typed.
_MINUS = re.compile(r"[\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d](?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")


def plain_value(text: str) -> PlainValue:
    """The value of an unquoted scalar as it was written.

    Raises:  FormatError without a place (the reader adds it), for what can be read in two ways.
    Source:  YAML 1.2.2 section 10.3.2, core schema.
    >>> plain_value("21.700"), plain_value("-480"), plain_value("2026-01-02")
    (Decimal('21.700'), -480, '2026-01-02')
    """
    return _kept(text) if len(text) <= _LONGEST_KEPT else _value(text)


def _value(text: str) -> PlainValue:
    if text in _WORDS:
        return _WORDS[text]
    if text[0] in _MAYBE_NUMBER:
        return _number(text)
    if text in ("<<", "="):
        raise _refused(text, "has a meaning of its own in some readers", "as text")
    _refuse_yes_and_no(text)
    return text


# The same few hundred names and numbers come again in every machine of a fleet.
_kept = lru_cache(maxsize=4096)(_value)


def _number(text: str) -> PlainValue:
    """The number that a text beginning like one is, or the text, if it only begins like one."""
    if _INTEGER.fullmatch(text):
        return int(_countable(text))
    if _DECIMAL.fullmatch(text):
        return Decimal(_countable(text))
    _refuse_other_spellings(text)
    return text


def _countable(text: str) -> str:
    digits = len(text.lstrip("+-").replace(".", ""))
    if digits > MAX_DIGITS:
        raise _refused(text, f"has {digits} digits, and a number may have {MAX_DIGITS}", "if it is text")
    return text


def _refuse_yes_and_no(text: str) -> None:
    word = text.lower()
    if word in _YES and text != "Y":
        raise _refused(text, "is true to some readers and text to others", "for the word", "true for yes")
    if word in _NO and text != "N":
        raise _refused(text, "is false to some readers and text to others", "for the word", "false for no")


def _refuse_other_spellings(text: str) -> None:
    """Refuse a number in a spelling that could be taken for another number."""
    if _FIRST_ZERO.fullmatch(text):
        raise _refused(text, "begins with a zero", "if it is text", f"{_without_zeros(text)} for the number")
    if _FIRST_POINT.fullmatch(text):
        meant = f"{text[0]}0{text[1:]}"
        raise _refused(text, "has a sign and no digit before its point", "if it is text", meant)
    if _LAST_POINT.fullmatch(text):
        meant = f"{text[:-1]} or {text}0"
        raise _refused(text, "ends in a point: digits may be lost", "if it is text", meant)
    if _COMMA.fullmatch(text):
        raise _comma(text)
    if _MINUS.fullmatch(text):
        number = f"-{text[1:]}"
        raise _refused(text, "begins with a dash that is no minus sign", "if it is text", f"{number}")
    if _COLONS.fullmatch(text):
        raise _refused(text, "is a time to some readers and a number to others", "for the time or text")
    if _EXPONENT.fullmatch(text):
        raise _refused(text, "is a number with an exponent", "if it is text", _without_exponent(text))
    if _GROUPS.fullmatch(text):
        raise _refused(text, "is a number with underscores", "if it is text", "the digits alone")
    if _BASE.fullmatch(text):
        meant = "the number in decimal digits"
        raise _refused(text, "is a hexadecimal, octal or binary number", "if it is text", meant)
    if _NO_NUMBER.fullmatch(text):
        raise _refused(text, "is no number that a setting can have", "if it is text", "null where none is known")


def _comma(text: str) -> FormatError:
    """A comma between digits, with both readings: 12,5 may be 12.5, or 12 and 5."""
    sign, digits = (text[0], text[1:]) if text[0] in "+-" else ("", text)
    readings = []
    if digits.count(",") == 1 and "." not in digits:
        whole, _, part = digits.partition(",")
        readings.append(f"{sign}{whole or '0'}.{part}")
    readings.append(f"[{sign}{', '.join(part for part in digits.split(',') if part)}]")
    if re.fullmatch(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?", digits):
        readings.insert(0, sign + digits.replace(",", ""))
    meant = " or ".join(readings)
    return _refused(text, "has a comma, which can be read in two ways", "if it is text", meant)


def _without_exponent(text: str) -> str:
    """The number in plain digits, where they are few enough to be meant."""
    digits, _, power = text.lower().replace("_", "").partition("e")
    power = power.lstrip("+-")
    if len(text) > _LONGEST_KEPT or digits[-1:] == "." or len(power) > 2 or int(power) > MAX_DIGITS:
        return "the number in plain digits"
    return format(Decimal(text.replace("_", "")), "f")


def _without_zeros(text: str) -> str:
    sign, digits = (text[0], text[1:]) if text[0] in "+-" else ("", text)
    whole, point, part = digits.rstrip(".").partition(".")
    return f"{sign}{whole.lstrip('0') or '0'}{point}{part}"


def _refused(text: str, found: str, why_quoted: str, meant: str = "") -> FormatError:
    shown = text if len(text) <= _LONGEST_KEPT else text[: _LONGEST_KEPT - 3] + "..."
    if len(meant) > 3 * _LONGEST_KEPT:
        meant = "the number in plain digits"
    first = f"{meant}, or " if meant else ""
    return FormatError(f"{shown} {found}", mend=f'write {first}"{shown}" in quotes {why_quoted}')
