"""Changes made to other data than those compared are refused; a choice of them is made."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal as D

import pytest

from profilekeeper.changes import REMOVED, apply, changes_between, edits_of
from profilekeeper.errors import ChangeDoesNotFit

from .built import changed, drop, put, read, record, renumber


def test_a_choice_of_lines_is_made_without_the_others() -> None:
    after = changed(record(), renumber("4", "7"), put("tools/7/length", D("118.0")), put("tables/main/surface", -331))
    changes = changes_between(read(record()), read(after))

    chosen = [change for change in changes if change.title.endswith("length")]

    assert apply(record(), chosen) == changed(record(), put("tools/4/length", D("118.0")))


def test_tools_that_change_places_do() -> None:
    after = changed(record(), lambda d: d["tools"].update({"4": d["tools"]["9"], "9": d["tools"]["4"]}))

    assert apply(record(), changes_between(read(record()), read(after))) == after


def test_a_change_is_refused_where_another_value_stands() -> None:
    changes = changes_between(read(record()), read(changed(record(), put("tools/4/length", D("118.0")))))

    with pytest.raises(
        ChangeDoesNotFit, match=r"/tools/4/length: the change expects 119\.800 there, but 119\.9 is there"
    ):
        apply(changed(record(), put("tools/4/length", D("119.9"))), changes)


def test_a_new_tool_is_refused_under_a_number_that_is_taken() -> None:
    changes = changes_between(read(record()), read(changed(record(), put("tools/21", {"name": "polisher"}))))

    with pytest.raises(ChangeDoesNotFit, match="/tools/21"):
        apply(changed(record(), put("tools/21", {"name": "drill"})), changes)


def test_edits_name_the_earlier_text_and_give_a_list_whole() -> None:
    crash = {"kind": "crash", "date": "2026-02-02"}
    after = changed(record(), put("tools/4/length", D("118.0")), drop("tools/9"), lambda d: d["events"].append(crash))
    changes = changes_between(read(record()), read(after))

    edits = edits_of(changes)

    assert edits == {"/tools/4/length": D("118.0"), "/tools/9": REMOVED, "/events": [*record()["events"], crash]}
    fewer = replace(changes, all=tuple(c for c in changes if c.group == "tools"))
    assert edits_of(fewer) == {"/tools/4/length": D("118.0"), "/tools/9": REMOVED}
