"""New YAML text: readable, exact, and quoted wherever some reader could take it for something else."""

from __future__ import annotations

from decimal import Decimal
from random import Random
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from profilekeeper.errors import FormatError
from profilekeeper.formats import dumps, loads, same
from profilekeeper.formats.yaml_write import flow_text, key_text, scalar_text

from . import handwritten

_plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**29), 10**29)
    | st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-(10**9), max_value=10**9)
    | st.text(st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\u2028\u2029\ufeff\ufffe\uffff"))
    | st.sampled_from(handwritten.TEXTS),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.sampled_from(handwritten.KEYS), inner, max_size=5),
    max_leaves=30,
)


@given(_plain)
def test_what_was_written_is_read_back_the_same(data: Any) -> None:
    assert same(loads(dumps(data)), data)


@given(_plain)
def test_a_line_of_braces_is_read_back_the_same(data: Any) -> None:
    assert same(loads(f"[{flow_text(data)}]"), [data])


@given(st.randoms(use_true_random=False))
def test_writing_what_was_written_changes_nothing(random: Random) -> None:
    text = dumps(handwritten.group(random))

    assert dumps(loads(text)) == text


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"])) | st.sampled_from(handwritten.TEXTS))
def test_a_text_is_text_to_readers_of_both_versions_of_yaml(text: str) -> None:
    try:
        written = scalar_text(text)
    except FormatError:
        return
    if "\x85" in text or (len(text) == 10 and text[4:5] == "-"):
        # A date is left plain: people write them so, and both libraries read a date, nothing else.
        return

    assert yaml.load(f"a: {written}", Loader=yaml.CSafeLoader) == {"a": text}
    assert YAML(typ="safe", pure=True).load(f"a: {written}") == {"a": text}


def test_a_file_is_one_setting_a_line_with_short_groups_in_braces() -> None:
    data = {
        "profile": 1,
        "machine": {"name": "saw-2", "shop": "quayside", "notes": "first line\nsecond line\n"},
        "axes": {"X": {"travel": [0, 3600]}, "A": {"travel": [0, 92], "kind": "tilt"}},
        "table": {"surface": Decimal("-455.20"), "outline": [[100, 80], [3500, 80]]},
        "tools": {
            "21": {
                "name": "calibrating disc 350, for the whole of the quarry's granite",
                "length": Decimal("212.730"),
                "sections": [{"from": 0, "to": 70, "radius": 40}, {"from": 70, "to": Decimal("212.73"), "radius": 175}],
                "on": "2026-03-04",
            }
        },
        "rapids": [["Z"], ["A", "C"], ["X", "Y"]],
        "pages": [{"label": "Soft limit + of the first axis", "value": "010", "order": 1, "note": "n" * 60}, "no", []],
        "empty": {},
        "unknown": None,
    }

    assert (
        dumps(data)
        == f"""\
profile: 1
machine:
  name: saw-2
  shop: quayside
  notes: |
    first line
    second line
axes:
  X: {{travel: [0, 3600]}}
  A: {{travel: [0, 92], kind: tilt}}
table:
  surface: -455.20
  outline: [[100, 80], [3500, 80]]
tools:
  21:
    name: "calibrating disc 350, for the whole of the quarry's granite"
    length: 212.730
    sections: [{{from: 0, to: 70, radius: 40}}, {{from: 70, to: 212.73, radius: 175}}]
    on: 2026-03-04
rapids: [[Z], [A, C], [X, Y]]
pages:
  - label: Soft limit + of the first axis
    value: "010"
    order: 1
    note: {"n" * 60}
  - "no"
  - []
empty: {{}}
unknown: null
"""
    )


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (Decimal("21.700"), "21.700"),
        (Decimal("1E+3"), "1000"),
        (Decimal("1E-7"), "0.0000001"),
        (-5, "-5"),
        (True, "true"),
        (None, "null"),
        ("disc", "disc"),
        ("no", '"no"'),
        ("Y", "Y"),
        ("12:30", '"12:30"'),
        ("010", '"010"'),
        ("2026-03-04", "2026-03-04"),
        ("8.375 in", "8.375 in"),
        ("", '""'),
        (" x", '" x"'),
        ("a: b", '"a: b"'),
        ("a #b", '"a #b"'),
        ("a#b", "a#b"),
        ("- a", '"- a"'),
        ("C:\\x", "C:\\x"),
        ('say "hi"', 'say "hi"'),
        ('"hi"', '"\\"hi\\""'),
        ("a\nb", '"a\\nb"'),
        ("null", '"null"'),
        ("1e3", '"1e3"'),
        ("Ø 350", "Ø 350"),
        ("é", "é"),
        ("100%", "100%"),
    ],
)
def test_a_scalar_is_quoted_only_where_it_must_be(value: object, written: str) -> None:
    assert scalar_text(value) == written


@pytest.mark.parametrize(
    ("key", "written"),
    [
        ("21", "21"),
        ("on", "on"),
        ("010", "010"),
        ("null", '"null"'),
        ("True", '"True"'),
        ("<<", '"<<"'),
        ("", '""'),
        ("a b", "a b"),
        ("a: b", '"a: b"'),
    ],
)
def test_a_name_is_quoted_only_where_it_must_be(key: str, written: str) -> None:
    assert key_text(key) == written


@pytest.mark.parametrize(
    "data",
    [
        1.5,
        {"a": 1.5},
        {1: 2},
        {"a": {None: 1}},
        Decimal("NaN"),
        [Decimal("Infinity")],
        "a\x00b",
        {"\x07": 1},
        {1, 2},
        b"x",
        10**30,
        {"k" * 300: 1},
    ],
)
def test_what_has_no_exact_spelling_is_refused(data: object) -> None:
    with pytest.raises(FormatError):
        dumps(data)


class _Shout(str):
    """A text that is more than a text."""


def test_data_of_a_kind_that_does_not_come_back_are_refused() -> None:
    with pytest.raises(FormatError, match="read back the same"):
        dumps({"a": _Shout("x")})


def test_too_deep_data_are_refused() -> None:
    deep: list[Any] = []
    for _ in range(40):
        deep = [deep]

    with pytest.raises(FormatError, match="levels lie inside one another"):
        dumps(deep)


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        (5, Decimal("5"), True),
        (5, Decimal("5.0"), False),
        (Decimal("5.0"), Decimal("5.00"), False),
        (Decimal("1E+3"), 1000, True),
        (1, True, False),
        (0, False, False),
        (None, False, False),
        ("5", 5, False),
        ([1], (1,), True),
        ({"a": 1}, {"a": 1}, True),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}, False),
        ([], {}, False),
        ("", None, False),
        (Decimal("0.0"), Decimal("-0.0"), True),
    ],
)
def test_data_are_the_same_when_they_would_be_written_the_same(one: object, other: object, alike: bool) -> None:
    assert same(one, other) is alike
    assert same(other, one) is alike
