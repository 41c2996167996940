"""A length closes against the circumstances of its own touch-off. Numbers: common practice, no source."""

from __future__ import annotations

from datetime import date

import pytest

from profilekeeper.quantities import parse_length
from profilekeeper.rules import Finding, Verdict
from tests.rules.conftest import AXES, findings, profile

TOUCH = "Z: -180.0, surface: -330.0, support: 0, thickness: 30.2, tilt: 90, date: 2026-01-20"


def tool(
    stored: str, touch: str = TOUCH, *, table: str = "surface: -330.0", more: str = "", about: str = ""
) -> Finding:
    body = f'{AXES}\n{more}\ntables: {{main: {{{table}}}}}\ntools: {{"4": {{{stored}{about}, touch_off: {{{touch}}}}}}}'
    (finding,) = findings(profile(body), "adds-up").values()
    return finding


def test_a_length_that_closes_is_clear() -> None:
    finding = tool("length: 119.8")

    assert finding.verdict is Verdict.CLEAR
    assert finding.value == finding.required == parse_length("119.8 mm")


def test_todays_table_height_is_not_looked_at() -> None:
    """The table was milled by 1.5 since: against today's height every honest tool would be off by 1.5."""
    assert tool("length: 119.8", table="surface: -331.5").verdict is Verdict.CLEAR


def test_a_length_that_does_not_close_fails_and_says_by_how_much() -> None:
    finding = tool("length: 121.3")

    assert finding.verdict is Verdict.FAILS
    assert finding.margin == parse_length("-1.0 mm")
    assert "off by +1.5 mm" in finding.sentence
    assert "store 119.8 mm" in finding.mend


@pytest.mark.parametrize("missing", ["Z", "surface", "support", "thickness"])
def test_a_missing_circumstance_is_unknown_and_named(missing: str) -> None:
    touch = ", ".join(part for part in TOUCH.split(", ") if not part.startswith(missing + ":"))

    finding = tool("length: 119.8", touch)

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == (f"/tools/4/touch_off/{missing}",)


def test_a_length_without_any_touch_off_is_unknown() -> None:
    (finding,) = findings(profile('tools: {"4": {length: 119.8}}'), "adds-up").values()

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == ("/tools/4/touch_off",)


@pytest.mark.parametrize(
    ("touch", "length"),
    [
        (TOUCH.replace("support: 0", "support: 75"), "44.8"),
        (TOUCH + ", shim: 0.1", "119.7"),
        (TOUCH.replace("thickness: 30.2", "thicknesses: [29.1, 30.2, 29.9]"), "119.8"),
        ("Z: -180.0, surface: -330.0, touched: table, tilt: 90", "150.0"),
        ("Z: -180.0, surface: -330.0, touched: puck, shim: 100, tilt: 90", "50.0"),
    ],
    ids=["support", "shim", "highest of several", "on the table", "on a puck"],
)
def test_everything_between_table_and_tool_counts(touch: str, length: str) -> None:
    finding = tool(f"length: {length}", touch)

    assert finding.verdict is Verdict.CLEAR
    assert finding.margin == parse_length("0.5 mm")


def test_a_puck_without_its_height_is_unknown() -> None:
    finding = tool("length: 50", "Z: -180.0, surface: -330.0, touched: puck, tilt: 90")

    assert finding.missing == ("/tools/4/touch_off/shim",)


@pytest.mark.parametrize(
    ("said", "verdict"), [("plus_minus: 0.1", "fails"), ("plus_minus: 1", "clear"), ("how: paper", "clear")]
)
def test_the_uncertainty_of_the_touch_off_is_the_tolerance(said: str, verdict: str) -> None:
    assert tool("length: 120.2", f"{TOUCH}, {said}").verdict == verdict


def test_a_rule_of_the_machine_sets_the_tolerance() -> None:
    finding = tool("length: 120.2", more="rules: {lengths add up: {kind: adds-up, tolerance: 0.2}}")

    assert finding.verdict is Verdict.FAILS
    assert finding.source == "this machine"


