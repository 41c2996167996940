"""RFC 6901, JavaScript Object Notation (JSON) Pointer, April 2013: the examples of its sections 5 and 6.

Source: RFC 6901 section 5 (the example document and twelve pointers) and section 6 (the same as fragments).
"""

from __future__ import annotations

import pytest

from profilekeeper.model import pointer

# RFC 6901 section 5: the example document.
DOCUMENT: dict[str, object] = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}

# RFC 6901 section 5: pointer and the value it evaluates to.
SECTION_5: list[tuple[str, object]] = [
    ("", DOCUMENT),
    ("/foo", ["bar", "baz"]),
    ("/foo/0", "bar"),
    ("/", 0),
    ("/a~1b", 1),
    ("/c%d", 2),
    ("/e^f", 3),
    ("/g|h", 4),
    ("/i\\j", 5),
    ('/k"l', 6),
    ("/ ", 7),
    ("/m~0n", 8),
]

# RFC 6901 section 6: URI fragment identifier and the value it evaluates to.
SECTION_6: list[tuple[str, object]] = [
    ("#", DOCUMENT),
    ("#/foo", ["bar", "baz"]),
    ("#/foo/0", "bar"),
    ("#/", 0),
    ("#/a~1b", 1),
    ("#/c%25d", 2),
    ("#/e%5Ef", 3),
    ("#/g%7Ch", 4),
    ("#/i%5Cj", 5),
    ("#/k%22l", 6),
    ("#/%20", 7),
    ("#/m~0n", 8),
]


@pytest.mark.parametrize(("text", "value"), SECTION_5)
def test_each_pointer_of_section_5_evaluates_to_its_value(text: str, value: object) -> None:
    assert pointer.resolve(DOCUMENT, text) == value


@pytest.mark.parametrize("text", [text for text, _ in SECTION_5])
def test_each_pointer_of_section_5_is_written_back_as_it_was(text: str) -> None:
    assert pointer.format(pointer.parse(text)) == text


@pytest.mark.parametrize(("text", "value"), SECTION_6)
def test_each_fragment_of_section_6_evaluates_to_its_value(text: str, value: object) -> None:
    assert pointer.resolve(DOCUMENT, pointer.format(pointer.parse_fragment(text))) == value


@pytest.mark.parametrize("text", [text for text, _ in SECTION_6])
def test_each_fragment_of_section_6_is_written_back_as_it_was(text: str) -> None:
    assert pointer.format_fragment(pointer.parse_fragment(text)) == text


def test_section_4_unescapes_the_slash_before_the_tilde() -> None:
    # RFC 6901 section 4: "~01" correctly becomes "~1" after transformation.
    assert pointer.parse("/~01") == ("~1",)
