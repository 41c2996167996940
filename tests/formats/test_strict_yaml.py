"""The strict reader: what is read, what is refused and in which words, and that bombs cost nothing."""

from __future__ import annotations

import time
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
import yaml

from profilekeeper.errors import FormatError
from profilekeeper.formats import MAX_BYTES, loads
from profilekeeper.formats.limits import MAX_DEPTH, MAX_KEY, MAX_NODES
from profilekeeper.formats.strict_yaml import _Reader
from profilekeeper.formats.yaml_events import has_c_parser, next_event_of, pure_events
from profilekeeper.formats.yaml_write import same
from profilekeeper.resources import shipped

EXAMPLES = Path(__file__).resolve().parents[1] / "examples" / "formats"
GOOD = sorted([*(EXAMPLES / "good").glob("*.yaml"), *shipped("shop_profiles").rglob("*.yaml")])


def test_the_c_parser_is_there() -> None:
    # Without it every read is some eight times slower, and nothing else would say so.
    assert has_c_parser()


@pytest.mark.parametrize("path", GOOD, ids=lambda path: "/".join(path.parts[-3:]))
def test_a_good_example_is_read_the_same_by_both_parsers(path: Path) -> None:
    text = path.read_text(encoding="utf-8")

    found = loads(text, source=path.name)

    assert isinstance(found, dict)
    assert same(_Reader(pure_events(text), path.name).document(), found)


def test_a_text_becomes_plain_exact_data_in_file_order() -> None:
    text = "b: 21.700\na: [-480, +5, .5000, true, null, ~, '', x]\nc: {on: 2026-03-04, 21: {Y: Y}}\nd:\n"

    found = loads(text)

    assert isinstance(found, dict)
    assert list(found) == ["b", "a", "c", "d"]
    assert str(found["b"]) == "21.700"
    assert found["a"] == [-480, 5, Decimal("0.5"), True, None, None, "", "x"]
    assert found["c"] == {"on": "2026-03-04", "21": {"Y": "Y"}}
    assert found["d"] is None


def test_keys_are_text_whatever_they_look_like() -> None:
    text = "1: a\n1.0: b\n010: c\ntrue: d\nnull: e\non: f\n'': g\n2026-01-02: h\n"

    assert loads(text) == dict(
        zip(["1", "1.0", "010", "true", "null", "on", "", "2026-01-02"], "abcdefgh", strict=True)
    )


def test_whole_numbers_are_int_and_never_float() -> None:
    found = loads("[1, 1.0, -0, 123456789012345678901234567890]")

    assert isinstance(found, list)
    assert [type(value) for value in found] == [int, Decimal, int, int]
    assert found[3] == 123456789012345678901234567890


@pytest.mark.parametrize(
    "text",
    ["a: 1\n", b"a: 1\n", "\ufeffa: 1\n", b"\xef\xbb\xbfa: 1\n", "---\na: 1\n", "a: 1\n...\n", "a: 1\r\n", "# c\na: 1"],
)
def test_marks_around_a_document_are_no_part_of_it(text: str | bytes) -> None:
    assert loads(text) == {"a": 1}


