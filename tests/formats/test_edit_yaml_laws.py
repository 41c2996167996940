"""What holds for every edit of every text: exactly the wanted data, and nothing else touched."""

from __future__ import annotations

import re
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from profilekeeper.formats.changed_data import REMOVED, changed
from profilekeeper.formats.edit_yaml import edit, splice_many
from profilekeeper.formats.strict_yaml import loads
from profilekeeper.formats.yaml_marks import Node, marks_of, node_at
from profilekeeper.formats.yaml_write import same
from profilekeeper.model import pointer as pointers

from . import handwritten

# A dash and its item may stand on different lines.
_DASH = re.compile(r"-\s*(?:#[^\n]*\n\s*)*\Z")
# The comment beside a | sign stays beside whatever takes the block's place.
_HEADER = re.compile(r"[|][+-]? (# block)?")
_randoms = st.randoms(use_true_random=False)


def _document(random: Random) -> tuple[Any, str]:
    found = handwritten.group(random)
    return found, handwritten.text_of(random, found)


@given(_randoms)
def test_a_handwritten_text_is_read_as_what_was_meant(random: Random) -> None:
    found, text = _document(random)

    assert same(loads(text), found), text


@given(_randoms)
def test_an_edit_gives_exactly_the_wanted_data(random: Random) -> None:
    found, text = _document(random)
    wanted = handwritten.changes(random, found)

    assert same(loads(edit(text, wanted)), changed(found, wanted))


@given(_randoms)
def test_an_edit_leaves_every_untouched_line_as_it_is(random: Random) -> None:
    found, text = _document(random)
    assume("\r" not in text)
    wanted = handwritten.changes(random, found)

    after = edit(text, wanted).removeprefix("\ufeff").split("\n")

    for line in _untouched(text.removeprefix("\ufeff"), wanted):
        assert line in after, (line, text, wanted)
        del after[: after.index(line) + 1]


@given(_randoms)
def test_a_splice_touches_only_its_values(random: Random) -> None:
    found, text = _document(random)
    leaves = [name for name, value in handwritten.places(found) if not isinstance(value, dict | list)]
    assume(leaves)
    values = {name: handwritten.scalar(random) for name in random.sample(leaves, min(3, len(leaves)))}

    after = splice_many(text, values)

    assert same(loads(after), changed(found, values))
    assert _without_values(after, values) == _without_values(text, values)


@given(_randoms)
def test_a_splice_with_the_same_value_changes_nothing(random: Random) -> None:
    found, text = _document(random)
    values = {name: value for name, value in handwritten.places(found) if not isinstance(value, dict | list)}

    assert splice_many(text, values) == text


@pytest.mark.soak
@given(_randoms)
@settings(max_examples=20_000, deadline=None)
def test_long_edits_give_exactly_the_wanted_data(random: Random) -> None:
    found, text = _document(random)
    wanted = handwritten.changes(random, found)

    assert same(loads(edit(text, wanted)), changed(found, wanted))


def _untouched(text: str, wanted: dict[str, Any]) -> list[str]:
    """The lines of a text, blank ones aside, that no change has a reason to touch."""
    root = marks_of(text)
    lines = text.split("\n")
    touched: set[int] = set()
    for start, end in _reasons(root, wanted):
        dash = _DASH.search(text, 0, start)
        start = dash.start() if dash else start
        touched.update(range(text.count("\n", 0, start), text.count("\n", 0, end) + 1))
    return [line for number, line in enumerate(lines) if number not in touched and line.strip()]


def _reasons(root: Node, wanted: dict[str, Any]) -> Iterator[tuple[int, int]]:
    """The stretches of a text that some changes have a reason to touch."""
    for name, change in wanted.items():
        above = name.rpartition("/")[0]
        parent, token = node_at(root, above), pointers.parse(name)[-1]
        yield from _flow_around(root, pointers.parse(above))
        if token not in parent.items:
            continue
        yield _stretch(parent.items[token])
        if change is REMOVED:
            inside = [node for inner, node in parent.items.items() if pointers.join(above, inner) not in wanted]
            # The last one gone leaves an empty group; the first one gone lets the next move up beside a dash.
            yield _stretch(parent) if not inside else _stretch(inside[0])


def _flow_around(root: Node, tokens: tuple[str, ...]) -> Iterator[tuple[int, int]]:
    """The outermost braces or brackets around a place: they may stand on several lines."""
    node = root
    for token in (*tokens, None):
        if node.flow:
            yield _stretch(node)
            return
        if token is not None:
            node = node.items[token]


def _stretch(node: Node) -> tuple[int, int]:
    return (node.key or node.span).start, node.span.end


def _without_values(text: str, values: dict[str, Any]) -> str:
    """The text with the values cut out, to see that all the rest is the same."""
    body = text.removeprefix("\ufeff")
    root = marks_of(body)
    spans = sorted((node_at(root, name).span for name in values), key=lambda span: span.start, reverse=True)
    for span in spans:
        comment = _HEADER.match(body, span.start)
        kept = comment.group(1) if comment and comment.group(1) else ""
        body = body[: span.start].rstrip(" ") + "?" + kept + body[span.end :].lstrip(" ")
    return body
