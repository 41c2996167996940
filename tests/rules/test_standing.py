"""How far a record goes, and what is missing for the next level."""

from __future__ import annotations

import pytest

from profilekeeper.rules import Level, level
from tests.rules.conftest import AXES, profile

TOUCHED = """
tables: {main: {surface: -330, outline: [[100, 80], [3500, 80], [3500, 2080]]}}
tools: {"4": {length: 119.8, sections: [{from: 0, to: 119.8, radius: 175}],
  touch_off: {Z: -180.0, surface: -330.0, support: 0, thickness: 30.2, tilt: 90}}}
"""
SWING = """
axes:
  X: {kind: linear, travel: [0, 3600]}
  Y: {kind: linear, travel: [0, 2100]}
  Z: {kind: linear, travel: [-350, 0]}
  A: {kind: tilt, travel: [0, 92]}
head: {pivot_to_gauge_line: 185, spindle_level_at: 0, spindle_down_at: 90, swivel_zero_points: +Y,
  body: [{from: -310, to: 0, radius: 95}]}
sources: {/head: {how: measured, with: caliper}}
motion: {rapids: any path, tool_centre_compensation: "off"}
slab: {largest: {length: 3200, width: 1600, thickness: 30}}
no_go_zones: {}
tool_changes: {default: {X: 1800, Y: 60, Z: 0, A: 0, frame: machine, tool_length_active: false}}
"""


def test_a_record_with_nothing_but_a_name_was_never_recorded() -> None:
    assert level(profile()).level is Level.NEVER_RECORDED


def test_any_value_is_kept_and_the_way_to_checked_is_named() -> None:
    standing = level(profile("control_pages: {air: {path: [S], settings: {Air: {value: 6, unit: bar}}}}"))

    assert (standing.level, standing.next) == (Level.KEPT, Level.CHECKED)
    assert {"/axes/X", "/tables/main/surface", "/tools/*/touch_off"} <= set(standing.missing)


def test_axes_tables_and_touch_offs_make_it_checked() -> None:
    standing = level(profile(AXES + TOUCHED))

    assert standing.level is Level.CHECKED
    assert "/head/body" in standing.missing


def test_a_touch_off_without_its_circumstances_is_not_enough() -> None:
    standing = level(profile(AXES + TOUCHED.replace("surface: -330.0, ", "")))

    assert standing.level is Level.KEPT
    assert standing.missing == ("/tools/4/touch_off/surface",)


def test_a_whole_record_is_swing_ready() -> None:
    standing = level(profile(SWING + TOUCHED))

    assert (standing.level, standing.next, standing.missing) == (Level.SWING_READY, None, ())


@pytest.mark.parametrize(
    ("line", "without", "missing"),
    [
        ("no_go_zones: {}\n", "", "/no_go_zones"),
        (", with: caliper", "", "/sources/~1head~1pivot_to_gauge_line/plus_minus"),
        (', tool_centre_compensation: "off"', "", "/motion/tool_centre_compensation"),
        ('"off"', "not known", "/motion/tool_centre_compensation"),
        (", thickness: 30", "", "/slab/largest/thickness"),
        ("body: [{from: -310, to: 0, radius: 95}]", "spindle_offset: 0", "/head/body"),
        ("X: 1800, ", "", "/tool_changes/default/X"),
    ],
)
def test_each_datum_of_a_swing_is_asked_for(line: str, without: str, missing: str) -> None:
    standing = level(profile(SWING.replace(line, without) + TOUCHED))

    assert standing.level is Level.CHECKED
    assert missing in standing.missing


def test_an_axis_whose_kind_is_not_said_is_asked_for() -> None:
    assert "/axes/A/kind" in level(profile(SWING.replace("A: {kind: tilt, ", "A: {") + TOUCHED)).missing


def test_a_machine_without_a_head_that_turns_needs_none_of_it() -> None:
    lines = [line for line in SWING.splitlines() if not line.startswith(("  A:", "head:", "  body:", "sources:"))]

    assert level(profile("\n".join(lines) + TOUCHED)).level is Level.SWING_READY