@pytest.mark.parametrize(
    ("text", "place", "says", "mend"),
    [
        ("a: 1\nb: {x: 1, x: 2}", "line 2, column 11", "the name x stands twice", "keep one"),
        ("a: 1\n'a': 2", "line 2, column 1", "the name a stands twice", "keep one"),
        ("a: &x 1", "line 1, column 4", "&x refers to another place", "write the value itself"),
        ("&x a: 1", "line 1, column 1", "&x refers", "write the value itself"),
        ("a: &x {b: 1}", "line 1, column 4", "&x refers", "write the value itself"),
        ("a: 1\nb: *a", "line 2, column 4", "*a refers to another place", "write the value itself"),
        ("*a : 1", "line 1, column 1", "*a refers", "write the value itself"),
        ("a: !!str 1", "line 1, column 4", "a tag", "quotes"),
        ("a: !thing [1]", "line 1, column 4", "a tag", "quotes"),
        ("a: ! 1", "line 1, column 4", "a tag", "quotes"),
        ("!!str a: 1", "line 1, column 1", "a tag", "quotes"),
        ("a: !!python/object/apply:os.system ['x']", "line 1, column 4", "a tag", "quotes"),
        ("<<: {a: 1}", "line 1, column 1", "merge key <<", "write the settings themselves"),
        ("? [1, 2]\n: 3", "line 1, column 3", "a list or a group stands where a name belongs", "plain text"),
        ("{[1]: 2}", "line 1, column 2", "a list or a group stands where a name belongs", "plain text"),
        ("? a\n: b", "line 1, column 1", "question mark", "name: value"),
        ("'a': 1\n: 1", "line 2, column 1", "do not line up", "same column"),
        ("?\n: 1", "line 1, column 2", "a name is missing", "name: value"),
        ("{: 1}", "line 1, column 2", "a value is missing", "null"),
        ("a: 1\n---\nb: 2", "line 2, column 1", "a second document", "its own file"),
        ("%YAML 1.1\n---\na: 1", "line 1, column 1", "begins with %", "remove"),
        ("%TAG ! tag:x,2000:\n---\na: 1", "line 1, column 1", "begins with %", "remove"),
        ("a:\tb", "line 1, column 3", "a tab", "use spaces"),
        ("a: b\tc", "line 1, column 5", "a tab", "use spaces"),
        ("a: 1\t# c", "line 1, column 5", "a tab", "use spaces"),
        ("a: |\t\n  b", "line 1, column 4", "a text block", "no tab"),
        ("a: |\n \n  b", "line 1, column 4", "a text block", "no spaces in an empty line"),
        ("[b?]", "line 1, column 3", "a question mark", "quotes"),
        ("a:\n\tb: 1", "line 2, column 1", "a tab", "use spaces"),
        ("a: 'x", "line 1, column 4", "ends inside quotes", "close the quotes"),
        ("a: [1, 2\n", "line 1, column 4", "a bracket", "write [1, 2]"),
        ("a: {x: 1\n", "line 1, column 4", "a brace", "write {a: 1"),
        ("a: 1\n  b: 2", "line 1, column 4", "goes on in the next line", "wrong indent"),
        ("a: b: c", "line 1, column 5", "second colon", "quotes"),
        ("a: @x", "line 1, column 4", "cannot begin with this character", "quotes"),
        ('a: "\\q"', "line 1, column 5", "backslash", "single quotes"),
        ("- a\nb: 1", "line 2, column 1", "does not begin with -", "same column"),
        ("a: one\n  two", "line 1, column 4", "goes on in the next line", "missing colon"),
        ("{X: 12,5, Y: 3}", "line 1, column 8", "after a comma in braces stands 5 alone", "12.5"),
        ("{a, b: 1}", "line 1, column 2", "the name a has no value", "name: null"),
        ("[a: 1, b: 2]", "line 1, column 2", "in brackets", "{name: value}"),
        ("a: 1\r\rb: 2", "line 1, column 5", "carriage return", "line ends"),
        ("a: |#c\n  x", "line 1, column 4", "a text block", "space before"),
        ("a: \0", "line 1, column 4", "U+0000", "delete it"),
        ("a: \x07", "line 1, column 4", "U+0007", "delete it"),
        ("é: \u2028", "line 1, column 4", "U+2028", "delete it"),
        ("a: \ud800", "line 1, column 4", "U+D800", "delete it"),
        ('a: "\\e[31mred"', "line 1, column 4", "U+001B", "backslash code"),
        ('"\\0": 1', "line 1, column 1", "U+0000", "backslash code"),
        (b"a: 1\nb: \xff", "line 2, column 4", "0xFF here is not UTF-8", "save the file as UTF-8"),
        ("a: 1".encode("utf-16"), "line 1, column 1", "UTF-16", "save the file as UTF-8"),
        ("a: 12:30", "line 1, column 4", "a time to some readers", '"12:30" in quotes'),
        ("[[no]]", "line 1, column 3", "is false to some readers", "false for no"),
        ("x" * (MAX_KEY + 1) + ": 1", "line 1, column 1", f"a name of {MAX_KEY + 1} characters", f"at most {MAX_KEY}"),
        ("", "f.yaml: the file is empty", "", "write something"),
        (" \n \n", "f.yaml: the file is empty", "", "write something"),
        ("# only\n# comments\n", "line 3, column 1", "nothing but comments", "remove it"),
        ("---\n", "line 2, column 1", "no value", "remove it"),
    ],
)
def test_what_could_mean_two_things_is_refused_with_its_place(
    text: str | bytes, place: str, says: str, mend: str
) -> None:
    with pytest.raises(FormatError) as refused:
        loads(text, source="f.yaml")

    sentence = str(refused.value)
    assert sentence.startswith("f.yaml")
    for part in (place, says, mend):
        assert part in sentence


