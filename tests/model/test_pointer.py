"""The name of one setting: reading, writing and following it."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilekeeper.errors import UnknownName
from profilekeeper.model import pointer

DATA: dict[str, object] = {"tools": {"21": {"length": 1}}, "axes": [{"Z": 2}, {}], "notes": []}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("tools/21", "starts with /"),
        ("/a~2b", "~0 for ~"),
        ("/a~", "~0 for ~"),
        ("/tools/22", "no '22' in /tools, which has 21"),
        ("/tools/21/length/0", "single value"),
        ("/axes/2", "no place 2 in the list /axes, which has 2"),
        ("/axes/00", "write 0, 1, 2"),
        ("/axes/-", "write 0, 1, 2"),
        ("/axes/-1", "write 0, 1, 2"),
        ("/axes/+1", "write 0, 1, 2"),
        ("/axes/٣", "write 0, 1, 2"),
        ("/axes/999999999999999999999999999", "write 0, 1, 2"),
        ("/nothing", "in the document, which has tools, axes, notes"),
    ],
)
def test_a_name_that_leads_nowhere_says_why(text: str, says: str) -> None:
    with pytest.raises(UnknownName) as caught:
        pointer.resolve(DATA, text)

    assert says in str(caught.value)


def test_a_very_long_step_is_shortened_in_the_sentence() -> None:
    with pytest.raises(UnknownName) as caught:
        pointer.resolve(DATA, "/" + "x" * 10_000)

    assert len(str(caught.value)) < 200


def test_a_tool_number_is_found_by_its_text() -> None:
    assert pointer.resolve(DATA, "/tools/21/length") == 1


def test_a_prefix_goes_by_whole_steps() -> None:
    assert pointer.is_prefix("/tools/2", "/tools/2")
    assert pointer.is_prefix("/tools/2", "/tools/2/length")
    assert pointer.is_prefix("", "/tools/2")
    assert not pointer.is_prefix("/tools/2", "/tools/21")
    assert not pointer.is_prefix("/tools/2/length", "/tools/2")


def test_join_escapes_what_it_adds() -> None:
    assert pointer.join("/pages", "X/Y ~", 3) == "/pages/X~1Y ~0/3"


def test_walk_names_every_leaf_and_every_empty_place() -> None:
    assert list(pointer.walk(DATA)) == [
        ("/tools/21/length", 1),
        ("/axes/0/Z", 2),
        ("/axes/1", {}),
        ("/notes", []),
    ]


def test_walk_of_a_single_value_is_that_value() -> None:
    assert list(pointer.walk(5)) == [("", 5)]


@pytest.mark.parametrize("text", ["/a", "a", ""])
def test_a_fragment_starts_with_a_hash(text: str) -> None:
    with pytest.raises(UnknownName, match="starts with #"):
        pointer.parse_fragment(text)


def test_a_fragment_of_broken_utf_8_is_refused() -> None:
    with pytest.raises(UnknownName, match="UTF-8"):
        pointer.parse_fragment("#/%ff")


@given(st.lists(st.text()))
def test_tokens_survive_being_written_and_read(tokens: list[str]) -> None:
    assert pointer.parse(pointer.format(tokens)) == tuple(tokens)


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]))))
def test_tokens_survive_being_written_and_read_as_a_fragment(tokens: list[str]) -> None:
    assert pointer.parse_fragment(pointer.format_fragment(tokens)) == tuple(tokens)


@given(st.text())
def test_any_text_is_a_pointer_or_is_refused_in_one_sentence(text: str) -> None:
    is_pointer = text == "" or (text.startswith("/") and not re.search("~(?![01])", text))

    if is_pointer:
        assert pointer.format(pointer.parse(text)) == text
    else:
        with pytest.raises(UnknownName, match="names no setting"):
            pointer.parse(text)


_plain = st.recursive(
    st.integers(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)


@given(_plain)
def test_every_walked_leaf_is_found_again_by_its_pointer(data: object) -> None:
    for name, leaf in pointer.walk(data):
        assert pointer.resolve(data, name) == leaf
