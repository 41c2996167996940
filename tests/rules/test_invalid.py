"""Values that hang on hardware which was changed since they were set."""

from __future__ import annotations

from datetime import date

import pytest

from profilekeeper.rules import Finding, Verdict, invalid_settings
from tests.rules.conftest import AXES, findings, profile, verdicts

NOSE = "frame: machine, tool_length_active: false"
PLACES = f"""
work_offsets: {{G54: {{X: 120.5, Y: 88, {NOSE}}}}}
positions: {{park: {{X: 10, Z: 0, {NOSE}}}, clamp: {{X: 10, frame: G54, tool_length_active: false}}}}
tool_changes: {{default: {{X: 1800, Y: 60, Z: 0, A: 0, {NOSE}}}}}
instruments: {{laser: {{kind: laser, X: 412.0, Y: 18.5, zero: 0.2, {NOSE}}}}}
tables: {{main: {{surface: -330, surface_limit: -350, outline: [[100, 80], [3500, 80], [3500, 2080]]}}}}
no_go_zones:
  bin: {{frame: floor, outline: [[0, 0], [1, 0], [1, 1]], from: -600, to: -190}}
  guard: {{frame: carriage, outline: [[0, 0], [1, 0], [1, 1]], from: -60, to: 10}}
tools: {{"4": {{length: 119.8, safe_z: -100, touch_off: {{Z: -180, date: 2026-01-20}}}}}}
"""
OLD = 'sources: {"": {how: read, date: 2026-01-01}}'


def invalid(events: str, more: str = OLD, *, places: str = PLACES, on: date | None = None) -> dict[str, Finding]:
    return findings(profile(f"{AXES}{places}\nevents: [{events}]\n{more}"), "invalid", on=on)


MOVED = "{kind: reference moved, axis: X, date: 2026-02-10}"


def test_after_the_reference_of_x_moved_everything_counted_from_it_is_re_established() -> None:
    found = invalid(MOVED)

    assert set(found) == {
        "/axes/X/soft_limits/0", "/axes/X/soft_limits/1",
        "/axes/X/hard_switches/0", "/axes/X/hard_switches/1",
        "/axes/X/mechanical_stops/0", "/axes/X/mechanical_stops/1",
        "/work_offsets/G54/X", "/positions/park/X", "/tool_changes/default/X", "/instruments/laser/X",
        "/tables/main/outline", "/no_go_zones/bin/outline",
    }  # fmt: skip
    assert set(verdicts(found).values()) == {"fails"}
    assert all("do not key the old value back" in f.mend for f in found.values())


def test_what_may_not_be_keyed_back_is_listed() -> None:
    listed = invalid_settings(profile(f"{AXES}{PLACES}\nevents: [{MOVED}]\n{OLD}"))

    assert "/tool_changes/default/X" in listed
    assert "/tool_changes/default/Y" not in listed
    assert listed["/work_offsets/G54/X"].event.kind == "reference moved"


@pytest.mark.parametrize(
    ("source", "verdict"),
    [
        ("how: read, date: 2026-02-11", "clear"),
        ("how: measured, date: 2026-02-11", "clear"),
        ("how: carried over, date: 2026-02-11", "fails"),
        ("how: from the maker's sheet, date: 2026-02-11", "fails"),
        ("how: read, date: 2026-02-09", "fails"),
        ("how: read, date: 2026-02-10", "unknown"),
        ("how: read", "unknown"),
    ],
)
def test_a_day_later_than_the_event_settles_one_place(source: str, verdict: str) -> None:
    found = invalid(MOVED, f"sources: {{/work_offsets/G54: {{{source}}}}}")

    assert found["/work_offsets/G54/X"].verdict == verdict


