"""reach: worn-out tools still cut through, and how far the table may go down."""

from __future__ import annotations

from decimal import Decimal
from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules import Finding
from tests.rules.conftest import findings, profile, verdicts

RULE = "rules: {{through: {{kind: reach{more}}}}}\n"
SAW = """
axes:
  Z: {{kind: linear, travel: [-350, 0], soft_limits: [{soft}, 1]}}
  A: {{kind: tilt, travel: [0, 92]}}
head: {{pivot_to_gauge_line: 185, spindle_level_at: 0, spindle_down_at: 90}}
tables: {{main: {{surface: {surface}, surface_limit: -352, highest: 0, lowest: {lowest}, topping: {{bed: {bed}}}}}}}
supports: {{direct: {{kind: direct, height: 0}}}}
slab: {{largest: {{thickness: 30}}, overcut: 2}}
events: [{{kind: table milled, table: main, by_how_much: 1.5, date: 2026-05-07}}]
sources: {{/tables: {{plus_minus: 0.05}}, /head: {{plus_minus: {pivot}}}, /tools: {{plus_minus: 0.5}}}}
"""
BLADE = "tools: {'1': {kind: blade, seat: 32.2, diameter: {new: 400, worn_out: 372}, flange_diameter: 150}}\n"
DRILL = "tools: {'9': {kind: core drill, length_size: {new: 214, worn_out: 196}}}\n"
TABLE = "/tables/main/surface"


def mm(text: str) -> Length:
    return Length(Decimal(text), LengthUnit.MM)


def reached(
    tools: str = BLADE, *, surface: str = "-349.2", lowest: str = "0", soft: str = "-350", bed: str = "-370",
    pivot: str = "0.5", more: str = "",
) -> dict[str, Finding]:  # fmt: skip
    saw = SAW.format(surface=surface, lowest=lowest, soft=soft, bed=bed, pivot=pivot)
    return findings(profile(saw + tools + RULE.format(more=more)), "reach")


def test_a_saw_milled_sixteen_times_no_longer_cuts_through_though_the_stored_limit_passes() -> None:
    found = reached()[TABLE]

    assert str(found.verdict) == "fails"
    assert "needs Z -350.2 mm" in found.sentence
    assert (found.required, found.margin) == (mm("-349.0"), mm("-0.2"))
    assert "372.4 mm" in found.mend
    assert any("stored limit -352 mm is lower" in note for note in found.notes)


@pytest.mark.parametrize(
    ("surface", "lowest", "verdict", "margin"),
    [
        ("-349.0", "0", "unknown", "0"),  # on the limit, and known only to 0.55
        ("-348.46", "0", "unknown", "0.54"),
        ("-348.45", "0", "clear", "0.55"),
        ("-348.45", "0.3", "unknown", "0.25"),
        ("-330", "0.3", "clear", "18.7"),
        ("-349.001", "0", "fails", "-0.001"),
    ],
)
def test_the_margin_is_what_is_left_and_uncertainty_is_taken_off(
    surface: str, lowest: str, verdict: str, margin: str
) -> None:
    found = reached(surface=surface, lowest=lowest)[TABLE]

    assert (str(found.verdict), found.margin) == (verdict, mm(margin))


def test_how_many_more_millings_there_are_is_told() -> None:
    assert "12 more millings of 1.5 mm" in reached(surface="-330", lowest="0.3")[TABLE].sentence


def test_a_milling_of_unknown_depth_is_said_to_be_so() -> None:
    saw = SAW.format(surface="-330", lowest="0", soft="-350", bed="-370", pivot="0.5").replace("by_how_much: 1.5, ", "")

    found = findings(profile(saw + BLADE + RULE.format(more="")), "reach")[TABLE]

    assert "how much a milling takes is not recorded" in found.sentence


def test_the_bed_under_the_topping_may_be_the_nearer_limit() -> None:
    found = reached(surface="-330", bed="-335")[TABLE]

    assert (found.margin, found.required) == (mm("3"), mm("-333"))
    assert any("The bed under the topping is the limit" in note for note in found.notes)
    assert "/tables/main/topping/bed" in found.settings


@pytest.mark.parametrize(("soft", "z"), [("-350", "-350"), ("-352", "-350"), ("-340", "-340")])
def test_the_higher_of_travel_and_soft_limit_ends_z(soft: str, z: str) -> None:
    assert reached(surface="-300", soft=soft)[TABLE].margin == mm("-301") - mm(z)


def test_a_tool_that_points_down_is_judged_by_its_worn_length() -> None:
    found = reached(DRILL, surface="-300")[TABLE]

    assert "needs Z -106 mm" in found.sentence


def test_the_tool_that_reaches_least_decides() -> None:
    both = BLADE.rstrip("}\n") + "}, '9': {kind: core drill, length_size: {worn_out: 196}}}\n"

    assert reached(both, surface="-300")[TABLE].margin == mm("49")


@pytest.mark.parametrize(
    ("old", "new", "lacks"),
    [
        ("worn_out: 372", "now: 380", "/tools/1/diameter/worn_out"),
        ("pivot_to_gauge_line: 185, ", "", "/head/pivot_to_gauge_line"),
        (", overcut: 2", "", "/slab/overcut"),
        ("surface: -330, ", "", "/tables/main/surface"),
        ("kind: direct, height: 0", "kind: pods", "/supports/direct/height"),
    ],
)
def test_a_missing_datum_is_unknown_and_named(old: str, new: str, lacks: str) -> None:
    saw = SAW.format(surface="-330", lowest="0", soft="-350", bed="-370", pivot="0.5") + BLADE + RULE.format(more="")
    assert old in saw

    found = findings(profile(saw.replace(old, new)), "reach")

    assert (str(found["/tools/1/diameter/worn_out"].verdict), TABLE in found) == ("unknown", False)
    assert lacks in found["/tools/1/diameter/worn_out"].missing