def test_a_refusal_carries_its_fields() -> None:
    with pytest.raises(FormatError) as refused:
        loads("a: 1\nb: no\n", source="SHOP/saw-1/profile.yaml")

    error = refused.value
    assert (error.source, error.line, error.column) == ("SHOP/saw-1/profile.yaml", 2, 4)


@pytest.mark.parametrize("text", [": 1", "a: {: 1}"])
def test_a_missing_name_is_refused_by_the_other_parser_too(text: str) -> None:
    with pytest.raises((FormatError, yaml.YAMLError)):
        _Reader(pure_events(text), "").document()


@pytest.mark.parametrize(
    "text",
    [
        "a: what?",
        "a: 'x\ty'",
        "a: 1 # a\ttab?",
        "a: |\n  x\ty?\n",
        "a: a#b",
        "a: -b",
        "a: 'no'",
        'a: "010"',
        "a: >-\n  x\n",
    ],
)
def test_signs_inside_texts_and_comments_are_no_matter(text: str) -> None:
    assert loads(text)


def test_the_greatest_depth_is_read_and_one_more_is_refused() -> None:
    assert loads("[" * MAX_DEPTH + "]" * MAX_DEPTH) is not None
    with pytest.raises(FormatError, match="levels lie inside one another"):
        loads("[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1))


def test_the_greatest_number_of_values_is_read_and_one_more_is_refused() -> None:
    assert loads("[" + "1," * MAX_NODES + "]") is not None
    with pytest.raises(FormatError, match="more than 200,000 values"):
        loads("[" + "1," * (MAX_NODES + 1) + "]")


@pytest.mark.parametrize("size", [MAX_BYTES + 1, 50_000_000])
def test_a_huge_text_is_refused_by_its_size_alone(size: int) -> None:
    with pytest.raises(FormatError, match="bytes are too many"):
        loads(b"x" * size)


def test_size_counts_bytes_and_not_characters() -> None:
    with pytest.raises(FormatError, match="bytes are too many"):
        loads("a: " + "é" * (MAX_BYTES // 2 + 1))


BOMBS = {
    "aliases": "a: &a [x, x, x, x]\n" + "".join(f"{n}: &{n} [*{p}, *{p}]\n" for p, n in pairwise("abcdefghij")),
    "merge keys": "a: &a {x: 1}\nb: &b {<<: [*a, *a, *a]}\nc: {<<: [*b, *b, *b]}\n",
    "a cycle": "a: &a [*a]",
    "1,000 brackets": "[" * 1_000,
    "100,000 brackets": "[" * 100_000,
    "3,000 braces": "{a: " * 3_000,
    "3,000 nested lines": "".join(" " * depth + "a:\n" for depth in range(1_400)),
    "dashes": "- " * 500_000,
    "200,000 keys": "".join(f"k{number}: {number}\n" for number in range(200_000)),
    "a million digits": "a: " + "1" * 1_000_000,
    "a million signs of a tag": "!" * 1_000_000,
    "anchors": "&a " * 300_000,
    "question marks": "? " * 400_000,
    "a long key": "a" * 1_000_000 + ": 1",
    "documents": "---\n" * 250_000,
    "tabs": "a: 1" + "\t" * 500_000,
    "one key again and again": "{" + "a: 1, " * 150_000 + "}",
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_at_once(name: str) -> None:
    start = time.process_time()
    with pytest.raises(FormatError):
        loads(BOMBS[name])
    spent = time.process_time() - start

    # Most take a millisecond or two; the longest are a megabyte looked through once.
    assert spent < 0.5


@pytest.mark.parametrize("unit", ["1", "1_", "1,", "1.", "1:", "1e5", ".", "-", "+", "−", "0", "0x", "a#", "12:"])
@pytest.mark.parametrize("ending", ["", "e5", "_", ",", ":", "x", "."])
def test_no_row_of_digits_takes_long(unit: str, ending: str) -> None:
    text = "a: x" + "\nb: " + unit * 100_000 + ending
    start = time.process_time()
    try:
        loads(text)
    except FormatError as refused:
        assert len(str(refused)) < 400  # noqa: PT017 - either outcome will do, only the time counts
    assert time.process_time() - start < 0.5


def test_events_come_from_the_c_parser() -> None:
    assert type(next_event_of("a: 1").__self__).__module__ == "yaml._yaml"  # type: ignore[attr-defined]  # a bound method
