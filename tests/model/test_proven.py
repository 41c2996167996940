"""The record of proven parts: entries are only added, a withdrawal is one more."""

from __future__ import annotations

from typing import Any

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.model.proven import NOTHING_PROVEN, Proven, ProvenEntry, proven_data, read_proven, united_proven
from profilekeeper.model.schema import problems

TOOL = "/tools/@k7mq2fzd"


def entry(**changes: Any) -> ProvenEntry:
    values: dict[str, Any] = {
        "snapshot": "1" * 40,
        "parts": (TOOL,),
        "act": "proven",
        "by": "R. Okonjo",
        "at": "2026-03-04T10:00:00+00:00",
    }
    return ProvenEntry(**(values | changes))


def test_what_is_read_is_written_again() -> None:
    data = proven_data(Proven(entries=(entry(why="two worktops", extra={"x-a": 1}),), extra={"x-own": 1}))

    assert proven_data(read_proven(data)) == data
    assert problems("proven", data) == ()


def test_no_file_is_nothing_proven() -> None:
    assert read_proven(None) == NOTHING_PROVEN
    assert not NOTHING_PROVEN


def test_a_record_that_is_none_is_refused() -> None:
    with pytest.raises(InvalidProfile, match=r"proven.yaml: /entries/0"):
        read_proven({"proven": 1, "entries": [{"snapshot": "1" * 40}]}, source="proven.yaml")


def test_uniting_keeps_each_entry_once_oldest_first_whatever_the_zone() -> None:
    early = entry(at="2026-03-04T11:30:00+02:00")
    late = entry(at="2026-03-04T10:00:00+00:00")

    united = united_proven(Proven(entries=(late,)), Proven(entries=(late, early)))

    assert united.entries == (early, late)
    assert united == united_proven(Proven(entries=(early,)), Proven(entries=(late,)))


def test_an_entry_covers_its_parts_and_all_inside_them() -> None:
    assert entry().covers(f"{TOOL}/length")
    assert not entry().covers("/tools/@k7mq2fzdx/length")
    assert entry(parts=("",)).covers("/tables/main/surface")


def test_the_last_proven_of_a_setting_is_the_latest_not_withdrawn() -> None:
    first = entry(at="2026-03-01T10:00:00+00:00")
    second = entry(snapshot="2" * 40, at="2026-03-02T10:00:00+00:00")
    withdrawn = entry(snapshot="2" * 40, act="withdrawn", at="2026-03-03T10:00:00+00:00")
    proven = Proven(entries=()).with_entry(second).with_entry(first)

    assert proven.last_proven(f"{TOOL}/length") == second
    assert proven.with_entry(withdrawn).last_proven(f"{TOOL}/length") == first
    assert proven.last_proven("/tables/main/surface") is None


def test_a_part_proven_again_after_its_withdrawal_is_proven() -> None:
    again = entry(at="2026-03-05T10:00:00+00:00")
    proven = Proven(entries=(entry(), entry(act="withdrawn", at="2026-03-04T12:00:00+00:00"), again))

    assert proven.last_proven(TOOL) == again


def test_a_moment_that_cannot_be_read_stands_first() -> None:
    assert (
        united_proven(Proven(entries=(entry(),)), Proven(entries=(entry(at="in spring"),))).entries[0].at == "in spring"
    )
