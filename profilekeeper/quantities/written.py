"""Numbers as a shop writes them: 12.5, .5, 10., 5/8, 7 5/8, 7-5/8, and clear refusals of the rest."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple, NoReturn

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import DIGITS, check_number, exact_quotient
from profilekeeper.quantities.spelling import plain, quoted

# Patterns are compiled, and kept by `re`, when the first text is read: start-up is not slowed.
# ASCII digits on purpose: \d also matches digits that no control shows.
_HEAD = (
    r"(?P<sign>[+-]?) *"
    r"(?:(?:(?P<whole>[0-9]+)(?: +|-))?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    r"|(?P<decimal>[0-9]+\.?[0-9]*|\.[0-9]+)) *"
)
# Only for refusals:
_SUSPECT = ",.+-_\\0123456789eExXbBoO×*·'"
_GROUPED = r"([+-]?)([0-9]{1,3}(?:([ ,.'_])[0-9]{3})(?:\3[0-9]{3})*)(?:([.,])([0-9]+))?(?![0-9.,])"
_COMMA = r"([+-]?[0-9]*),([0-9]+)(?![0-9.,])"
_EXPONENT = r"[+-]?[0-9.]+ ?(?:[eE]|[x×*·] ?10\^?)[+-]?[0-9]+"
_HEXADECIMAL = r"[+-]?0[xXbBoO][0-9a-fA-F]"
_SIGN_BEHIND = r"([0-9.]++) ?([+-])(?! ?[0-9.])"
_FEET_UNMARKED = r"[+-]?[0-9.]+ ?' ?[0-9]"
_TWO_NUMBERS = r"[+-]?+ *+(?=\.?[0-9])[0-9]*+(?:\.[0-9]*+)?+ *[0-9.+\-,_\\]"


class Head(NamedTuple):
    """A number at the start of a text, and the rest (its unit, perhaps)."""

    number: Decimal
    rest: str
    is_fraction: bool


def parse_number(text: str) -> Decimal:
    """The plain decimal that the text shows, with its trailing zeros: "-0.415", "21.700", "10.".

    Raises:  InvalidQuantity, in one sentence with what to write instead, for anything else:
             a unit, a fraction, a decimal comma, an exponent, NaN, thousands marks, hex.
    """
    wanted = "a number"
    head = read_head(text, wanted)
    if head.rest:
        raise InvalidQuantity(f"{quoted(text)} has {quoted(head.rest)} after the number; write it alone")
    if head.is_fraction:
        raise InvalidQuantity(f"{quoted(text)} is a fraction; write it as {head.number:f}")
    check_number(head.number)
    return head.number


def read_head(text: str, wanted: str) -> Head:
    """The number at the start of the text and what follows it, spelt plainly.

    Raises:  InvalidQuantity, if there is no number there or it is written in a way that can be
             misread; `wanted` says in the message what is looked for ("a length").
    """
    written = plain(text, wanted)
    found = re.match(_HEAD, written)
    if not found:
        refuse(text, written, wanted)
    rest = written[found.end() :]
    if rest and rest[0] in _SUSPECT and not rest.startswith("1/"):  # 1450 1/min
        _refuse_misreadable(text, written, wanted)
    if sum(map(str.isdigit, found[0])) > DIGITS:
        raise InvalidQuantity(f"the number in {quoted(text)} is too long; write at most {DIGITS} digits")
    sign = "-" if found["sign"] == "-" else ""
    if found["decimal"]:
        return Head(Decimal(sign + found["decimal"]), rest, False)
    return Head(_fraction(text, sign, found["whole"], found["top"], found["bottom"]), rest, True)


def refuse(text: str, written: str, wanted: str) -> NoReturn:
    """Never returns: the clearest refusal of a text that is no such quantity.

    Raises:  InvalidQuantity, always.
    """
    _refuse_misreadable(text, written, wanted)
    if written.lower().lstrip("+-").startswith(("nan", "inf")):
        raise InvalidQuantity(f"{quoted(text)} is not a finite number; write {wanted} with digits")
    raise InvalidQuantity(f"{quoted(text)} is not {wanted}; write a number such as {_examples(wanted)}")


def _examples(wanted: str) -> str:
    known = {
        "a length": "12.5 mm or 7 5/8 in",
        "an angle": "45.5 deg",
        "a quantity": "12.5 bar or 35 %",
        "a number": "-0.415",
    }
    return known.get(wanted, "12.5")


def _refuse_misreadable(text: str, written: str, wanted: str) -> None:
    """Name the ways of writing that another person or control reads as another number."""
    shown = quoted(text)
    if re.match(_HEXADECIMAL, written):
        raise InvalidQuantity(f"{shown} looks like a hexadecimal or binary number; write it in decimals")
    if re.match(_EXPONENT, written):
        raise InvalidQuantity(f"{shown} has an exponent; write the number out in full, such as 0.001")
    if found := re.match(_GROUPED, written):
        _refuse_grouped(shown, *found.groups())
    if found := re.match(_COMMA, written):
        decimal = f"{found[1]}.{found[2]}" if found[1][-1:].isdigit() else f"{found[1]}0.{found[2]}"
        raise InvalidQuantity(f"{shown} has a comma; write {decimal} if it is a decimal comma")
    if found := re.match(_SIGN_BEHIND, written):
        raise InvalidQuantity(f"{shown} has its sign behind; write {found[2]}{found[1]}")
    if re.match(_FEET_UNMARKED, written):
        raise InvalidQuantity(f"{shown} is not feet and inches; write whole feet and inches as 12' 6 1/2\"")
    if re.match(_TWO_NUMBERS, written):
        raise InvalidQuantity(f"{shown} reads as more than one number; write {wanted} with one number")


def _refuse_grouped(shown: str, sign: str, groups: str, mark: str, point: str | None, rest: str | None) -> None:
    """Digits in groups of three: thousands marks, or a decimal comma that looks like one."""
    is_single = groups.count(mark) == 1 and not point
    if mark == point or (mark == "." and is_single):
        return
    joined = f"{sign}{groups.replace(mark, '')}" + (f".{rest}" if rest else "")
    if mark != "," or not is_single:
        raise InvalidQuantity(f"{shown} has thousands marks; write {joined} if that is meant")
    decimal = sign + groups.replace(",", ".")
    if groups.startswith("0"):
        raise InvalidQuantity(f"{shown} has a comma; write {decimal} if it is a decimal comma")
    raise InvalidQuantity(f"{shown} can mean {decimal} or {joined}; write the one that is meant")


def _fraction(text: str, sign: str, whole: str | None, top: str, bottom: str) -> Decimal:
    """The exact decimal of a mixed or plain fraction; the sign belongs to the whole of it."""
    over, under = int(top), int(bottom)
    if under == 0:
        raise InvalidQuantity(f"{quoted(text)} divides by zero; write a fraction such as 5/8")
    if whole and over >= under:
        raise InvalidQuantity(f"{quoted(text)} has a fraction of 1 or more; write a whole number and less, as 7 5/8")
    total = Decimal(int(whole or 0) * under + over)
    number = exact_quotient(total, Decimal(under))
    if number is None or -int(number.as_tuple().exponent) > DIGITS:
        near = f"{sign}{int(total) / under:.4f}"
        raise InvalidQuantity(f"{quoted(text)} is no exact decimal; write the decimal meant, such as {near}")
    return number.copy_negate() if sign else number
