"""Edits as a person sees them: the whole text before and after."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from profilekeeper.errors import FormatError, UnknownName, UsageError
from profilekeeper.formats import REMOVED, edit, loads, splice, splice_many

FLOW = Path(__file__).resolve().parents[1] / "examples" / "formats" / "good" / "forty_tools_flow.yaml"

TEXT = """\
# head
profile: 1
tools:   # all tools
  # first tool
  21: {name: disc, length: 212.730, on: 2026-03-04}  # big
  22:
    name: 'brush'   # soft
    length: +5.50

rapids:
  - [X, Y]
  - - Z
    - A
note: |  # long
  first
  second
empty:
none: {}   # yet

# tail
"""


@pytest.mark.parametrize(
    ("pointer", "value", "before", "after"),
    [
        ("/tools/21/length", Decimal("212.700"), "length: 212.730,", "length: 212.700,"),
        ("/tools/21/length", Decimal("1E+3"), "length: 212.730,", "length: 1000,"),
        ("/tools/21/length", -7, "length: 212.730,", "length: -7,"),
        ("/tools/21/length", "8.375 in", "length: 212.730,", "length: 8.375 in,"),
        ("/tools/21/length", "12,5", "length: 212.730,", 'length: "12,5",'),
        ("/tools/22/name", "no", "name: 'brush'   # soft", "name: 'no'   # soft"),
        ("/tools/22/name", "it's", "name: 'brush'   # soft", "name: 'it''s'   # soft"),
        ("/tools/22/name", "a\nb", "name: 'brush'   # soft", 'name: "a\\nb"   # soft'),
        ("/tools/22/name", None, "name: 'brush'   # soft", "name: null   # soft"),
        ("/tools/22/length", True, "length: +5.50", "length: true"),
        ("/rapids/0/1", "C", "[X, Y]", "[X, C]"),
        ("/rapids/1/0", "off", "  - - Z\n", '  - - "off"\n'),
        ("/note", "one\ntwo\n", "note: |  # long\n  first\n  second\n", "note: |  # long\n  one\n  two\n"),
        ("/note", "one", "note: |  # long\n  first\n  second\n", "note: one  # long\n"),
        ("/note", "one\ntwo", "note: |  # long\n  first\n  second\n", "note: |-  # long\n  one\n  two\n"),
        ("/empty", 5, "empty:\n", "empty: 5\n"),
    ],
)
def test_a_splice_changes_its_value_and_nothing_else(pointer: str, value: object, before: str, after: str) -> None:
    assert TEXT.count(before) == 1

    assert splice(TEXT, pointer, value) == TEXT.replace(before, after)


def test_the_same_value_keeps_its_spelling() -> None:
    assert splice(TEXT, "/tools/22/length", Decimal("5.50")) == TEXT
    assert splice(TEXT, "/tools/22/length", Decimal("5.5")) == TEXT.replace("+5.50", "5.5")


def test_many_values_are_spliced_at_once() -> None:
    after = splice_many(TEXT, {"/tools/22/length": 6, "/profile": 2, "/tools/21/name": "wheel"})

    assert after == TEXT.replace("+5.50", "6").replace("profile: 1", "profile: 2").replace("disc", "wheel")


def test_line_ends_and_byte_order_mark_stay() -> None:
    text = "\ufeff" + TEXT.replace("\n", "\r\n")

    assert splice(text, "/note", "x\ny\n") == text.replace("  first\r\n  second\r\n", "  x\r\n  y\r\n")
    assert edit(text, {"/rapids/-": "C"}) == text.replace("    - A\r\n", "    - A\r\n  - C\r\n")


@pytest.mark.parametrize(
    ("changes", "before", "after"),
    [
        # adding
        (
            {"/tools/23": {"name": "x", "length": Decimal("1.50")}},
            "length: +5.50\n",
            "length: +5.50\n  23: {name: x, length: 1.50}\n",
        ),
        ({"/tools/21/id": "t1"}, "on: 2026-03-04}", "on: 2026-03-04, id: t1}"),
        ({"/tools/22/wear": {"new": 500}}, "length: +5.50\n", "length: +5.50\n    wear: {new: 500}\n"),
        ({"/rapids/-": ["B", "C"]}, "    - A\n", "    - A\n  - [B, C]\n"),
        ({"/rapids/2": "B"}, "    - A\n", "    - A\n  - B\n"),
        ({"/rapids/0/-": "C"}, "[X, Y]", "[X, Y, C]"),
        ({"/rapids/1/-": "C"}, "    - A\n", "    - A\n    - C\n"),
        ({"/none/a": 1}, "none: {}   # yet", "none: {a: 1}   # yet"),
        ({"/new": "a\nb\n"}, "none: {}   # yet\n", "none: {}   # yet\nnew: |\n  a\n  b\n"),
        ({"/on": "no"}, "none: {}   # yet\n", 'none: {}   # yet\non: "no"\n'),
        # removing
        ({"/tools/21": REMOVED}, "  21: {name: disc, length: 212.730, on: 2026-03-04}  # big\n", ""),
        ({"/tools/21/name": REMOVED}, "{name: disc, length", "{length"),
        ({"/tools/21/on": REMOVED}, ", on: 2026-03-04}", "}"),
        ({"/tools/22": REMOVED}, "  22:\n    name: 'brush'   # soft\n    length: +5.50\n", ""),
        ({"/tools/22/name": REMOVED}, "    name: 'brush'   # soft\n", ""),
        (
            {"/tools/22/name": REMOVED, "/tools/22/length": REMOVED},
            "22:\n    name: 'brush'   # soft\n    length: +5.50\n",
            "22: {}\n",
        ),
        ({"/rapids/0": REMOVED}, "  - [X, Y]\n", ""),
        ({"/rapids/1/0": REMOVED}, "  - - Z\n    - A\n", "  - - A\n"),
        ({"/rapids/1": REMOVED}, "  - - Z\n    - A\n", ""),
        ({"/note": REMOVED}, "note: |  # long\n  first\n  second\n", ""),
        ({"/empty": REMOVED}, "empty:\n", ""),
        # replacing
        ({"/tools/21": 5}, "{name: disc, length: 212.730, on: 2026-03-04}", "5"),
        ({"/tools/22": 5}, "  22:\n    name: 'brush'   # soft\n    length: +5.50\n", "  22: 5\n"),
        (
            {"/note": {"a": {"b": {"c": {"d": 1}}}}},
            "note: |  # long\n  first\n  second\n",
            "note:\n  a:\n    b: {c: {d: 1}}\n",
        ),
        ({"/rapids/1": ["B"]}, "  - - Z\n    - A\n", "  - [B]\n"),
        ({"/profile": [1, 2]}, "profile: 1", "profile: [1, 2]"),
        ({"/none": "a\nb\n"}, "none: {}   # yet\n", "none: |   # yet\n  a\n  b\n"),
        (
            {"/rapids/1/1": {"a": "n" * 50, "b": "m" * 50}},
            "    - A\n",
            f"    - a: {'n' * 50}\n      b: {'m' * 50}\n",
        ),
    ],
)
def test_an_edit_changes_its_lines_and_no_other(changes: dict[str, Any], before: str, after: str) -> None:
    assert TEXT.count(before) == 1

    assert edit(TEXT, changes) == TEXT.replace(before, after)


def test_a_group_below_its_name_becomes_a_value_beside_it() -> None:
    text = "tools:   # all tools\n  21: {length: 5}  # big\n  22: 6\nnote: x\n"

    assert edit(text, {"/tools": None}) == "tools: null   # all tools\nnote: x\n"


def test_a_comment_on_its_own_line_outlives_what_stood_below_it() -> None:
    assert "  # first tool\n" in edit(TEXT, {"/tools/21": REMOVED})


def test_a_new_group_beside_sisters_one_setting_a_line_is_written_so() -> None:
    text = "tools:\n  1:\n    name: disc\n"

    after = edit(text, {"/tools/2": {"name": "n" * 80, "sections": [{"from": 0, "to": 70}]}})

    assert after == text + f"  2:\n    name: {'n' * 80}\n    sections: [{{from: 0, to: 70}}]\n"


def test_pointers_name_places_in_the_text_as_given() -> None:
    text = "a: [0, 1, 2, 3]\nb: [[1], [2]]\n"

    after = edit(text, {"/a/0": REMOVED, "/a/2": REMOVED, "/a/3": 9, "/a/-": 5, "/b/0": REMOVED, "/b/1/-": 7})

    assert after == "a: [1, 9, 5]\nb: [[2, 7]]\n"


def test_a_file_without_a_last_line_end_can_grow() -> None:
    assert edit("a: 1", {"/b": 2}) == "a: 1\nb: 2\n"


def test_the_last_of_a_record_gone_leaves_an_empty_group() -> None:
    assert edit("# head\na: 1\n# tail\n", {"/a": REMOVED}) == "# head\n{}\n# tail\n"


def test_where_marks_do_not_suffice_the_second_way_is_taken() -> None:
    # The comment below would become a part of the text block.
    text = "a: 1\n     # deep\n"

    after = edit(text, {"/b": "one\ntwo\n"})

    assert loads(after) == {"a": 1, "b": "one\ntwo\n"}
    assert "# deep" in after


@pytest.mark.parametrize(
    ("changes", "error", "says"),
    [
        ({"/tools/99": REMOVED}, UnknownName, "no '99' in /tools"),
        ({"/tools/99/length": 5}, UnknownName, "no '99' in /tools"),
        ({"/profile/a": 5}, UnknownName, "/profile is a single value"),
        ({"/rapids/7": 5}, UnknownName, "no place 7 in the list /rapids: the next one is 2"),
        ({"/rapids/07": 5}, UnknownName, "'07' is no place in the list"),
        ({"/rapids/x": 5}, UnknownName, "'x' is no place in the list"),
        ({"": 5}, UsageError, "the whole of a record"),
        ({"/tools": 5, "/tools/21/name": 6}, UsageError, "/tools and /tools/21/name cannot both change"),
        ({"/tools/21": REMOVED, "/tools/21/name": 6}, UsageError, "cannot both change"),
        ({"/note": 1.5}, FormatError, "no exact spelling"),
        ({"/note": Decimal("NaN")}, FormatError, "no number that a setting can have"),
        ({"/note": "\x1b[31m"}, FormatError, "U+001B"),
        ({"/note": {1: 2}}, FormatError, "is no text"),
        ({"/note": 10**40}, FormatError, "41 digits"),
    ],
)
def test_an_edit_that_cannot_be_made_says_why(changes: dict[str, Any], error: type[Exception], says: str) -> None:
    with pytest.raises(error) as refused:
        edit(TEXT, changes)

    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("pointer", "value"), [("/tools", 5), ("/tools/21", 5), ("/profile", {"a": 1}), ("/profile", [])]
)
def test_a_splice_is_for_single_values(pointer: str, value: object) -> None:
    with pytest.raises(UsageError, match="give single values"):
        splice(TEXT, pointer, value)


def test_a_splice_adds_nothing() -> None:
    with pytest.raises(UnknownName, match="there is no 'id' in /tools/21"):
        splice(TEXT, "/tools/21/id", "x")


@pytest.mark.parametrize("change", [lambda text: splice(text, "/a", 1), lambda text: edit(text, {"/a": 1})])
def test_no_text_is_edited_that_the_strict_reader_refuses(change: Any) -> None:
    with pytest.raises(FormatError, match="refers to another place"):
        change("a: &x 1\nb: *x\n")


def test_a_refusal_names_the_file() -> None:
    with pytest.raises(FormatError, match=r"^saw-1\.yaml, line 1"):
        edit("a: no", {"/a": 1}, source="saw-1.yaml")


def test_in_a_profile_of_forty_tools_one_line_changes() -> None:
    text = FLOW.read_text(encoding="utf-8")

    after = edit(
        text, {"/tools/7/length": Decimal("18.250"), "/tools/9": REMOVED, "/tools/41": {"name": "new", "length": 5}}
    )

    gone = [line for line in text.splitlines() if line not in after.splitlines()]
    come = [line for line in after.splitlines() if line not in text.splitlines()]
    assert [line.split(":")[0].strip() for line in gone] == ["7", "9"]
    assert [line.split(":")[0].strip() for line in come] == ["7", "41"]
