"""The door to PyYAML: what its complaints become."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
import yaml
from yaml.reader import ReaderError

from profilekeeper.formats.yaml_events import c_events, in_plain_words, pure_events

BROKEN = [
    "a: [",
    "a: {",
    "a: 'x",
    'a: "x',
    'a: "\\q"',
    'a: "\\x4"',
    'a: "\\ud8zz"',
    "a: b: c",
    "a: @b",
    "a: %b",
    "a: `b",
    "- a\nb: c",
    "a: - b",
    "a:\n\t- b",
    "a: |x\n  b",
    "a: |0\n  b",
    "a: &",
    "a: *",
    "a: !<x",
    "a: !x!y z",
    "a: ]",
    "a: }",
    "{a: 1",
    "a\nb: c",
    "'a' b",
    "a: 'b' c",
    "%YAML 9.9\n---\na: 1",
    "%YAML\n---\n",
    "[a,,b]",
    "a: ,",
    "...\na: b",
    "a: b\n...\nc: d\n---\n",
    "[" * 2000,
    "a: 'x\n---\n'",
    "--- a\nb: c",
    "a:\n  - b\n c: d",
    "a: {b\n: c}",
    "a" * 2000 + ": b",
]


def _read_all(events_of: Callable[[str], Callable[[], Any]], text: str) -> None:
    next_event = events_of(text)
    while next_event() is not None:
        pass


@pytest.mark.parametrize("events_of", [c_events, pure_events])
@pytest.mark.parametrize("text", BROKEN)
def test_no_complaint_keeps_the_parsers_own_words(text: str, events_of: Callable[[str], Callable[[], Any]]) -> None:
    with pytest.raises(yaml.YAMLError) as complaint:
        _read_all(events_of, text)

    error = in_plain_words(complaint.value, text, "f.yaml")

    assert "this is no YAML" not in error.what
    assert error.line >= 1
    assert error.mend


def test_an_unknown_complaint_is_passed_on_with_its_place() -> None:
    mark = yaml.Mark("", 5, 0, 5, "a: b", 5)
    error = in_plain_words(yaml.scanner.ScannerError(None, None, "the moon is full", mark), "a: b, c", "f.yaml")

    assert str(error).startswith("f.yaml, line 1, column 6: this is no YAML (the moon is full); compare")


def test_a_complaint_about_a_character_has_its_place() -> None:
    error = in_plain_words(
        ReaderError("", 5, ord("x"), "utf-8", "special characters are not allowed"), "a: b\nc", "f.yaml"
    )

    assert str(error) == "f.yaml, line 2, column 1: an invisible character stands here; delete it"
