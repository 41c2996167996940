"""Plain numbers, and how doubtful ones are refused."""

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import parse_number


@pytest.mark.parametrize(
    ("text", "shown"),
    [("-0.415", "-0.415"), ("21.700", "21.700"), ("10.", "10"), (".5", "0.5"), ("+3", "3"), ("\u22123", "-3"),
     (" 7\u00a0", "7"), ("- 5", "-5"), ("007", "7")],
)  # fmt: skip
def test_a_plain_number_keeps_its_trailing_zeros(text: str, shown: str) -> None:
    assert f"{parse_number(text):f}" == shown


REFUSED = [
    ("12,5", "write 12.5 if it is a decimal comma"),
    ("1,250", "can mean 1.250 or 1250"),
    ("-1,250", "can mean -1.250 or -1250"),
    ("0,125", "write 0.125 if"),
    (",5", "write 0.5 if"),
    ("-,5", "write -0.5 if"),
    ("1,250.5", "write 1250.5 if"),
    ("1.250,5", "write 1250.5 if"),
    ("1,250,000", "write 1250000 if"),
    ("1.250.000", "write 1250000 if"),
    ("12 500", "write 12500 if"),
    ("12\u202f500", "write 12500 if"),
    ("12'500", "write 12500 if"),
    ("1_000", "write 1000 if"),
    ("12,", "more than one number"),
    ("1,25,3", "more than one number"),
    ("1.2.3", "more than one number"),
    ("5 6", "more than one number"),
    ("5-6", "more than one number"),
    ("16.05-", "write -16.05"),
    ("1e3", "exponent"),
    ("1E-3", "exponent"),
    ("2.5\u00d710^3", "exponent"),
    ("0x1F", "hexadecimal"),
    ("0b101", "hexadecimal or binary"),
    ("nan", "not a finite number"),
    ("-Infinity", "not a finite number"),
    ("5/8", "write it as 0.625"),
    ("1/3", "such as 0.3333"),
    ("1/0", "divides by zero"),
    ("7 9/8", "fraction of 1 or more"),
    ("7 8/8", "fraction of 1 or more"),
    ("1/" + str(2**40), "no exact decimal"),
    ("7 mm", "after the number"),
    ("--5", "is not a number; write a number such as -0.415"),
    ("abc", "is not a number"),
    ("\u0663", "is not a number"),
    ("", "nothing was written"),
    ("9" * 31, "at most 30 digits"),
    ("." + "9" * 30, "30 digits"),
    ("9" * 200, "has 200 characters"),
]


@pytest.mark.parametrize(("text", "told"), REFUSED, ids=[text[:12] or "empty" for text, _ in REFUSED])
def test_anything_doubtful_is_refused_with_what_to_write(text: str, told: str) -> None:
    with pytest.raises(InvalidQuantity) as refusal:
        parse_number(text)

    message = str(refusal.value)
    assert told in message
    assert len(message) < 200
    assert "\n" not in message


@pytest.mark.parametrize("text", [None, 5, 0.5, b"5"])
def test_what_is_no_text_is_refused_by_its_type(text: object) -> None:
    with pytest.raises(InvalidQuantity, match=type(text).__name__):
        parse_number(text)  # type: ignore[arg-type]  # the refusal is what is tested
