"""What a comparison of two versions says, as a technician would."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal as D

import pytest

from profilekeeper.changes import Change, Changes, changes_between
from profilekeeper.model.identity import match_sisters
from profilekeeper.quantities import LengthUnit

from .built import Data, changed, drop, put, read, record, renumber
from .generated import switched


def between(before: Data, after: Data, **options: object) -> Changes:
    return changes_between(read(before), read(after), **options)  # type: ignore[arg-type]


def only(changes: Changes) -> Change:
    assert len(changes) == 1, [str(change) for change in changes]
    return changes.all[0]


def test_a_milled_table_is_one_line_with_its_delta_and_bears_on_clearance() -> None:
    change = only(between(record(), changed(record(), put("tables/main/surface", D("-331.5")))))

    assert change.title == "table main: table height"
    assert (change.kind, change.group, change.geometry, change.agreement) == ("changed", "tables", True, "wears")
    assert (change.before_text, change.after_text, change.delta_text) == ("-330.0 mm", "-331.5 mm", "-1.5 mm")
    assert {"table", "Z reference"} <= set(change.hangs_on)


@pytest.mark.parametrize(
    ("after", "kind"),
    [
        (D("119.80"), "notation"),
        ("119.8 mm", "notation"),
        ("11.98 cm", "notation"),
        (D("119.8005"), "rounded"),
        (D("119.8006"), "changed"),
    ],
    ids=["zeros", "own unit", "other unit", "half a step", "more than half a step"],
)
def test_one_length_is_equal_rounded_or_changed(after: object, kind: str) -> None:
    change = only(between(record(), changed(record(), put("tools/4/length", after))))

    assert change.kind == kind
    assert change.is_of_value is (kind == "changed")


def test_the_coarser_resolution_of_the_two_versions_counts() -> None:
    after = changed(record(), put("resolution/length", D("0.01")), put("tools/4/length", D("119.805")))

    kinds = {change.pointer: change.kind for change in between(record(), after)}

    assert kinds == {"/resolution/length": "changed", "/tools/4/length": "rounded"}


def test_without_a_resolution_nothing_is_called_the_same_that_is_not() -> None:
    bare = changed(record(), drop("resolution"))

    change = only(between(bare, changed(bare, put("tools/4/length", D("119.80001")))))

    assert change.kind == "changed"


def test_a_switch_to_inches_changes_no_value_and_is_said_once() -> None:
    after = changed(record(), switched)

    changes = between(record(), after)

    assert after["units"]["length"] == "in"
    assert changes.of_value == ()
    assert [n for n in changes.notices if "inches instead of millimetres" in n] == list(changes.notices)


def test_a_switch_that_forgets_to_rewrite_the_numbers_changes_every_length() -> None:
    changes = between(record(), changed(record(), put("units/length", "in")))

    assert {"/tools/4/length", "/tables/main/surface"} <= {change.pointer for change in changes.of_value}


def test_inches_rounded_by_the_control_are_the_same_as_the_control_rounds_them() -> None:
    after = changed(record(), switched, put("resolution/length", D("0.0001")), put("tools/4/length", D("4.7165")))

    changes = between(record(), after)

    assert [change.pointer for change in changes if change.kind == "rounded"] == ["/tools/4/length"]
    assert changes.of_value == ()


def test_differences_are_told_in_the_readers_unit() -> None:
    after = changed(record(), put("tools/4/length", D("145.200")))

    assert only(between(record(), after, unit=LengthUnit.IN)).delta_text == "+1.00 in"


def test_a_difference_that_conversion_rounds_is_marked() -> None:
    after = changed(record(), put("tools/4/length", D("120.800")))

    assert only(between(record(), after, unit=LengthUnit.IN)).delta_text == "≈ +0.03937 in"


def test_a_renumbered_tool_is_one_line_and_its_values_are_compared_under_the_new_number() -> None:
    after = changed(
        record(), renumber("4", "7"), put("tools/7/length", D("118.0")), put("tool_changes/default/tools", ["7"])
    )

    changes = between(record(), after)

    told = {(str(change.kind), change.title) for change in changes}
    assert told == {
        ("renumbered", "tool 7 brush"),
        ("changed", "tool 7 brush: length"),
        ("notation", "tool change default: tools, no. 1"),
    }
    assert changes.notices == ("tool 4 brush is now tool 7 brush (recognised by id)",)


def test_a_number_that_now_means_another_tool_is_a_change_though_it_reads_the_same() -> None:
    after = changed(record(), renumber("4", "7"), renumber("9", "4"))

    change = next(c for c in between(record(), after) if c.group == "tool changes")

    assert change.kind == "changed"
    assert (change.before_text, change.after_text) == ("tool 4 brush", "tool 4 calibrating disc 350")


def test_a_whole_new_tool_is_one_line_with_its_values() -> None:
    after = changed(record(), put("tools/21", {"name": "polisher", "length": 90, "speed": 700}))

    change = only(between(record(), after))

    assert (change.kind, change.title) == ("added", "tool 21 polisher")
    assert [part.title for part in change.parts][1] == "tool 21 polisher: length"
    assert len(change.parts) == 3


def test_a_tool_of_another_id_under_the_same_number_is_another_tool() -> None:
    after = changed(record(), put("tools/4", {"id": "neww2222", "name": "brush", "length": D("119.800"), "speed": 900}))

    changes = between(record(), after)

    assert {"added", "removed"} <= {str(change.kind) for change in changes}


def test_a_renamed_zone_is_seen_as_such() -> None:
    after = changed(record(), lambda d: d["no_go_zones"].update(bunker=d["no_go_zones"].pop("bin")))

    change = only(between(record(), after))

    assert (change.kind, change.before_text, change.after_text) == ("renamed", "no-go zone bin", "no-go zone bunker")


def test_an_event_put_in_before_others_is_one_line() -> None:
    crash = {"kind": "crash", "date": "2025-11-30"}

    change = only(between(record(), changed(record(), lambda d: d["events"].insert(0, crash))))

    assert (change.kind, change.group, change.title) == ("added", "hardware events", "event crash, 2025-11-30")


def test_a_page_value_gone_blank_is_one_change_of_that_value() -> None:
    after = changed(record(), put("control_pages/axes X/settings/Pressure", {"state": "blank"}))

    changes = between(record(), after)

    first = changes.all[0]
    assert (first.title, first.before_text, first.after_text) == ("page axes X: Pressure", "6 bar", "blank")
    assert [c.title for c in changes.all[1:]] == ["page axes X: Pressure, unit"]


def test_a_page_value_is_compared_exactly_within_one_unit() -> None:
    after = changed(record(), put("control_pages/axes X/settings/Soft limit +/value", D("3605.0004")))

    assert only(between(record(), after)).kind == "changed"


def test_a_page_value_in_another_unit_is_the_same_by_the_finer_last_place() -> None:
    page = "control_pages/axes X/settings/Soft limit +"
    fine = changed(record(), put(page, {"value": D("141.9291"), "unit": "in"}))
    off = changed(record(), put(page, {"value": D("141.9301"), "unit": "in"}))

    kinds = [[c.kind for c in between(record(), after) if c.pointer.endswith("/value")] for after in (fine, off)]

    assert kinds == [["rounded"], ["changed"]]


def test_nobody_can_tell_whether_a_page_value_bears_on_clearance() -> None:
    after = changed(record(), put("control_pages/axes X/settings/Pressure/value", 7))

    changes = between(record(), after)

    assert only(changes).geometry is None
    assert changes.of_geometry == changes.all


def test_a_setting_moved_from_a_page_to_its_own_place_is_one_line() -> None:
    after = changed(
        record(),
        drop("control_pages/axes X/settings/Pressure"),
        put("jet", {"pressure": 6}),
        put("moved", {"/jet/pressure": "/control_pages/axes X/settings/Pressure/value"}),
    )

    changes = between(record(), after)

    told = {(str(c.kind), c.pointer_before, c.pointer_after) for c in changes if c.group != "machine record"}
    assert told == {("moved", "/control_pages/axes X/settings/Pressure/value", "/jet/pressure")}


def test_a_move_that_happened_long_ago_is_not_told_again() -> None:
    since = {"moved": {"/jet/pressure": "/control_pages/axes X/settings/Gone/value"}, "jet": {"pressure": 6}}
    before = record(**since)

    change = only(between(before, changed(before, put("jet/pressure", 7))))

    assert (change.kind, change.title) == ("changed", "jet: pressure")


def test_a_label_changed_by_an_update_is_a_renaming() -> None:
    settings = "control_pages/axes X/settings"
    after = changed(
        record(),
        drop(f"{settings}/Pressure"),
        put(f"{settings}/Water", {"value": 7, "unit": "bar", "aliases": ["Pressure"]}),
    )

    kinds = {c.title: str(c.kind) for c in between(record(), after)}

    assert kinds["page axes X: Water"] in ("renamed", "changed")
    assert {c.kind for c in between(record(), after)} == {"renamed", "changed", "added"}


def test_a_grid_with_its_columns_in_another_order_is_one_line() -> None:
    grid = {"columns": {"L": {"unit": "mm"}, "n": {}}, "rows": {"1": [D("120.0"), 5], "2": [None, 6]}}
    before = changed(record(), put("control_pages/axes X/grids", {"G": grid}))
    turned = {"columns": {"n": {}, "L": {"unit": "mm"}}, "rows": {"1": [5, D("120.0")], "2": [6, None]}}

    change = only(between(before, changed(record(), put("control_pages/axes X/grids", {"G": turned}))))

    assert (change.kind, change.pointer) == ("changed", "/control_pages/axes X/grids/G")


def test_one_cell_of_a_grid_is_told_by_row_and_column() -> None:
    grid = {"columns": {"L": {"unit": "mm"}, "n": {}}, "rows": {"1": [D("120.0"), 5], "2": [None, 6]}}
    before = changed(record(), put("control_pages/axes X/grids", {"G": grid}))

    change = only(between(before, changed(before, put("control_pages/axes X/grids/G/rows/2/0", D("99.5")))))

    assert change.title == "page axes X: G, row 2, column L"
    assert (change.before_text, change.after_text) == ("blank", "99.5 mm")


def test_a_bare_amount_of_a_rule_on_a_length_follows_the_unit_of_the_record() -> None:
    before = record(rules={"life": {"kind": "limit", "setting": "/tables/main/surface", "at_least": -254}})
    after = changed(before, switched, put("rules/life/at_least", -10))

    assert between(before, after).of_value == ()


def test_sisters_are_compared_by_what_their_tools_are_not_by_number_or_id() -> None:
    other = changed(record(), renumber("4", "31"), put("tools/31/id", "othr2222"), put("tools/31/length", 118))
    one, two = read(record()), read(other)

    changes = changes_between(one, two, matching=match_sisters(one, two))

    lengths = [c for c in changes if c.title == "tool 31 brush: length"]
    assert [(c.kind, c.pointer_before) for c in lengths] == [("changed", "/tools/4/length")]


def test_comparing_imports_none_of_the_slow_libraries() -> None:
    code = (
        "import sys; from profilekeeper.changes import changes_between, differing_settings; "
        "sys.exit(any(m in sys.modules for m in ('deepdiff', 'numpy', 'jsonschema', 'ruamel')))"
    )

    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
