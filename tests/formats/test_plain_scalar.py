"""What an unquoted word or number means, and which are refused with which ways out."""

from __future__ import annotations

from decimal import Decimal
from itertools import product
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml.nodes import ScalarNode
from ruamel.yaml.resolver import VersionedResolver

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import MAX_DIGITS
from profilekeeper.formats.plain_scalar import plain_value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("", None),
        ("~", None),
        ("null", None),
        ("Null", None),
        ("NULL", None),
        ("true", True),
        ("True", True),
        ("TRUE", True),
        ("false", False),
        ("False", False),
        ("FALSE", False),
        ("0", 0),
        ("-0", 0),
        ("+5", 5),
        ("-480", -480),
        ("1234567", 1234567),
        ("0.0", Decimal("0.0")),
        ("21.700", Decimal("21.700")),
        ("-0.415", Decimal("-0.415")),
        ("+12.500", Decimal("12.500")),
        (".5000", Decimal("0.5000")),
        ("2026-01-02", "2026-01-02"),
        ("2026-13-45", "2026-13-45"),
        ("2026-01-02T10:00:00Z", "2026-01-02T10:00:00Z"),
        ("Y", "Y"),
        ("N", "N"),
        ("+Y", "+Y"),
        ("X", "X"),
        ("nULL", "nULL"),
        ("tRUE", "tRUE"),
        ("1/2", "1/2"),
        ("3 1/2", "3 1/2"),
        ("8.375 in", "8.375 in"),
        ("12.5mm", "12.5mm"),
        ("1 000", "1 000"),
        ("1.2.3", "1.2.3"),
        ("4.7.1", "4.7.1"),
        ("1-2", "1-2"),
        ("--5", "--5"),
        ("+-5", "+-5"),
        ("00FF", "00FF"),
        ("e5", "e5"),
        ("1e", "1e"),
        ("0xZZ", "0xZZ"),
        ("00:1A:2B", "00:1A:2B"),
        ("nan", "nan"),
        ("inf", "inf"),
        ("M30", "M30"),
        ("none", "none"),
        ("not", "not"),
        ("only", "only"),
        ("offset", "offset"),
        ("-", "-"),
        ("٣", "٣"),
        ("１２", "１２"),
    ],
)
def test_a_plain_scalar_is_exactly_one_value(text: str, value: object) -> None:
    found = plain_value(text)

    assert type(found) is type(value)
    assert found == value
    assert str(found) == str(value)


@pytest.mark.parametrize(
    ("text", "says", "ways"),
    [
        ("no", "is false to some readers", ["false for no", '"no" in quotes']),
        ("NO", "is false to some readers", ["false for no", '"NO" in quotes']),
        ("off", "is false", ["false for no"]),
        ("Off", "is false", []),
        ("n", "is false", ['"n" in quotes']),
        ("yes", "is true", ["true for yes", '"yes" in quotes']),
        ("ON", "is true", []),
        ("On", "is true", []),
        ("y", "is true", ['"y" in quotes']),
        ("010", "begins with a zero", ["write 10 for the number", '"010" in quotes']),
        ("-021.7", "begins with a zero", ["write -21.7 for the number"]),
        ("0000", "begins with a zero", ["write 0 for"]),
        ("00.5", "begins with a zero", ["write 0.5 for"]),
        ("0010.", "begins with a zero", ["write 10 for"]),
        ("0o10", "hexadecimal, octal or binary", ["in decimal digits", '"0o10" in quotes']),
        ("0x1F", "hexadecimal", []),
        ("-0x1F", "hexadecimal", []),
        ("0b1", "binary", []),
        ("0B1", "binary", []),
        ("1_000", "with underscores", ["the digits alone", '"1_000" in quotes']),
        ("1_0.5", "with underscores", []),
        ("-_", "with underscores", []),
        ("._5", "with underscores", []),
        ("12:30", "a time to some readers and a number to others", ['"12:30" in quotes']),
        ("12:30:45", "a time", []),
        ("-1:30.5", "a time", []),
        ("190:20:30", "a time", []),
        (".inf", "no number that a setting can have", ["null where none is known"]),
        ("-.INF", "no number", []),
        (".nan", "no number", []),
        (".NaN", "no number", []),
        ("1e3", "with an exponent", ["write 1000,", '"1e3" in quotes']),
        ("1.5E-3", "with an exponent", ["write 0.0015,"]),
        ("1e999999999", "with an exponent", ["in plain digits"]),
        (".5e3", "with an exponent", ["write 500,"]),
        ("12e4", "with an exponent", []),
        ("-.4150", "has a sign and no digit before its point", ["write -0.4150", '"-.4150" in quotes']),
        ("+.5", "has a sign and no digit", ["write +0.5"]),
        ("21.", "ends in a point: digits may be lost", ["write 21 or 21.0"]),
        ("-5.", "ends in a point", ["-5 or -5.0"]),
        ("12,5", "can be read in two ways", ["write 12.5 or [12, 5]", '"12,5" in quotes']),
        ("-330,4", "can be read in two ways", ["write -330.4 or [-330, 4]"]),
        ("1,234", "can be read in two ways", ["write 1234 or 1.234 or [1, 234]"]),
        ("1,234.5", "can be read in two ways", ["write 1234.5 or [1, 234.5]"]),
        ("1,2,3", "can be read in two ways", ["write [1, 2, 3]"]),
        (",5", "can be read in two ways", ["write 0.5 or [5]"]),
        ("−330.4", "a dash that is no minus sign", ["write -330.4"]),
        ("–5", "a dash", ["write -5"]),
        ("<<", "a meaning of its own", []),
        ("=", "a meaning of its own", []),
    ],
)
def test_what_two_readers_take_for_two_things_is_refused_with_ways_out(text: str, says: str, ways: list[str]) -> None:
    with pytest.raises(FormatError) as refused:
        plain_value(text)

    sentence = str(refused.value)
    for part in (says, *ways):
        assert part in sentence


