"""Headroom over the stone against the closed form, and against plain lengths where the spindle only points down."""

from __future__ import annotations

from decimal import Decimal
from math import hypot

import pytest

from profilekeeper.rules import Verdict
from tests.rules.geometry import judged, machine, mm, plain, put, take

SAW, CENTRE = "quayside/saw-1", "quayside/centre-1"
TABLE = "/tables/main"


def test_headroom_over_the_stone_is_that_of_the_closed_form() -> None:
    # Z_max + g - max sqrt(D² + r²) - (surface + highest point + support + thickness); the core drill is the longest.
    expected = 0 + 185 - hypot(185 + 214, 30) - (-330 + 0.2 + 0 + 60)

    found = judged(machine(SAW), "headroom")[TABLE]

    assert found.verdict is Verdict.CLEAR
    assert "tool 9" in found.sentence
    assert float(mm(found)) == pytest.approx(expected, abs=0.0501)


def test_a_spindle_that_points_down_has_its_longest_tool_to_clear() -> None:
    # Z_max - length as new - (surface + highest point + pods + thickness)
    data = plain(CENTRE)
    longest = max(float(section["to"]) for tool in data["tools"].values() for section in tool["sections"])
    top = data["tables"]["main"]["surface"] + data["tables"]["main"]["highest"] + data["supports"]["pods"]["height"]
    expected = 420 - longest - float(top) - 60

    found = judged(machine(CENTRE), "headroom")[TABLE]

    assert found.verdict is Verdict.CLEAR
    assert "pointing down" in found.sentence
    assert float(mm(found)) == pytest.approx(expected, abs=0.0501)


def test_the_honest_unknown_of_the_fleet_is_the_height_of_pods_that_nobody_measured() -> None:
    found = judged(machine("hilltop/centre-2"), "headroom")[TABLE]

    assert found.verdict is Verdict.UNKNOWN
    assert found.missing == ("/supports/pods/height",)
    assert found.mend == "record support pods height"


def test_a_stone_too_thick_is_told_with_the_highest_top_that_would_do() -> None:
    thick = judged(machine(SAW, put("slab/laminated", Decimal(130))), "headroom")[TABLE]
    top = Decimal(thick.mend.split("below Z ")[1].split(" mm")[0])
    lower = top - Decimal("-329.8")

    mended = judged(machine(SAW, put("slab/laminated", lower)), "headroom")[TABLE]
    a_step_more = judged(machine(SAW, put("slab/laminated", lower + Decimal("0.3"))), "headroom")[TABLE]

    assert thick.verdict is Verdict.HITS
    assert mended.verdict is Verdict.TIGHT
    assert a_step_more.verdict is Verdict.SHORT


@pytest.mark.parametrize(
    ("path", "missing"),
    [
        ("slab/largest/thickness", "/slab/largest/thickness"),
        ("tables/main/highest", "/tables/main/highest"),
        ("tables/main/surface", "/tables/main/surface"),
        ("supports/direct/height", "/supports/direct/height"),
        ("head/pivot_to_gauge_line", "/head/pivot_to_gauge_line"),
    ],
)
def test_a_missing_datum_is_named(path: str, missing: str) -> None:
    found = judged(machine(SAW, take(path)), "headroom")[TABLE]

    assert found.verdict is Verdict.UNKNOWN
    assert missing in found.missing


def test_a_support_that_is_not_named_is_the_highest_there_is() -> None:
    two = machine(
        SAW,
        take("slab/largest/support"),
        put("supports/board", {"kind": "spoil board", "height": Decimal(18), "table": "main"}),
    )

    found = judged(two, "headroom")[TABLE]

    assert mm(found) == mm(judged(machine(SAW), "headroom")[TABLE]) - 18
    assert any("highest support" in note for note in found.notes)


def test_a_table_taken_with_a_reference_blade_holds_that_blades_radius() -> None:
    # The nose would meet the table at noted + g + offset - radius: -315 + 185 - 200 = -330.
    blade = machine(
        SAW,
        put("tables/main/taken_with", "reference blade"),
        put("tables/main/reference_blade_diameter", 400),
        put("tables/main/surface", Decimal("-315.0")),
    )

    assert mm(judged(blade, "headroom")[TABLE]) == mm(judged(machine(SAW), "headroom")[TABLE])
