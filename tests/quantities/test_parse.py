"""Lengths, angles and quantities as a shop writes them."""

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import AngleUnit, LengthUnit, parse_angle, parse_length, parse_quantity

LENGTHS = [
    ("7 5/8 in", "7.625 in"),
    ('7-5/8"', "7.625 in"),
    ('7 5/8"', "7.625 in"),
    ("7 5/8\u2033", "7.625 in"),
    ("7\u215d\u201d", "7.625 in"),
    ("7\u00bd''", "7.5 in"),
    ("5\u20448 in", "0.625 in"),
    ('5/8"', "0.625 in"),
    ("-7 5/8 in", "-7.625 in"),
    ('\u22127-5/8"', "-7.625 in"),
    ('-5/8"', "-0.625 in"),
    ("2.5 cm", "2.5 cm"),
    ("-16.05 in", "-16.05 in"),
    ("\u221216.05in", "-16.05 in"),
    ("465\u00a0mm", "465 mm"),
    ("465mm", "465 mm"),
    ("21.700 mm", "21.700 mm"),
    ("10. mm", "10 mm"),
    (".5in", "0.5 in"),
    ("5 MM", "5 mm"),
    ("5 INCHES", "5 in"),
    ("5 in.", "5 in"),
    ("6 um", "6 \u00b5m"),
    ("6 \u03bcm", "6 \u00b5m"),
    ("1.2 metres", "1.2 m"),
    ("12'", "12 ft"),
    ("12'6\"", "150 in"),
    ("12' 6 1/2\"", "150.5 in"),
    ("12\u2032-6\u00bd\u2033", "150.5 in"),
    ("12\u2019 6\u201d", "150 in"),
    ("-12 ft 6 in", "-150 in"),
    ("0' 0.25\"", "0.25 in"),
    ("12345678901234567890123456789' 1\"", "148148146814814814681481481469 in"),
]


@pytest.mark.parametrize(("text", "shown"), LENGTHS, ids=[text for text, _ in LENGTHS])
def test_a_length_is_read_as_the_shop_writes_it(text: str, shown: str) -> None:
    found = parse_length(text)

    assert str(found) == shown
    assert found.notation == text


NO_LENGTHS = [
    ("12.5", "write 12.5 mm or 12.5 in"),
    ("5/8", "write the fraction with in"),
    ("12,5 mm", "write 12.5 if"),
    ("1,250 mm", "can mean 1.250 or 1250"),
    ("12 500 mm", "write 12500 if"),
    ("1e3 mm", "exponent"),
    ("0x10 mm", "hexadecimal"),
    ("nan mm", "finite"),
    ("inf in", "finite"),
    ("45\u00b0", "is an angle"),
    ("45 deg", "is an angle"),
    ("45\u00b0 30'", "is an angle"),
    ("12.5 bar", "\u201cbar\u201d in \u201c12.5 bar\u201d is not a unit of length"),
    ("5 M", "can be misread"),
    ("5 Mm", "can be misread"),
    ("5 mil", "can be misread"),
    ("5 thou", "can be misread"),
    ("1/3 in", "such as 0.3333"),
    ("-2 1/3 in", "such as -2.3333"),
    ("7 9/8 in", "fraction of 1 or more"),
    ("1/0 in", "divides by zero"),
    ("7 -5/8 in", "more than one number"),
    ("7.5 5/8 in", "more than one number"),
    ("5/80.5 in", "is not a unit"),
    ("\u00bd/2 in", "is not a unit"),
    ("12' 14\"", "from 0 to under 12"),
    ("12'--6\"", "from 0 to under 12"),
    ("12' 5 5 5\"", "more than one number"),
    ("12'6", "write whole feet and inches as"),
    ("12.5'6\"", "write whole feet and inches as"),
    ("12.5 \u00b1 0.1 mm", "is not a unit"),
    ("5\n6 mm", "is not a unit"),
    ("mm", "is not a length; write a number such as 12.5 mm"),
    ("\u2014", "is not a length"),
    ("9" * 31 + " mm", "at most 30 digits"),
    ("9" * 31 + "' 6\"", "30 digits"),
    ("9" * 5000 + " mm", "has 5003 characters"),
]


@pytest.mark.parametrize(("text", "told"), NO_LENGTHS, ids=[text[:14] for text, _ in NO_LENGTHS])
def test_a_doubtful_length_is_refused_with_what_to_write(text: str, told: str) -> None:
    with pytest.raises(InvalidQuantity) as refusal:
        parse_length(text)

    message = str(refusal.value)
    assert told in message
    assert len(message) < 200
    assert "\n" not in message


def test_a_bare_number_takes_the_default_unit_and_a_written_unit_wins() -> None:
    assert str(parse_length("-0.415", LengthUnit.IN)) == "-0.415 in"
    assert str(parse_length("5 mm", LengthUnit.IN)) == "5 mm"