def test_flatness_that_is_not_recorded_never_passes_but_may_fail() -> None:
    saw = SAW.format(surface="{s}", lowest="0", soft="-350", bed="-370", pivot="0.5").replace(", lowest: 0", "")
    high = findings(profile(saw.replace("{s}", "-330") + BLADE + RULE.format(more="")), "reach")[TABLE]
    low = findings(profile(saw.replace("{s}", "-349.2") + BLADE + RULE.format(more="")), "reach")[TABLE]

    assert (str(high.verdict), high.missing) == ("unknown", ("/tables/main/lowest",))
    assert str(low.verdict) == "fails"


def test_an_uncertainty_nobody_recorded_is_reckoned_as_a_tapes_and_asked_for() -> None:
    saw = SAW.format(surface="-344.5", lowest="0", soft="-350", bed="-370", pivot="0.5")
    saw = saw.replace(", /head: {plus_minus: 0.5}", "")

    found = findings(profile(saw + BLADE + RULE.format(more="")), "reach")[TABLE]

    assert (str(found.verdict), found.margin) == ("unknown", mm("4.5"))
    assert any("± 5.05 mm" in note and "pivot to gauge line" in note for note in found.notes)


def test_the_overcut_of_the_rule_stands_in_for_the_records() -> None:
    saw = SAW.format(surface="-330", lowest="0", soft="-350", bed="-370", pivot="0.5").replace(", overcut: 2", "")

    assert findings(profile(saw + BLADE + RULE.format(more=", overcut: 4")), "reach")[TABLE].margin == mm("17")


@pytest.mark.parametrize(
    "changed",
    [
        {"travel: [-350, 0], soft_limits: [-350, 1]": "travel: [0, 350], soft_limits: [-1, 350]", "-349.2": "349.2",
         "-352": "352", "-370": "370", "slab:": "conventions: {z_up: negative}\nslab:"},
        {"-349.2": "-199.2, taken_with: master tool", "-352": "-202", "-370": "-220",
         "slab:": "conventions: {master_length: 150}\nslab:"},
        {"-349.2": "-334.2, taken_with: reference blade, reference_blade_diameter: 400",
         "-352": "-337", "-370": "-355"},
    ],
    ids=["Z counts downwards", "taken with a master tool", "taken with a reference blade"],
)  # fmt: skip
def test_however_the_control_counts_the_same_table_is_as_much_too_low(changed: dict[str, str]) -> None:
    saw = SAW.format(surface="-349.2", lowest="0", soft="-350", bed="-370", pivot="0.5")
    for old, new in changed.items():
        assert old in saw
        saw = saw.replace(old, new)

    found = findings(profile(saw + BLADE + RULE.format(more="")), "reach")[TABLE]

    assert (str(found.verdict), found.margin) == ("fails", mm("-0.2"))


def test_only_tools_that_come_out_below_the_stone_are_judged() -> None:
    assert verdicts(reached("tools: {'5': {kind: brush, length_size: {worn_out: 128}}}\n")) == {}


def test_at_45_degrees_the_flange_meets_the_slab_first() -> None:
    found = reached()["/tools/1/flange_diameter"]

    assert isinstance(found.value, Length)
    assert abs(float(found.value.mm) - (186 - 75) * cos(radians(45))) < 0.001
    assert str(found.verdict) == "clear"


def test_a_nut_beyond_the_blade_meets_it_sooner_and_the_blade_itself_does_not_count() -> None:
    slices = "sections: [{from: 30.4, to: 34, radius: 200}, {from: 34, to: 62, radius: 75}], "
    nut = BLADE.replace("flange_diameter", f"{slices}flange_diameter")

    found = reached(nut)["/tools/1/flange_diameter"]

    assert isinstance(found.value, Length)
    assert abs(float(found.value.mm) - (186 - 75 - 29.8) * cos(radians(45))) < 0.001


@pytest.mark.parametrize(("thick", "verdict"), [("30", "clear"), ("76.4", "clear"), ("76.5", "fails")])
def test_a_slab_thicker_than_the_blade_is_deep_at_45_fails(thick: str, verdict: str) -> None:
    saw = SAW.format(surface="-330", lowest="0", soft="-350", bed="-370", pivot="0.5")
    saw = saw.replace("thickness: 30", f"thickness: {thick}")

    found = findings(profile(saw + BLADE + RULE.format(more="")), "reach")["/tools/1/flange_diameter"]

    assert str(found.verdict) == verdict


def test_a_blade_without_flange_and_sections_is_unknown_at_45() -> None:
    found = reached(BLADE.replace(", flange_diameter: 150", ""))["/tools/1/flange_diameter"]

    assert (str(found.verdict), found.missing) == ("unknown", ("/tools/1/flange_diameter",))


@given(st.integers(-3480, -3000), st.integers(0, 30))
def test_milling_takes_from_the_margin_exactly_what_it_takes_from_the_table(tenths: int, milled: int) -> None:
    here = reached(surface=f"{Decimal(tenths) / 10}")[TABLE]
    lower = reached(surface=f"{Decimal(tenths - milled) / 10}")[TABLE]

    assert isinstance(here.margin, Length)
    assert here.margin - Length(Decimal(milled) / 10, LengthUnit.MM) == lower.margin
    assert here.required == lower.required