CONVENTIONS = "conventions: {%s}"


@pytest.mark.parametrize(
    ("conventions", "stored"),
    [
        ("length_sign: negative", "-119.8"),
        ("length_kind: difference from master tool, master_length: 150", "-30.2"),
        ("length_kind: difference from master tool, master_length: 150, length_sign: negative", "30.2"),
        ("length_kind: Z at touch on the table", "-210.2"),
    ],
    ids=["shown negative", "difference", "difference shown negative", "Z at touch"],
)
def test_every_length_convention_closes(conventions: str, stored: str) -> None:
    finding = tool(f"length: {stored}", more=CONVENTIONS % conventions)

    assert (finding.verdict, finding.margin) == (Verdict.CLEAR, parse_length("0.5 mm"))


def test_a_table_height_taken_with_the_master_tool_holds_its_length() -> None:
    """The bare nose would meet the table at -330 - 20 = -350."""
    table = "surface: -330.0, taken_with: master tool"

    finding = tool("length: 139.8", table=table, more=CONVENTIONS % "master_length: 20")

    assert finding.margin == parse_length("0.5 mm")


def test_a_z_at_touch_needs_no_table_height() -> None:
    touch = TOUCH.replace("surface: -330.0, ", "")

    assert (
        tool("length: -210.2", touch, more=CONVENTIONS % "length_kind: Z at touch on the table").verdict
        is Verdict.CLEAR
    )


def test_a_z_that_grows_downwards_closes_the_same() -> None:
    touch = TOUCH.replace("-180.0", "180.0").replace("-330.0", "330.0")

    assert (
        tool("length: 119.8", touch, table="surface: 330", more=CONVENTIONS % "z_up: negative").verdict is Verdict.CLEAR
    )


@pytest.mark.parametrize(
    ("conventions", "missing"),
    [
        ("length_kind: not known", "/conventions/length_kind"),
        ("length_kind: difference from master tool", "/conventions/master_length"),
    ],
)
def test_an_unknown_convention_is_unknown(conventions: str, missing: str) -> None:
    finding = tool("length: 119.8", more=CONVENTIONS % conventions)

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == (missing,)


def test_a_z_read_in_a_work_zero_or_with_a_length_active_cannot_be_closed() -> None:
    assert tool("length: 119.8", TOUCH + ", frame: G54").missing == ("/tools/4/touch_off/frame",)
    assert tool("length: 119.8", TOUCH + ", tool_length_active: true").verdict is Verdict.UNKNOWN


BLADE = "Z: -284.8, surface: -330.0, support: 0, thickness: 30.2, tilt: 0, date: 2026-02-20"


@pytest.mark.parametrize("stored", ["diameter_in_control: 400", "radius_in_control: 200", "diameter: {now: 400}"])
def test_a_blade_upright_closes_on_its_radius(stored: str) -> None:
    """R = Z + g - table - under the slab - thickness: -284.8 + 185 + 330 - 30.2 = 200."""
    finding = tool(stored, BLADE, about=", kind: blade")

    assert finding.verdict is Verdict.CLEAR
    assert finding.margin == parse_length("0.5 mm")


def test_a_blade_that_wore_is_off_in_radius_and_is_told_in_diameter() -> None:
    finding = tool("diameter_in_control: 404", BLADE, about=", kind: blade")

    assert finding.verdict is Verdict.FAILS
    assert finding.value == parse_length("404 mm")
    assert finding.required == parse_length("400 mm")
    assert "off by +2.0 mm in radius" in finding.sentence


def test_a_blade_needs_the_pivot_and_its_diameter() -> None:
    body = f'tables: {{main: {{surface: -330.0}}}}\ntools: {{"4": {{kind: blade, touch_off: {{{BLADE}}}}}}}'
    (finding,) = findings(profile(body), "adds-up").values()

    assert finding.missing == ("/tools/4/diameter_in_control", "/head/pivot_to_gauge_line")


