"""Where everything stands in a text."""

from __future__ import annotations

import pytest

from profilekeeper.errors import FormatError, UnknownName
from profilekeeper.formats import Place, locate, locate_key, positions
from profilekeeper.formats.yaml_marks import marks_of, node_at

TEXT = (
    "\ufeffé 😀: x\r\ntools:   # all\r\n  21: {length: 5, list: [1, {a: 2}]}\r\n"
    "rapids:\r\n- a\r\n-\r\n- - b\r\nempty:\r\n"
)


def test_every_value_has_its_place() -> None:
    assert {name: (place.line, place.column) for name, place in positions(TEXT).items()} == {
        "": (1, 1),
        "/é 😀": (1, 6),
        "/tools": (3, 3),
        "/tools/21": (3, 7),
        "/tools/21/length": (3, 16),
        "/tools/21/list": (3, 25),
        "/tools/21/list/0": (3, 26),
        "/tools/21/list/1": (3, 29),
        "/tools/21/list/1/a": (3, 33),
        "/rapids": (5, 1),
        "/rapids/0": (5, 3),
        "/rapids/1": (6, 2),
        "/rapids/2": (7, 3),
        "/rapids/2/0": (7, 5),
        "/empty": (8, 7),
    }


def test_a_value_and_its_name_are_located() -> None:
    assert locate(TEXT, "/tools/21/length") == Place(line=3, column=16)
    assert locate_key(TEXT, "/tools/21/length") == Place(line=3, column=8)
    assert locate_key(TEXT, "/rapids/2/0") == Place(line=7, column=5)
    assert locate(TEXT.encode(), "/tools") == Place(line=3, column=3)
    assert locate_key(TEXT, "/tools") == Place(line=2, column=1)


@pytest.mark.parametrize("pointer", ["/tools/22", "/rapids/3", "/empty/x", "/tools/21/length/0", "/rapids/-"])
def test_a_place_that_is_not_there_is_not_invented(pointer: str) -> None:
    with pytest.raises(UnknownName, match="there is no"):
        locate(TEXT, pointer)


@pytest.mark.parametrize("find", [lambda text: locate(text, "/a"), lambda text: locate_key(text, "/a"), positions])
@pytest.mark.parametrize("text", ["a: *x", "[" * 1000, "a: &x 1", ""])
def test_only_a_text_that_is_read_has_places(find: object, text: str) -> None:
    with pytest.raises(FormatError):
        find(text)  # type: ignore[operator]  # each of the three takes a text


@pytest.mark.parametrize(
    ("text", "pointer", "inside"),
    [
        ("a: |\n  x\n\n  y\n\n# c\nb: 1\n", "/a", "|\n  x\n\n  y"),
        ("a: |+\n  x\n\nb: 1\n", "/a", "|+\n  x\n"),
        ("a: >- # c\n  x\n  y\nb: 1\n", "/a", ">- # c\n  x\n  y"),
        ("a: 'x y'  # c\n", "/a", "'x y'"),
        ("a: x y  # c\n", "/a", "x y"),
        ("a:  # c\n", "/a", ""),
        ("a: {b: 1,\n  c: 2 }  # c\n", "/a", "{b: 1,\n  c: 2 }"),
        ("a:\n  b: 1\n  c: 2  # c\n# d\ne: 3\n", "/a", "b: 1\n  c: 2"),
        ("a:\n  - b\n  # c\nd: 3\n", "/a", "- b"),
    ],
)
def test_a_span_ends_with_the_value_and_not_with_its_comment(text: str, pointer: str, inside: str) -> None:
    span = node_at(marks_of(text), pointer).span

    assert text[span.start : span.end] == inside
