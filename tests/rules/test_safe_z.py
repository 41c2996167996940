"""safe-z: touch plus margin above the highest of stone, clamps and bow, for every tool at its worst tilt."""

from __future__ import annotations

from decimal import Decimal
from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules import Finding
from tests.rules.conftest import findings, profile

BODY = """
axes:
  Z: {kind: linear, travel: [-350, 0], soft_limits: [-352, 1]}
tables: {main: {surface: -330, highest: 0, lowest: 0}}
supports: {direct: {kind: direct, height: 0}}
slab: {largest: {thickness: 30}, laminated: 60}
safe_z: {general: -25, margin: 20, highest_clamp: 60, bow: 5, frame: machine, tool_length_active: false}
sources: {/tables: {plus_minus: 0.05}, /slab: {plus_minus: 5}, /head: {plus_minus: 0.5},
          /tools: {plus_minus: 0.5}, /safe_z: {plus_minus: 1}}
rules: {safe heights: {kind: safe-z}}
"""
TILTS = """
head: {pivot_to_gauge_line: 185, spindle_offset: 0, spindle_level_at: 0, spindle_down_at: 90}
"""
DRILL = "tools: {'9': {kind: core drill, length: 209.7, length_size: {new: 214}}}\n"
BLADE = ("tools: {'1': {kind: blade, safe_z: SAFE, sections: [{from: 0, to: 30.4, radius: 75}, "
         "{from: 30.4, to: 34, radius: R}]}}\n")  # fmt: skip


def mm(text: str) -> Length:
    return Length(Decimal(text), LengthUnit.MM)


def safe(tools: str = DRILL, **changed: str) -> Finding:
    """The safe-z finding of the only tool; `changed` replaces texts of the body."""
    return next(iter(findings(profile(_changed(BODY, changed) + tools), "safe-z").values()))


def tilting(radius: str, *, safe_z: str = "-25", travel: str = "[0, 92]", head: str = TILTS) -> Finding:
    """The finding of a blade whose far face lies 34 from the nose, on a head with the pivot 185 above the nose."""
    body = BODY.replace("soft_limits: [-352, 1]}", f"soft_limits: [-352, 1]}}\n  A: {{kind: tilt, travel: {travel}}}")
    tools = BLADE.replace("R}", f"{radius}}}").replace("SAFE", safe_z)
    return next(iter(findings(profile(body + head + tools), "safe-z").values()))


def _changed(body: str, changed: dict[str, str]) -> str:
    for old, value in changed.items():
        assert old in body, old
        body = body.replace(old, value)
    return body


def test_pointing_down_it_is_table_stone_bow_length_as_new_and_margin() -> None:
    found = safe()

    assert found.required == mm("-31")  # -330 + 60 + 5 + 214 + 20
    assert (str(found.verdict), found.margin) == ("clear", mm("6"))


@pytest.mark.parametrize(
    ("general", "verdict", "margin"),
    [
        ("-31", "clear", "0"),
        ("-31.001", "short", "-0.001"),
        ("-50.9", "short", "-19.9"),
        ("-51", "hits", "-20"),  # the bare touch is no room at all
        ("-60", "hits", "-29"),
    ],
)
def test_below_the_margin_it_is_short_and_at_the_touch_it_hits(general: str, verdict: str, margin: str) -> None:
    found = safe(**{"-25,": f"{general},"})

    assert (str(found.verdict), found.margin) == (verdict, mm(margin))


def test_the_highest_of_stone_and_clamps_counts() -> None:
    assert safe(**{"highest_clamp: 60": "highest_clamp: 70"}).required == mm("-26")
    assert safe(**{"laminated: 60": "laminated: 20"}).required == mm("-36")  # clamps at 60 above stone at 35


def test_the_highest_support_and_table_count() -> None:
    pods = "{direct: {kind: direct, height: 0}, pods: {kind: pods, height: 75, zones: {left: 75, right: 76}}}"
    tables = "{main: {surface: -330, highest: 0, lowest: 0}, side: {surface: -300, highest: 0.5, lowest: 0}}"

    assert safe(**{"{direct: {kind: direct, height: 0}}": pods}).required == mm("45")
    assert safe(**{"{main: {surface: -330, highest: 0, lowest: 0}}": tables}).required == mm("-0.5")


def test_a_safe_z_above_the_top_of_z_is_told_not_to_exist() -> None:
    found = safe("tools: {'9': {kind: core drill, length_size: {new: 250}}}\n")

    assert found.required == mm("5")
    assert "there is no safe Z" in found.mend
    assert "5 mm above the top of Z (0 mm)" in found.mend


