"""Older profiles brought to the present format, in memory only."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.formats import loads
from profilekeeper.model import is_valid, migrated, read_profile, version_of
from profilekeeper.quantities import parse_length

OLD: Any = loads("""
profile: 1
machine: {name: saw-2, shop: quayside}
units: {length: mm}
table: {surface: -455.2}
work_offsets: {G54: {X: 120.5}}
tool_changes: {default: {X: 1800, Z: 0, A: 0}}
setups: {disc: {tool_change: {X: 1, Z: 0}}}
tools: {"21": {length: 212.730, touched_off: {Z: -213.2, surface: -455.2, thickness: 29.3, on: 2026-03-04}}}
sources: {/table/surface: {how: measured, on: 2026-03-04}, /tools/21/touched_off/on: {how: read}}
rules: {life: {kind: limit, setting: /table/surface, at_least: -470}, travel: null}
agreement: {/tools/*/touched_off: own}
moved: {/table/surface_limit: /table/surface}
""")


def test_one_table_becomes_the_main_one_and_dates_are_called_so() -> None:
    new = migrated(OLD)

    assert new["tables"] == {"main": {"surface": OLD["table"]["surface"]}}
    assert new["tools"]["21"]["touch_off"]["date"] == "2026-03-04"
    assert "table" not in new
    assert "touched_off" not in new["tools"]["21"]


def test_positions_say_that_they_were_machine_readings_of_the_nose() -> None:
    new = migrated(OLD)

    for place in (new["tool_changes"]["default"], new["work_offsets"]["G54"], new["setups"]["disc"]["tool_change"]):
        assert (place["frame"], place["tool_length_active"]) == ("machine", False)


def test_names_of_settings_inside_the_file_follow() -> None:
    new = migrated(OLD)

    assert set(new["sources"]) == {"/tables/main/surface", "/tools/21/touch_off/date"}
    assert new["sources"]["/tables/main/surface"]["date"] == "2026-03-04"
    assert new["rules"]["life"]["setting"] == "/tables/main/surface"
    assert new["rules"]["travel"] is None
    assert set(new["agreement"]) == {"/tools/*/touch_off"}
    assert new["moved"] == {"/tables/main/surface_limit": "/tables/main/surface"}


def test_what_comes_out_satisfies_the_present_schema_and_what_went_in_is_untouched() -> None:
    before = deepcopy(OLD)

    assert is_valid("profile-1", OLD)
    assert is_valid("profile", migrated(OLD))
    assert before == OLD


def test_an_old_file_is_read_and_says_so() -> None:
    profile = read_profile(OLD)

    assert profile.value("/tables/main/surface") == parse_length("-455.2 mm")
    assert profile.version == (1, 0)
    assert "format 1" in profile.notices[0]


def test_the_present_format_is_left_as_it_is() -> None:
    data = {"profile": 2, "machine": {"name": "s", "shop": "q"}, "units": {"length": "mm"}}

    assert migrated(data) == data


@pytest.mark.parametrize(("text", "version"), [("2", (2, 0)), ("2.1", (2, 1)), ("2.10", (2, 10)), ("1", (1, 0))])
def test_the_version_is_read_as_written(text: str, version: tuple[int, int]) -> None:
    assert version_of(loads(f"profile: {text}")) == version


@pytest.mark.parametrize("text", ["profile: 3", "profile: 0", 'profile: "2"', "profile: true", "machine: {}", "[]"])
def test_a_file_of_no_known_version_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(InvalidProfile, match=r"saw\.yaml: /profile"):
        version_of(loads(text), "saw.yaml")
