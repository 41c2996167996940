"""What holds for every text: plain data or one sentence, and no other reader takes it for other data."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from profilekeeper.errors import FormatError
from profilekeeper.formats.json_text import dumps_json, loads_json
from profilekeeper.formats.strict_yaml import _Reader, loads
from profilekeeper.formats.yaml_events import pure_events
from profilekeeper.formats.yaml_marks import positions
from profilekeeper.formats.yaml_write import same
from profilekeeper.model import pointer as pointers

from . import handwritten

_randoms = st.randoms(use_true_random=False)
# Characters that mean something to YAML, or that a slip of the keyboard or a copy brings in.
_SIGNS = [
    *"{}[],:#-?&*!|>'\"%@`=<.+~\\/ \n\t\r0123456789abeEnoyxX_", "\r\n", ": ", "- ", " #", "\n ", "\n\n", "...",
    "---", "<<", "\0", "\x07", "\x7f", "\x85", "\u2028", "\ufeff", "é", "😀", "−", "\u00a0", "\ud800",
]  # fmt: skip


def _mutated(random: Random, text: str) -> str:
    for _ in range(random.randint(1, 4)):
        at, width = random.randint(0, len(text)), random.choice([0, 0, 1, 1, 2, 20])
        new = random.choice([*_SIGNS, "", text[random.randint(0, len(text)) :][: random.randint(0, 30)]])
        text = text[:at] + new + text[at + width :]
    return text


def _by_round_trip(text: str) -> Any:
    """What ruamel.yaml's round trip reads by YAML 1.2; names as their text, dates as written, exact decimals."""
    reader = YAML(typ="rt")
    try:
        return _plain(reader.compose(text), reader.constructor)
    except (NotImplementedError, AssertionError):
        # "overlap in comment" and the like: it cannot keep the comments of this text, but can read it.
        reader = YAML(typ="safe", pure=True)
        return _plain(reader.compose(text), reader.constructor)


def _plain(node: Any, constructor: Any) -> Any:
    kind = type(node).__name__
    if kind == "MappingNode":
        return {key.value: _plain(value, constructor) for key, value in node.value}
    if kind == "SequenceNode":
        return [_plain(value, constructor) for value in node.value]
    tag = str(node.tag).rpartition(":")[2]
    if tag == "float":
        return Decimal(node.value)
    if tag in ("int", "bool", "null"):
        value = constructor.construct_object(node)
        return value if value is None else bool(value) if tag == "bool" else int(value)
    # In a folded text its round trip marks where the lines were folded.
    return str(node.value).replace("\a", "")


def _refusal(read: Callable[..., object], text: str | bytes) -> FormatError | None:
    try:
        read(text, source="a.yaml")
    except FormatError as refused:
        return refused
    return None


def _text(random: Random) -> str:
    return handwritten.text_of(random, handwritten.group(random))


@given(_randoms)
def test_both_libraries_read_the_same_values_in_a_handwritten_text(random: Random) -> None:
    text = _text(random)
    ours = loads(text)

    assert same(_by_round_trip(text), ours)


@given(_randoms)
def test_a_damaged_text_is_refused_or_read_as_every_reader_reads_it(random: Random) -> None:
    text = _mutated(random, _text(random))
    try:
        ours = loads(text)
    except FormatError:
        return

    assert same(_by_round_trip(text), ours), text


@given(_randoms)
def test_the_parser_in_python_gives_what_the_c_parser_gives(random: Random) -> None:
    text = _mutated(random, _text(random))
    try:
        ours = loads(text)
    except FormatError:
        return

    assert same(_Reader(pure_events(text.removeprefix("\ufeff")), "").document(), ours), text


@given(st.text() | st.binary() | st.lists(st.sampled_from(_SIGNS)).map("".join))
def test_any_text_or_bytes_give_data_or_one_sentence(text: str | bytes) -> None:
    for read in (loads, loads_json):
        refused = _refusal(read, text)

        assert refused is None or refused.mend
        assert refused is None or (str(refused).startswith("a.yaml") and str(refused).isprintable())
        assert refused is None or len(str(refused)) < 400


@given(_randoms)
def test_every_value_has_its_place(random: Random) -> None:
    text = _text(random)
    found = loads(text)
    places = positions(text)
    lines = text.removeprefix("\ufeff").split("\r\n" if "\r\n" in text else "\n")

    assert set(places) == {name for name, _ in handwritten.places(found)}
    for name, place in places.items():
        value = pointers.resolve(found, name)
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            written = format(value, "f") if isinstance(value, Decimal) else str(value)
            assert lines[place.line - 1][place.column - 1 :].startswith(written)


@given(_randoms)
def test_json_gives_back_what_it_was_given(random: Random) -> None:
    found = handwritten.group(random)
    indent = random.choice([None, 2])

    assert same(loads_json(dumps_json(found, indent=indent)), found)


@pytest.mark.soak
@given(_randoms)
@settings(max_examples=100_000, deadline=None)
def test_long_damaged_texts_are_refused_or_read_as_every_reader_reads_them(random: Random) -> None:
    text = _mutated(random, _text(random))
    try:
        ours = loads(text)
    except FormatError:
        return

    assert same(_by_round_trip(text), ours), text