@pytest.mark.parametrize(
    ("key", "value", "lacks"),
    [
        ("surface: -330, ", "", "/tables/main/surface"),
        ("highest: 0, ", "", "/tables/main/highest"),
        ("{thickness: 30}", "{length: 3}", "/slab/largest/thickness"),
        ("bow: 5, ", "", "/safe_z/bow"),
        ("highest_clamp: 60, ", "", "/safe_z/highest_clamp"),
        ("margin: 20, ", "", "/safe_z/margin"),
        (", tool_length_active: false", "", "/safe_z/tool_length_active"),
        ("frame: machine, ", "", "/safe_z/frame"),
        ("general: -25, ", "", "/tools/9/safe_z"),
        ("kind: direct, height: 0", "kind: pods", "/supports/direct/height"),
    ],
)
def test_a_missing_datum_is_unknown_and_named(key: str, value: str, lacks: str) -> None:
    found = safe(**{key: value})

    assert str(found.verdict) == "unknown"
    assert lacks in found.missing


def test_a_tool_without_a_safe_z_is_told_what_it_needs() -> None:
    found = safe(**{"general: -25, ": ""})

    assert found.required == mm("-31")
    assert "raise the safe Z of tool 9 to -31 mm" in found.mend


def test_a_safe_z_with_a_tool_length_active_is_that_of_the_tip() -> None:
    found = safe(**{"tool_length_active: false": "tool_length_active: true", "-25,": "-240,"})

    assert found.value == mm("-30.3")  # -240 + 209.7


def test_a_safe_z_from_a_work_zero_is_brought_to_the_machine_frame() -> None:
    zero = DRILL + "work_offsets: {G54: {Z: -100, frame: machine, tool_length_active: false}}\n"

    assert safe(zero, **{"frame: machine": "frame: G54", "-25,": "75,"}).value == mm("-25")


def test_doubt_above_the_margin_is_tight_and_above_all_there_is_unknown() -> None:
    wide = {"/slab: {plus_minus: 5}": "/slab: {plus_minus: 24}"}  # 24.05 in all

    assert str(safe(**wide).verdict) == "tight"
    assert str(safe(**wide, **{"-25,": "-27,"}).verdict) == "unknown"  # 24 above the touch
    assert str(safe(**{"/slab: {plus_minus: 5}": "/slab: {plus_minus: 26}"}).verdict) == "unknown"


def test_a_blade_may_be_tilted_so_its_worst_tilt_counts() -> None:
    """Far face 219 from the tilt axis, r 250: reach 332.357 (root of 219^2 + 250^2), worked out by hand."""
    found = tilting("250")

    assert found.required == mm("-97.643")  # -330 + 65 + 332.357 - 185 + 20, rounded up


@pytest.mark.parametrize(
    ("offset", "reach"),
    [("0", 332.357), ("60", 290.0), ("-60", 379.6)],
)
def test_a_spindle_off_the_tilt_axis_changes_the_reach_by_its_side(offset: str, reach: float) -> None:
    """D 219, r 250: 332.4; off the axis by 60: 289.9 or 379.6 by side."""
    found = tilting("250", head=TILTS.replace("spindle_offset: 0", f"spindle_offset: {offset}"))

    assert isinstance(found.required, Length)
    assert abs(float(found.required.mm) - (-330 + 65 + reach - 185 + 20)) < 0.1


def test_a_whole_triangle_stays_exact() -> None:
    """185 + 34 = 219 and 292 give the root 365 exactly (73 times 3, 4 and 5)."""
    assert tilting("292").required == mm("-65")


@given(st.integers(0, 90), st.integers(0, 90), st.integers(30, 300))
def test_no_tilt_of_the_range_hangs_lower_and_some_tilt_hangs_so_low(one: int, other: int, radius: int) -> None:
    low, high = sorted((one, other))
    found = tilting(str(radius), travel=f"[{low}, {high}]")
    assert isinstance(found.required, Length)
    told = float(found.required.mm) + 330 - 65 + 185 - 20
    steps = [low + (high - low) * i / 2000 for i in range(2001)]
    rims = [(185, 75), (185 + 30.4, 75), (185 + 30.4, radius), (219, radius)]

    sampled = max(d * sin(radians(t)) + r * cos(radians(t)) for t in steps for d, r in rims)

    assert sampled - 1e-9 <= told <= sampled + 0.01


def test_a_tilt_that_is_not_recorded_is_reckoned_as_every_tilt() -> None:
    found = tilting("250", head=TILTS.replace(", spindle_down_at: 90", ""))

    assert found.required == mm("-97.643")
    assert any("every tilt" in note for note in found.notes)


def test_a_tilting_head_needs_the_shape_of_its_tools_and_its_pivot() -> None:
    body = BODY.replace("soft_limits: [-352, 1]}", "soft_limits: [-352, 1]}\n  A: {kind: tilt, travel: [0, 92]}")
    found = findings(profile(body + DRILL), "safe-z")["/tools/9/safe_z"]

    assert (str(found.verdict), set(found.missing)) == (
        "unknown", {"/tools/9/sections", "/head/pivot_to_gauge_line"},
    )  # fmt: skip


def test_jets_hang_elsewhere() -> None:
    assert findings(profile(BODY + "tools: {'9': {kind: jet}}\n"), "safe-z") == {}
