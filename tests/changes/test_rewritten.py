"""What differs inside a list that was rewritten."""

from __future__ import annotations

from decimal import Decimal as D

from profilekeeper.changes import changes_between, inside

from .built import Data, changed, put, read, record


def differences(before: Data, after: Data) -> list[tuple[str, str, str]]:
    one, other = read(before), read(after)
    return [(i.title, i.before, i.after) for change in changes_between(one, other) for i in inside(change, one, other)]


def test_a_corner_put_in_between_is_one_difference() -> None:
    after = changed(record(), lambda d: d["tables"]["main"]["outline"].insert(1, [450, -20]))

    assert differences(record(), after) == [("table main: outline, corner 2", "", "450 mm, -20 mm")]


def test_items_are_aligned_by_value_whatever_the_unit() -> None:
    before = changed(record(), put("tools/4/sections", [{"from": 0, "to": D("50.80"), "radius": 40}]))
    longer = [{"from": -5, "to": 0, "radius": 9}, {"from": 0, "to": "2 in", "radius": "4 cm"}]

    found = differences(before, changed(before, put("tools/4/sections", longer)))

    assert found == [("tool 4 brush: section 1", "", "from -5 mm, to 0 mm, radius 9 mm")]


def test_what_is_gone_is_told_from_the_earlier_version() -> None:
    after = changed(record(), lambda d: d["tables"]["main"]["outline"].append([0, 500]))

    assert differences(after, record()) == [("table main: outline, corner 4", "0 mm, 500 mm", "")]


def test_free_branches_are_compared_key_by_key() -> None:
    before, after = record(**{"x-own": {"a": [1], "b": {"c": 1}}}), record(**{"x-own": {"a": [1, 2], "b": {"c": 1}}})

    assert differences(before, after) == [("x-own: a, 1", "", "2")]


def test_a_single_value_has_nothing_inside() -> None:
    assert differences(record(), changed(record(), put("tools/4/length", 1))) == []
