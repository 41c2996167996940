"""JSON as strict and as exact as YAML."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.errors import FormatError
from profilekeeper.formats import dumps_json, loads_json
from profilekeeper.formats.limits import MAX_DEPTH, MAX_KEY, MAX_NODES


def test_numbers_are_exact_and_keep_their_zeros() -> None:
    found: Any = loads_json('{"a": 21.700, "b": -480, "c": 0.1, "d": [true, false, null, "x"]}')

    assert found == {"a": Decimal("21.700"), "b": -480, "c": Decimal("0.1"), "d": [True, False, None, "x"]}
    assert str(found["a"]) == "21.700"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"a": 1, "a": 2}', "the name a stands twice"),
        ('{"x": {"a": 1, "b": 2, "a": 3}}', "the name a stands twice"),
        ("[NaN]", "NaN is no number"),
        ("[Infinity]", "Infinity is no number"),
        ("[-Infinity]", "-Infinity is no number"),
        ("[1e5]", "1e5 is a number with an exponent"),
        ("[1.5E-3]", "with an exponent"),
        ("[" + "1" * 31 + "]", "31 digits"),
        ("[0." + "1" * 30 + "]", "31 digits"),
        ("[" + "1" * 5000 + "]", "5000 digits"),
        ('{"a" 1}', "line 1, column 6: this is no JSON"),
        ('{"a": 1}\n]', "line 2, column 1: this is no JSON"),
        ("", "the file is empty"),
        ("  \n", "the file is empty"),
        (b'"\xff"', "not UTF-8"),
        ('"\x07"', "U+0007"),
        ('"\\u0000"', "U+0000"),
        ('["\\ud800"]', "U+D800"),
        ('{"\\u001b": 1}', "U+001B"),
        ("[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1), f"more than {MAX_DEPTH} levels"),
        ("[" * 500_000, "more than"),
        ('{"a":' * 100_000, "more than"),
        ('{"' + "k" * (MAX_KEY + 1) + '": 1}', "characters is too long"),
        ("[" + "1," * MAX_NODES + "1]", "more than 200,000 values"),
        (" " * (1 << 20) + "1", "bytes are too many"),
    ],
)
def test_what_is_not_plainly_one_value_is_refused(text: str | bytes, says: str) -> None:
    with pytest.raises(FormatError) as refused:
        loads_json(text, source="answer.json")

    assert str(refused.value).startswith("answer.json")
    assert says in str(refused.value)
    assert refused.value.mend


def test_brackets_inside_texts_are_no_depth() -> None:
    text = json.dumps({"a": "[" * 500, 'b"\\': "{" * 500})

    assert loads_json(text) == json.loads(text)


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert loads_json("\ufeff[1]") == [1]


def test_decimals_are_written_as_they_are() -> None:
    assert (
        dumps_json([Decimal("21.700"), Decimal("1E+3"), Decimal("1E-7"), 5, Decimal("-0.0")])
        == "[21.700, 1000, 0.0000001, 5, -0.0]"
    )


def test_indented_text_is_what_the_standard_library_writes() -> None:
    data: dict[str, Any] = {"a": [1, {"b": 'é "x"', "c": []}], "d": {}, "e": None, "f": True}

    assert dumps_json(data, indent=2) == json.dumps(data, indent=2, ensure_ascii=False)
    assert dumps_json(data) == json.dumps(data, ensure_ascii=False)


@pytest.mark.parametrize(
    "value", [1.5, {1: 2}, {"a": {2: 3}}, Decimal("NaN"), Decimal("Infinity"), object(), {1, 2}, b"x"]
)
def test_a_value_without_an_exact_spelling_is_refused(value: object) -> None:
    with pytest.raises(FormatError):
        dumps_json(value)