def test_the_hour_meter_settles_one_day() -> None:
    event = MOVED.replace("}", ", hours: 8120}")

    for hours, verdict in ((8121, "clear"), (8119, "fails"), (8120, "unknown")):
        source = f"sources: {{/work_offsets/G54: {{how: read, date: 2026-02-10, hours: {hours}}}}}"
        assert invalid(event, source)["/work_offsets/G54/X"].verdict == verdict


def test_a_whole_screen_read_since_does_not_say_that_anything_was_set_anew() -> None:
    """The control shows its old numbers as calmly after the reference moved as before."""
    found = invalid(MOVED, 'sources: {"": {how: read, date: 2026-03-04}}')

    assert set(verdicts(found).values()) == {"unknown"}
    assert all("how: measured" in f.mend for f in found.values())
    measured = invalid(MOVED, 'sources: {"": {how: measured, date: 2026-03-04}}')
    assert set(verdicts(measured).values()) == {"clear"}


def test_without_any_day_it_is_unknown_and_the_day_is_asked_for() -> None:
    finding = invalid(MOVED, "")["/work_offsets/G54/X"]

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == ("/sources",)


def test_without_an_event_nothing_is_said() -> None:
    assert not invalid("")


def test_an_event_of_tomorrow_has_not_happened() -> None:
    assert not invalid(MOVED, on=date(2026, 2, 9))


@pytest.mark.parametrize(
    "kind",
    ["home switch moved", "motor changed", "encoder changed", "encoder battery lost", "belt changed", "drive changed"],
)
def test_every_change_to_an_axis_moves_what_is_counted_from_it(kind: str) -> None:
    found = invalid(f"{{kind: {kind}, axis: Y, date: 2026-02-10}}")

    assert {"/axes/Y/soft_limits/0", "/work_offsets/G54/Y", "/tool_changes/default/Y", "/instruments/laser/Y"} <= set(
        found
    )
    assert not any(pointer.endswith("/X") for pointer in found)


def test_the_z_reference_carries_the_heights() -> None:
    found = invalid("{kind: reference moved, axis: Z, date: 2026-02-10}")

    assert {"/tables/main/surface", "/tables/main/surface_limit", "/tools/4/safe_z", "/no_go_zones/bin/from"} <= set(
        found
    )
    assert "/tools/4/length" not in found
    assert "/no_go_zones/guard/from" not in found


def test_a_length_kept_as_z_at_touch_hangs_on_z_and_on_the_table() -> None:
    places = PLACES + "conventions: {length_kind: Z at touch on the table}"

    for event in ("kind: reference moved, axis: Z", "kind: table milled, table: main"):
        assert "/tools/4/length" in invalid(f"{{{event}, date: 2026-02-10}}", places=places)


def test_the_tilt_reference_carries_level_and_down() -> None:
    found = invalid("{kind: encoder battery lost, axis: A, date: 2026-02-10}")

    assert {"/head/spindle_level_at", "/head/spindle_down_at", "/tool_changes/default/A"} <= set(found)
    assert "/head/pivot_to_gauge_line" not in found


def test_a_changed_head_carries_the_pivot_and_a_later_pivot_check_settles_it() -> None:
    event = "{kind: head changed, date: 2026-02-10}"
    checked = AXES.replace("spindle_down_at: 90}", "spindle_down_at: 90, pivot_check: {date: 2026-02-12, error: 0.02}}")

    assert invalid(event)["/head/pivot_to_gauge_line"].verdict is Verdict.FAILS
    settled = findings(profile(f"{checked}{PLACES}\nevents: [{event}]\n{OLD}"), "invalid")
    assert settled["/head/pivot_to_gauge_line"].verdict is Verdict.CLEAR


MILLED = "{kind: table milled, table: main, by_how_much: 1.5, date: 2026-01-12}"