def test_a_spindle_axis_off_the_tilt_axis_lifts_an_upright_blade() -> None:
    body = (
        "head: {pivot_to_gauge_line: 185, spindle_offset: 60, spindle_level_at: 0, spindle_down_at: 90}\n"
        "tables: {main: {surface: -330.0}}\n"
        f'tools: {{"4": {{kind: blade, diameter_in_control: 520, touch_off: {{{BLADE}}}}}}}'
    )
    (finding,) = findings(profile(body), "adds-up").values()

    assert finding.margin == parse_length("0.5 mm")


def test_a_table_height_taken_with_a_reference_blade_holds_its_radius() -> None:
    """The bare nose would meet the table at -315 + 185 - 200 = -330."""
    table = "surface: -315.0, taken_with: reference blade, reference_blade_diameter: 400"

    finding = tool("length: 119.8", TOUCH.replace("-330.0", "-315.0"), table=table)

    assert finding.margin == parse_length("0.5 mm")


DISC = ", sections: [{from: 0, to: 119.8, radius: 175}]"


def test_a_disc_touched_at_89_7_rests_on_its_rim_about_0_9_off() -> None:
    finding = tool("length: 119.8", TOUCH.replace("tilt: 90", "tilt: 89.7"), about=DISC)

    assert finding.verdict is Verdict.TIGHT
    assert "0.91 mm too long" in finding.notes[-1]
    assert "tilt on its mark" in finding.mend


def test_a_tilt_reading_that_is_not_noted_is_asked_for() -> None:
    finding = tool("length: 119.8", TOUCH.replace("tilt: 90, ", ""), about=DISC)

    assert any("tilt reading is not noted" in note for note in finding.notes)


@pytest.mark.parametrize(
    "touch", [TOUCH.replace("tilt: 90", "tilt: 45"), TOUCH.replace("tilt: 90", "tilt: 45, attitude: spindle down")]
)
def test_a_touch_off_while_tilted_cannot_be_closed(touch: str) -> None:
    finding = tool("length: 119.8", touch)

    assert finding.verdict is Verdict.UNKNOWN
    assert "45" in finding.notes[0]


DAY = "tables: {main: {surface: -331.5}}\ntools:\n"


def day(*tools: tuple[str, str, str]) -> dict[str, Finding]:
    lines = [
        f'  "{number}": {{length: {length}, touch_off: {{{TOUCH.replace("-180.0", z)}}}}}\n'
        for number, length, z in tools
    ]
    return findings(profile(AXES + DAY + "".join(lines)), "adds-up")


def test_one_error_shared_by_tools_of_one_day_points_to_the_table_of_that_day() -> None:
    found = day(("4", "121.3", "-180.0"), ("7", "148.5", "-152.8"), ("9", "212.0", "-89.3"))

    for finding in found.values():
        assert "tools 4, 7 and 9 of 2026-01-20 are all off by about +1.5 mm" in finding.mend
        assert "table height of that day (noted -330.0 mm)" in finding.mend


def test_a_single_error_points_to_the_tool() -> None:
    found = day(("4", "119.8", "-180.0"), ("7", "148.5", "-152.8"), ("9", "210.5", "-89.3"))

    assert found["/tools/4/length"].verdict is Verdict.CLEAR
    assert "no other tool of that day is off like this" in found["/tools/7/length"].mend


def test_a_length_corrected_with_the_true_height_of_that_day_is_clear() -> None:
    assert tool("length: 121.3", TOUCH + ", true_surface: -331.5").verdict is Verdict.CLEAR


def test_a_touch_off_of_tomorrow_is_unknown() -> None:
    machine = profile(f'{AXES}\ntools: {{"4": {{length: 119.8, touch_off: {{{TOUCH}}}}}}}')

    (finding,) = findings(machine, "adds-up", on=date(2026, 1, 19)).values()

    assert finding.missing == ("/tools/4/touch_off/date",)
