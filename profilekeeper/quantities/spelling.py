"""How a person's text is made plain before it is read, and how units are spelt."""

from __future__ import annotations

import unicodedata

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.angle import AngleUnit
from profilekeeper.quantities.exact import DIGITS
from profilekeeper.quantities.length import LengthUnit
from profilekeeper.quantities.quantity import UNIT_LENGTH

MICRO, DEGREE = "\N{MICRO SIGN}", "\N{DEGREE SIGN}"

_TEXT_LENGTH = 80
_SHOWN = 40

# One character each; the vulgar fractions get a space before them, so 7½ reads as 7 1/2 and
# never as 71/2 (which is what Unicode's own compatibility form makes of it).
_PLAIN = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2013\ufe63\uff0d", "-"),
        **dict.fromkeys("\u2032\u2018\u2019\u02b9", "'"),
        **dict.fromkeys("\u2033\u201c\u201d\u02ba", '"'),
        **dict.fromkeys("\u00a0\u202f\u2009\u2007\t", " "),
        **dict.fromkeys("\u00ba\u02da", DEGREE),
        "\N{FRACTION SLASH}": "/",
        "\N{GREEK SMALL LETTER MU}": MICRO,
        "\u00bd": " 1/2",
        "\u00bc": " 1/4",
        "\u00be": " 3/4",
        "\u215b": " 1/8",
        "\u215c": " 3/8",
        "\u215d": " 5/8",
        "\u215e": " 7/8",
    }
)

_LENGTH_WORDS = {
    LengthUnit.MM: "mm MM millimetre millimetres millimeter millimeters",
    LengthUnit.CM: "cm CM centimetre centimetres centimeter centimeters",
    LengthUnit.M: "m metre metres meter meters",
    LengthUnit.IN: 'in IN In in. " inch inches',
    LengthUnit.FT: "ft FT Ft ft. ' foot feet",
    LengthUnit.UM: f"{MICRO}m um micrometre micrometres micrometer micrometers micron microns",
}
_LENGTHS = {word: unit for unit, words in _LENGTH_WORDS.items() for word in words.split()}
_ANGLES = {DEGREE, "deg", "degs", "deg.", "degree", "degrees"}

# Only where no other unit differs by case alone: never ms/Ms, mW/MW, mPa/MPa.
_FOLDED = {
    **{name.casefold(): name for name in ["Hz", "kHz", "rpm", "bar", "psi", "A", "V", "kW", "kN", "Nm", "kPa"]},
    **dict.fromkeys(("/min", "1/min", "min-1", "min^-1", "min⁻¹"), "1/min"),
    **dict.fromkeys(("rev/min", "r/min", "u/min"), "rpm"),
    **dict.fromkeys(("%", "percent", "pct"), "%"),
    **dict.fromkeys(("count", "counts"), "counts"),
    **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("msec",), "ms"),
    **dict.fromkeys(("mins", "minute", "minutes"), "min"),
    **dict.fromkeys(("hour", "hours", "hrs"), "h"),
    **dict.fromkeys(("ipm",), "in/min"),
}
_POWERS = (("^2", "²"), ("^3", "³"), ("/s2", "/s²"))


def plain(text: str, wanted: str) -> str:
    """The text with one spelling of minus, primes, quotes, spaces and fractions, and trimmed.

    Raises:  InvalidQuantity, if it is no text, empty or far too long to be `wanted`.
    """
    if not isinstance(text, str):
        raise InvalidQuantity(f"{wanted} is read from text, not from a {type(text).__name__}")
    if len(text) > _TEXT_LENGTH:
        raise InvalidQuantity(f"{quoted(text)} has {len(text)} characters; write {wanted} with at most {DIGITS} digits")
    trimmed = text.translate(_PLAIN).replace("''", '"').strip()
    if not trimmed:
        raise InvalidQuantity(f"nothing was written where {wanted} is wanted; write a number, such as 12.5")
    return trimmed


def quoted(text: str) -> str:
    """The text in quotes for a message: one line, printable, at most 40 characters."""
    shown = text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
    return "“" + "".join(c if c.isprintable() else "?" for c in shown) + "”"


def find_length_unit(word: str) -> LengthUnit | None:
    """The unit of length that the word names, or None.

    Case is free where it is unambiguous: MM and Inch are read; M and Mm (mega) are not.
    """
    return _LENGTHS.get(word) or (_LENGTHS.get(word.lower()) if len(word) > 3 else None)


def is_degrees(word: str) -> bool:
    """Whether the word names degrees."""
    return word.lower() in _ANGLES


def find_unit(word: str) -> str | None:
    """The one spelling of a unit of the open list, or None if the word cannot be a unit."""
    if unit := find_length_unit(word):
        return str(unit)
    if is_degrees(word):
        return str(AngleUnit.DEG)
    for written, kept in _POWERS:
        word = word.replace(written, kept)
    word = _FOLDED.get(word.lower(), word)
    return word if _is_unit(word) else None


def parse_unit(text: str) -> str:
    """The one spelling of a unit of the open list: "HZ" gives "Hz", "mm/s^2" gives "mm/s²".

    A unit nobody has heard of is kept as written, if it looks like one (a letter or % first,
    no space, at most 16 characters).
    Raises:  InvalidQuantity, if it does not.
    """
    word = plain(text, "a unit")
    unit = find_unit(word)
    if unit is None:
        raise InvalidQuantity(f"{quoted(text)} is not a unit; write one such as mm, deg, bar, Hz or %")
    return unit


def parse_length_unit(text: str) -> LengthUnit:
    """The unit of length that the text names.

    Raises:  InvalidQuantity, if it names none.
    """
    unit = find_length_unit(plain(text, "a unit of length"))
    if unit is None:
        raise InvalidQuantity(f"{quoted(text)} is not a unit of length; write {LENGTH_UNITS}")
    return unit


LENGTH_UNITS = f"mm, cm, m, in, ft or {MICRO}m"


def _is_unit(word: str) -> bool:
    if not 0 < len(word) <= UNIT_LENGTH or word in ("M", "Mm"):
        return False
    if word in ("1/min", "1/s", "1/h", "1/m", "1/mm"):
        return True
    if unicodedata.normalize("NFC", word) != word:
        return False
    if not (word[0].isalpha() or word[0] in "%‰°Ω") or (word[1:2] in ("2", "3") and word[0] in "eExX"):
        return False  # e3 and x2 belong to a number that was written in another way
    return all(c.isalpha() or c in "%‰°Ω²³⁻¹/·*23" for c in word)
