"""How units are spelt."""

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import LengthUnit, parse_length_unit, parse_unit


@pytest.mark.parametrize(
    ("text", "unit"),
    [("mm", "mm"), ("MM", "mm"), ('"', "in"), ("Inch", "in"), ("\u2032", "ft"), ("\u03bcm", "\u00b5m"), ("DEG", "deg"),
     ("\u00b0", "deg"), ("khz", "kHz"), ("rev/min", "rpm"), ("min-1", "1/min"), ("m/s^2", "m/s\u00b2"), ("mW", "mW"),
     ("MW", "MW"), ("percent", "%"), ("\u00b0C", "\u00b0C"), ("widget", "widget")],
)  # fmt: skip
def test_a_unit_has_one_spelling(text: str, unit: str) -> None:
    assert parse_unit(text) == unit


@pytest.mark.parametrize("text", ["", "5", "bar abs", "x" * 17, "M", "e3", "^2", "-", "\u0000"])
def test_what_cannot_be_a_unit_is_refused(text: str) -> None:
    with pytest.raises(InvalidQuantity):
        parse_unit(text)


def test_every_unit_of_length_is_read_from_its_own_symbol() -> None:
    assert [parse_length_unit(str(unit)) for unit in LengthUnit] == list(LengthUnit)


@pytest.mark.parametrize("text", ["M", "Mm", "deg", "bar", ""])
def test_what_is_no_unit_of_length_is_refused(text: str) -> None:
    with pytest.raises(InvalidQuantity):
        parse_length_unit(text)
