"""Axes, tables, places, events, sources and the head as frozen records."""

from __future__ import annotations

from dataclasses import FrozenInstanceError
from datetime import date

import pytest

from profilekeeper.formats import loads
from profilekeeper.model import (
    Profile,
    axes_of,
    conventions_of,
    day,
    events_of,
    head_of,
    positions_of,
    read_profile,
    sources_of,
    supports_of,
    tables_of,
)
from profilekeeper.model.place import machine_reading, zeros_of
from profilekeeper.quantities import parse_angle, parse_length


def profile(body: str) -> Profile:
    return read_profile(loads(f"profile: 2\nmachine: {{name: s, shop: q}}\nunits: {{length: mm}}\n{body}"))


def test_an_axis_is_read_with_its_three_different_ends() -> None:
    axis = axes_of(
        profile(
            "axes: {X: {kind: linear, travel: [0, 3600], soft_limits: [-1, 3601], hard_switches: [-6, 3606],"
            "mechanical_stops: [-12, 3612], reference: {per_motor_turn: 10.0, absolute: false}, backlash: 0.03}}"
        )
    )["X"]

    lows = [r.low for r in (axis.travel, axis.soft_limits, axis.hard_switches, axis.mechanical_stops) if r]
    assert lows == [parse_length(f"{mm} mm") for mm in (0, -1, -6, -12)]
    assert axis.soft_limits is not None
    assert axis.soft_limits.high_pointer == "/axes/X/soft_limits/1"
    assert axis.per_motor_turn == parse_length("10 mm")
    assert (axis.absolute, axis.cable_limit, axis.unlimited) == (False, None, None)


def test_a_record_cannot_be_changed() -> None:
    axis = axes_of(profile("axes: {X: {kind: linear}}"))["X"]

    with pytest.raises(FrozenInstanceError):
        axis.kind = "rotary"  # type: ignore[misc] # that it is refused is the point


def test_a_table_and_what_lies_on_it() -> None:
    machine = profile(
        "tables: {main: {surface: -455.2, highest: 0.2, topping: {now: 22.5, bed: -490},"
        " outline: [[0, 0], [1, 0], [1, 1]]}}\n"
        "supports: {pods: {kind: pods, zones: {left: 75}}}"
    )
    table, support = tables_of(machine)["main"], supports_of(machine)["pods"]

    assert (table.topping_now, table.bed) == (parse_length("22.5 mm"), parse_length("-490 mm"))
    assert table.outline is not None
    assert table.outline[2] == (parse_length("1 mm"), parse_length("1 mm"))
    assert (table.lowest, table.surface_limit) == (None, None)
    assert (support.height, support.zones) == (None, {"left": parse_length("75 mm")})


def test_places_of_every_chapter_are_found() -> None:
    nose = "frame: machine, tool_length_active: false"
    machine = profile(
        f"""
work_offsets: {{G54: {{X: 1, {nose}}}}}
positions: {{park: {{X: 2, A: 3, frame: G54, tool_length_active: true}}}}
tool_changes: {{disc: {{X: 4, {nose}, tools: ["21"], routine: change}}}}
changer: {{pockets: {{"4": {{X: 5}}}}}}
setups: {{disc: {{tool_change: {{X: 6, {nose}}}}}}}
routines: {{homing: {{what: homing, ends: {{X: 7, {nose}}}}}}}
"""
    )
    places = {p.pointer: p for p in positions_of(machine)}

    assert list(places) == [
        "/work_offsets/G54", "/positions/park", "/tool_changes/disc", "/changer/pockets/4",
        "/setups/disc/tool_change", "/routines/homing/ends",
    ]  # fmt: skip
    assert places["/positions/park"].readings == {"X": parse_length("2 mm"), "A": parse_angle("3 deg")}
    assert places["/tool_changes/disc"].tools == ("21",)
    assert (places["/changer/pockets/4"].frame, places["/changer/pockets/4"].tool_length_active) == (None, None)


