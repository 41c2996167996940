"""Whether data satisfies a schema, and in which words it does not."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.model import Problem, is_valid, problems, refuse

SMALL: dict[str, Any] = {
    "profile": 2,
    "machine": {"name": "saw-2", "shop": "quayside"},
    "units": {"length": "mm"},
}


def one(**more: Any) -> Problem:
    (found,) = problems("profile", {**SMALL, **more})
    return found


def test_a_name_and_a_unit_are_enough() -> None:
    assert is_valid("profile", SMALL)
    assert problems("profile", SMALL) == ()


@pytest.mark.parametrize("missing", ["machine", "units"])
def test_what_is_missing_is_named(missing: str) -> None:
    (found,) = problems("profile", {k: v for k, v in SMALL.items() if k != missing})

    assert (found.pointer, found.message) == ("", f"{missing} is missing")


def test_a_slip_of_the_pen_in_a_key_is_answered_with_the_key_meant() -> None:
    found = one(tools={"4": {"lenght": 119}})

    assert found.pointer == "/tools/4/lenght"
    assert found.unknown_key == "lenght"
    assert "did you mean length?" in found.message


def test_a_key_that_is_like_none_is_answered_with_those_known() -> None:
    assert "known here: height, kind" in one(supports={"pods": {"kind": "pods", "zzzz": 1}}).message


def test_keys_of_ones_own_are_free() -> None:
    assert is_valid("profile", {**SMALL, "x-shop": 1, "tools": {"4": {"x-colour": "red"}}})


@pytest.mark.parametrize(
    ("more", "pointer", "words"),
    [
        ({"axes": {"X": {"travel": [0]}}}, "/axes/X/travel", "1 given, at least 2 wanted"),
        ({"axes": {"X": {"travel": [0, 1, 2]}}}, "/axes/X/travel", "more is given than wanted"),
        ({"axes": {"x": {}}}, "/axes", "'x' cannot be a name here"),
        ({"tools": {"021": {}}}, "/tools", "'021' cannot be a name here"),
        ({"tools": {"4": {"length": True}}}, "/tools/4/length", "wanted a number or a text"),
        ({"tools": {"4": {"kind": "saw"}}}, "/tools/4/kind", "none of the words known here: blade, disc"),
        ({"tools": {"4": []}}, "/tools/4", "a list"),
        ({"events": [{"kind": "crash"}]}, "/events/0", "date is missing"),
        ({"events": [{"kind": "crash", "date": "4.3.2026"}]}, "/events/0/date", "has not the form wanted"),
        ({"positions": {"p": {"X": 1}}}, "/positions/p", "frame, tool_length_active are missing"),
        ({"control_pages": {"p": {"settings": {"L": {}}}}}, "/control_pages/p/settings/L", "state, value is missing"),
        ({"units": {"length": "cm"}}, "/units/length", "mm, in"),
    ],
)
def test_every_refusal_says_where_and_what(more: dict[str, Any], pointer: str, words: str) -> None:
    found = problems("profile", {**SMALL, **more})

    assert [p.pointer for p in found] == [pointer]
    assert words in found[0].message


def test_all_problems_are_told_in_the_order_of_the_file() -> None:
    data = {**SMALL, "tools": {"4": {"length": True}, "7": {"kind": "saw"}}, "axes": {"X": {"kind": "bent"}}}

    assert [p.pointer for p in problems("profile", data)] == ["/tools/4/length", "/tools/7/kind", "/axes/X/kind"]


def test_exact_decimals_are_numbers() -> None:
    assert is_valid("profile", {**SMALL, "tools": {"4": {"length": Decimal("21.700")}}})


def test_a_refusal_is_one_sentence_with_all_problems_inside() -> None:
    data = {**SMALL, "tools": {"4": {"length": True}, "7": {"length": True}}}

    with pytest.raises(InvalidProfile, match=r"^saw\.yaml: /tools/4/length: .*\(and 1 more\)$") as refusal:
        refuse("profile", data, "saw.yaml")
    assert len(refusal.value.problems) == 2


def test_what_is_sound_is_not_refused() -> None:
    refuse("profile", SMALL, "saw.yaml")


RULE = {"rules_version": 1, "rules": {"life": {"kind": "limit", "setting": "/tables/main/surface", "at_least": -470}}}


@pytest.mark.parametrize(
    ("rule", "good"),
    [
        ({"kind": "limit", "setting": "/a", "at_least": 1}, True),
        ({"kind": "limit", "setting": "/a"}, True),
        ({"kind": "limit", "at_least": 1}, False),
        ({"kind": "step", "setting": "/a", "largest": 1}, True),
        ({"kind": "step", "setting": "/a"}, False),
        ({"kind": "travel"}, True),
        ({"kind": "formula"}, False),
        ({"kind": "limit", "setting": "tools/4", "at_least": 1}, False),
        ({}, False),
    ],
)
def test_a_rule_says_its_kind_and_what_that_needs(rule: dict[str, Any], good: bool) -> None:
    assert is_valid("rules", {"rules_version": 1, "rules": {"r": rule}}) is good
    assert is_valid("profile", {**SMALL, "rules": {"r": rule}}) is good


def test_a_machine_may_switch_a_rule_off_and_a_shared_file_may_not() -> None:
    assert is_valid("profile", {**SMALL, "rules": {"travel": None}})
    assert not is_valid("rules", {"rules_version": 1, "rules": {"travel": None}})