def test_a_bare_fraction_takes_an_inch_default_and_is_refused_on_a_metric_machine() -> None:
    assert str(parse_length("7 5/8", LengthUnit.IN)) == "7.625 in"
    with pytest.raises(InvalidQuantity, match=r"write it with in, or as 7\.625 mm"):
        parse_length("7 5/8", LengthUnit.MM)


ANGLES = [
    ("45\u00b0", "45"),
    ("45.50 deg", "45.50"),
    ("45 DEG", "45"),
    ("45\u00ba", "45"),
    ("22 1/2\u00b0", "22.5"),
    ("45\u00b0 30'", "45.5"),
    ("45\u00b020\u203224\u2033", "45.34"),
    ("-0\u00b0 30'", "-0.5"),
    ("45\u00b0 7.5'", "45.125"),
]


@pytest.mark.parametrize(("text", "degrees"), ANGLES, ids=[text for text, _ in ANGLES])
def test_an_angle_is_read_in_degrees_minutes_and_seconds(text: str, degrees: str) -> None:
    found = parse_angle(text)

    assert (f"{found.deg:f}", found.notation) == (degrees, text)


NO_ANGLES = [
    ("45", "write 45 deg if degrees are meant"),
    ("45\u00b0 20'", "such as 45.3333 deg"),
    ("-45\u00b0 20'", "such as -45.3333 deg"),
    ("45\u00b0 70'", "under 60"),
    ("45\u00b0 10' 60\"", "under 60"),
    ("45\u00b0 10.5' 6\"", "write degrees alone"),
    ("5 mm", "is a length"),
    ("30'", "is a length"),
    ("45 rad", "is not degrees"),
    ("45,5\u00b0", "write 45.5 if"),
    ("1e1\u00b0", "exponent"),
    ("left", "is not an angle; write a number such as 45.5 deg"),
    ("", "nothing was written where an angle is wanted"),
]


@pytest.mark.parametrize(("text", "told"), NO_ANGLES, ids=[text or "empty" for text, _ in NO_ANGLES])
def test_a_doubtful_angle_is_refused_with_what_to_write(text: str, told: str) -> None:
    with pytest.raises(InvalidQuantity) as refusal:
        parse_angle(text)

    assert told in str(refusal.value)


def test_a_bare_angle_takes_the_default_unit() -> None:
    assert str(parse_angle("45.0", AngleUnit.DEG)) == "45.0\u00b0"


QUANTITIES = [
    ("12.5 bar", "12.5 bar"),
    ("230 HZ", "230 Hz"),
    ("1450 rpm", "1450 rpm"),
    ("1450 1/min", "1450 1/min"),
    ("1450/min", "1450 1/min"),
    ("4 A", "4 A"),
    ("35%", "35 %"),
    ("0 %", "0 %"),
    ("200 mm/s^2", "200 mm/s\u00b2"),
    ("200 mm/s2", "200 mm/s\u00b2"),
    ("12 counts", "12 counts"),
    ("20 ms", "20 ms"),
    ("20 MS", "20 MS"),
    ("-3 \u00b0C", "-3 \u00b0C"),
    ("6 \u03bcs", "6 \u00b5s"),
    ("7 5/8 in", "7.625 in"),
    ("12'6\"", "150 in"),
    ("45\u00b0", "45 deg"),
    ("45\u00b0 30'", "45.5 deg"),
    ("8 m3/h", "8 m3/h"),
    ("9 widgets", "9 widgets"),
]


@pytest.mark.parametrize(("text", "shown"), QUANTITIES, ids=[text for text, _ in QUANTITIES])
def test_a_quantity_is_read_with_any_unit(text: str, shown: str) -> None:
    found = parse_quantity(text)

    assert (str(found), found.notation) == (shown, text)


NO_QUANTITIES = [
    ("5", "has no unit; write it with one, such as 5 bar"),
    ("5 e3", "exponent"),
    ("5/8e3", "is not a unit"),
    ("0x2", "hexadecimal"),
    ("5/8x2", "is not a unit"),
    ("5 (bar)", "is not a unit"),
    ("5 bar,", "is not a unit"),
    ("5 bar abs", "is not a unit"),
    ("5 M", "is not a unit"),
    ("5 " + "x" * 17, "is not a unit"),
    ("5 A\u030a", "is not a unit"),
    ("12,5 bar", "write 12.5 if"),
    ("bar", "is not a quantity; write a number such as 12.5 bar"),
    ("", "nothing was written where a quantity is wanted"),
]


@pytest.mark.parametrize(("text", "told"), NO_QUANTITIES, ids=[text[:10] or "empty" for text, _ in NO_QUANTITIES])
def test_a_doubtful_quantity_is_refused_with_what_to_write(text: str, told: str) -> None:
    with pytest.raises(InvalidQuantity) as refusal:
        parse_quantity(text)

    assert told in str(refusal.value)


def test_a_bare_number_takes_the_default_unit_of_its_page() -> None:
    assert str(parse_quantity("35", "%")) == "35 %"
