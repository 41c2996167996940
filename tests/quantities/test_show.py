"""Quantities as text."""

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import (
    Angle,
    LengthUnit,
    Quantity,
    format_angle,
    format_delta,
    format_length,
    format_number,
    format_quantity,
    parse_length,
)


def test_numbers_keep_their_zeros_and_never_show_an_exponent() -> None:
    assert [format_number(Decimal(t)) for t in ("21.700", "1E+3", "1E-9")] == ["21.700", "1000", "0.000000001"]


def test_a_length_is_shown_as_written_or_exactly_in_another_unit() -> None:
    assert format_length(parse_length('7 5/8"')) == "7.625 in"
    assert format_length(parse_length('7 5/8"'), LengthUnit.MM) == "193.6750 mm"
    with pytest.raises(InvalidQuantity, match="no exact decimal"):
        format_length(parse_length("10 mm"), LengthUnit.IN)


def test_a_rounded_length_says_so_and_cannot_be_read_back() -> None:
    grid = parse_length("0.0001 in")

    assert format_length(parse_length("10 mm"), resolution=grid) == "\u2248 0.3937 in"
    assert format_length(parse_length("25.4 mm"), resolution=grid) == "1.0000 in"
    assert format_length(parse_length("10 mm"), LengthUnit.MM, grid) == "\u2248 9.99998 mm"
    with pytest.raises(InvalidQuantity, match="is not a length"):
        parse_length(format_length(parse_length("10 mm"), resolution=grid))


def test_an_angle_is_shown_in_degrees() -> None:
    assert format_angle(Angle(Decimal("45.50"))) == "45.50\u00b0"
    assert format_angle(Angle(Decimal("45.126")), Angle(Decimal("0.01"))) == "\u2248 45.13\u00b0"


def test_a_quantity_is_shown_with_its_unit() -> None:
    assert format_quantity(Quantity(Decimal("35"), "%")) == "35 %"


@pytest.mark.parametrize(
    ("text", "shown"), [("0.125 mm", "+0.125 mm"), ("\u22121.5 in", "-1.5 in"), ("0.000 mm", "0.000 mm")]
)
def test_a_difference_shows_its_sign_in_plain_characters(text: str, shown: str) -> None:
    assert format_delta(parse_length(text)) == shown
    assert parse_length(format_delta(parse_length(text))) == parse_length(text)