@pytest.mark.parametrize(
    ("events", "verdict"),
    [
        (MILLED, "fails"),
        (MILLED + ", {kind: table re-measured, table: main, date: 2026-01-12}", "clear"),
        ("{kind: table re-measured, table: main, date: 2026-01-12}, " + MILLED, "fails"),
    ],
    ids=["milled", "milled, then measured", "measured, then milled"],
)
def test_a_milled_table_holds_until_it_is_measured_again(events: str, verdict: str) -> None:
    assert invalid(events)["/tables/main/surface"].verdict == verdict


@pytest.mark.parametrize(
    ("day", "verdict"), [("2026-01-21", "fails"), ("2026-01-20", "tight"), ("2026-01-19", "clear")]
)
def test_a_replaced_tool_is_touched_off_anew(day: str, verdict: str) -> None:
    found = invalid(f'{{kind: tool replaced, tool: "4", date: {day}}}')

    assert verdicts(found) == {"/tools/4/length": verdict}


def test_a_size_measured_since_needs_no_touch_off_and_one_read_since_does() -> None:
    event = '{kind: tool replaced, tool: "4", date: 2026-01-21}'

    for how, verdict in (("measured", "clear"), ("read", "fails")):
        found = invalid(event, f"sources: {{/tools/4/length: {{how: {how}, date: 2026-01-22}}}}")
        assert verdicts(found) == {"/tools/4/length": verdict}


def test_milling_one_table_leaves_a_z_at_touch_of_the_other_alone() -> None:
    places = PLACES.replace("touch_off: {", "touch_off: {table: main, ").replace(
        "tables: {main", "tables: {left: {surface: -300}, main"
    )
    convention = "conventions: {length_kind: Z at touch on the table}"

    found = invalid("{kind: table milled, table: left, date: 2026-02-10}", places=places + convention)

    assert set(found) == {"/tables/left/surface"}


def test_the_day_a_tool_was_replaced_counts_as_the_event() -> None:
    places = PLACES.replace("safe_z: -100", "safe_z: -100, replaced: 2026-02-01")

    assert invalid("", places=places)["/tools/4/length"].verdict is Verdict.FAILS


def test_a_crash_makes_values_doubtful_not_surely_wrong() -> None:
    found = invalid("{kind: crash, axis: X, date: 2026-02-10}")

    assert found["/head/pivot_to_gauge_line"].verdict is Verdict.UNKNOWN
    assert found["/work_offsets/G54/X"].verdict is Verdict.UNKNOWN
    assert "/work_offsets/G54/Y" not in found
    assert "check" in found["/work_offsets/G54/X"].mend


def test_a_moved_machine_leaves_its_no_go_zones_behind_but_not_what_rides() -> None:
    found = invalid("{kind: machine moved, date: 2026-02-10}")

    assert "/no_go_zones/bin/outline" in found
    assert not any("guard" in pointer for pointer in found)


def test_page_values_say_themselves_what_they_hang_on() -> None:
    grid = "Grid X: {value: 4.2, unit: mm, hangs_on: [X reference]}"
    page = f"control_pages: {{axes: {{path: [S], settings: {{{grid}, Air: {{value: 6, unit: bar}}}}}}}}\n"

    assert "/control_pages/axes/settings/Grid X/value" in invalid(MOVED, page + OLD)
    assert "/control_pages/axes/settings/Air/value" not in invalid(MOVED, page + OLD)
    updated = invalid("{kind: software updated, date: 2026-02-10}", page + OLD)
    assert updated["/control_pages/axes/settings/Air/value"].verdict is Verdict.UNKNOWN


def test_a_pitch_table_is_one_thing() -> None:
    axes = PLACES + "x-note: none\n"
    machine = AXES.replace("soft_limits: [-1, 3601]", "pitch_table: [[0, 0], [100, 0.01]], soft_limits: [-1, 3601]")
    found = findings(
        profile(f"{machine}{axes}events: [{MOVED.replace('reference moved', 'encoder changed')}]\n{OLD}"), "invalid"
    )

    assert "/axes/X/pitch_table" in found
    assert not any(pointer.startswith("/axes/X/pitch_table/") for pointer in found)