def test_a_reading_in_a_work_zero_is_followed_to_the_machine() -> None:
    machine = profile(
        "work_offsets: {G54: {X: 100.5, frame: machine, tool_length_active: false}}\n"
        "positions: {p: {X: 10, Y: 1, frame: G54, tool_length_active: false}}"
    )
    places = positions_of(machine)

    found = machine_reading(places[1], "X", zeros_of(places), conventions_of(machine))
    lacking = machine_reading(places[1], "Y", zeros_of(places), conventions_of(machine))

    assert found.value == parse_length("110.5 mm")
    assert found.used == ("/positions/p/X", "/work_offsets/G54/X")
    assert (lacking.value, lacking.missing) == (None, ("/work_offsets/G54/Y",))


def test_events_stand_in_the_order_of_the_file() -> None:
    first, second = events_of(
        profile(
            "events: [{kind: table milled, table: main, by_how_much: 1.5, date: 2026-01-12},"
            " {kind: crash, date: 2026-01-12, hours: 8120}]"
        )
    )

    assert (first.kind, first.by_how_much, first.date) == ("table milled", parse_length("1.5 mm"), date(2026, 1, 12))
    assert (second.place, second.pointer, second.axis) == (1, "/events/1", None)


@pytest.mark.parametrize(
    ("text", "found"), [("2026-02-28", date(2026, 2, 28)), ("2026-02-30", None), (None, None), ("", None)]
)
def test_a_day_that_no_calendar_has_is_no_day(text: str | None, found: date | None) -> None:
    assert day(text) == found


SOURCES = """
sources:
  "": {how: read, date: 2026-01-01}
  /head: {how: measured, with: tape}
  /head/pivot_to_gauge_line: {how: measured, plus_minus: 0.02, date: 2026-02-01}
  /tools/21: {how: measured, with: other}
"""


def test_the_nearest_source_tells_how_a_value_came() -> None:
    book = sources_of(profile(SOURCES))

    days = [book.of(p) for p in ("/head/pivot_to_gauge_line", "/axes/X/travel/0")]
    assert [d.date for d in days if d] == [date(2026, 2, 1), date(2026, 1, 1)]
    assert sources_of(profile("")).of("/axes/X") is None


def test_an_uncertainty_is_stated_or_that_of_the_instrument_and_never_zero() -> None:
    book = sources_of(profile(SOURCES))

    assert book.uncertainty("/head/pivot_to_gauge_line") == parse_length("0.02 mm")
    assert book.uncertainty("/head/body/0/radius") == parse_length("5 mm")
    assert book.uncertainty("/tools/21/length") is None
    assert book.uncertainty("/axes/X/travel/0") is None


def test_only_the_whole_record_read_off_the_screen_is_a_blanket() -> None:
    book = sources_of(profile(SOURCES))

    assert {cover: s.is_blanket for cover, s in book.by_cover.items()} == {
        "": True, "/head": False, "/head/pivot_to_gauge_line": False, "/tools/21": False,
    }  # fmt: skip


def test_a_head_that_is_not_recorded_has_nothing() -> None:
    head = head_of(profile(""))

    assert (head.pivot_to_gauge_line, head.body, head.pivot_checked) == (None, (), None)


def test_a_head_is_read() -> None:
    head = head_of(
        profile(
            "head: {pivot_to_gauge_line: 185, body: [{from: -310, to: 0, radius: 95}], pivot_check: {date: 2026-02-02}}"
        )
    )

    assert head.pivot_to_gauge_line == parse_length("185 mm")
    assert head.body[0].start == parse_length("-310 mm")
    assert head.pivot_checked == date(2026, 2, 2)


@pytest.mark.parametrize("convention", ["{}", "{z_up: negative}", "{length_sign: negative}"])
def test_what_is_shown_of_what_was_read_is_what_was_shown(convention: str) -> None:
    said = conventions_of(profile(f"conventions: {convention}"))
    length = parse_length("-12.5 mm")

    assert said.shown(said.up(length)) == length
    assert said.noted_as_shown(said.noted(length)) == length