@pytest.mark.parametrize("text", ["1" * MAX_DIGITS, "-" + "1" * MAX_DIGITS, "0." + "1" * (MAX_DIGITS - 1)])
def test_a_number_of_the_most_digits_is_exact(text: str) -> None:
    assert str(plain_value(text)) == text


@pytest.mark.parametrize("text", ["1" * (MAX_DIGITS + 1), "0." + "1" * MAX_DIGITS, "9" * 5000])
def test_a_number_of_more_digits_is_refused_and_not_rounded(text: str) -> None:
    with pytest.raises(FormatError, match="digits, and a number may have 30") as refused:
        plain_value(text)

    assert len(str(refused.value)) < 300


def test_equal_texts_of_other_kinds_do_not_meet_in_the_memory_of_values() -> None:
    # 1, 1.0 and True are equal to Python: a memory keyed by value would mix them up.
    values = [plain_value(text) for text in ("1", "1.0", "true", "1", "1.00")]

    assert [str(value) for value in values] == ["1", "1.0", "True", "1", "1.00"]


_SIGNS = st.text("0123456789+-._,:eExXobBnNaAiIfFyYsSrRuUlLtT~=<\u2212", max_size=10)
_WORDS = st.sampled_from(["0", "1", "12", ".", "_", "e", "E", "+", "-", ":", ",", "0x", "0o", "0b", "inf", "nan", "5"])
_OLD: Any = yaml.resolver.Resolver()
_NEW: Any = VersionedResolver()


def _kinds(text: str) -> set[str]:
    """What two general-purpose libraries, of YAML 1.1 and 1.2, take an unquoted text for."""
    tags = [_OLD.resolve(yaml.ScalarNode, text, (True, False)), _NEW.resolve(ScalarNode, text, (True, False))]
    return {str(tag).rpartition(":")[2] for tag in tags}


@given(_SIGNS | st.lists(_WORDS, max_size=6).map("".join))
@settings(max_examples=500)
def test_both_versions_of_yaml_see_the_same_kind_or_the_text_is_refused(text: str) -> None:
    try:
        value = plain_value(text)
    except FormatError:
        return

    assert _kinds(text) <= _ALIKE[type(value)]


@pytest.mark.parametrize("length", [1, 2, 3, 4])
def test_of_all_short_texts_none_is_taken_that_the_versions_of_yaml_see_differently(length: int) -> None:
    for text in map("".join, product("018_.:eE+-xob", repeat=length)):
        try:
            value = plain_value(text)
        except FormatError:
            continue
        assert _kinds(text) <= _ALIKE[type(value)], text


_ALIKE = {
    str: {"str", "timestamp"},
    int: {"int"},
    Decimal: {"float"},
    bool: {"bool"},
    type(None): {"null"},
}
