"""pinch: too close, or not judged here; never clear."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules import Finding
from profilekeeper.rules.apart import squared_gap
from tests.rules.conftest import findings, profile

AXES = """
axes:
  X: {kind: linear, travel: [0, 3000]}
  Y: {kind: linear, travel: [0, 2000]}
  Z: {kind: linear, travel: [-350, 0]}
"""
ZONE = """
no_go_zones:
  walkway: {frame: FRAME, outline: [[-500, -2000], [3500, -2000], [3500, NEAR], [-500, NEAR]],
            from: FROM, to: 900, people: true}
  fence: {frame: floor, outline: [[0, 2010], [1, 2010], [1, 2020]], from: -600, to: 0}
"""


def walkway(near: str, *, part: str = "", frame: str = "floor", low: str = "-1100", axes: str = AXES) -> Finding:
    """The finding of a walkway whose near edge lies at Y `near`, the travel beginning at Y 0."""
    zone = ZONE.replace("NEAR", near).replace("FRAME", frame).replace("FROM", low)
    rule = f"rules: {{people: {{kind: pinch{', part: ' + part if part else ''}}}}}\n"
    found = findings(profile(axes + zone + rule), "pinch")
    assert set(found) == {"/no_go_zones/walkway"}  # a place without people is no business of this rule
    return found["/no_go_zones/walkway"]


@pytest.mark.parametrize(
    ("near", "part", "verdict"),
    [
        ("-499.999", "", "fails"),
        ("-500", "", "unknown"),
        ("-499.999", "body", "fails"),
        ("-299", "head", "fails"),
        ("-301", "head", "unknown"),
        ("-24.9", "finger", "fails"),
        ("-25", "finger", "unknown"),
        ("-1200", "", "unknown"),
        ("10", "finger", "fails"),
    ],
)
def test_a_place_of_people_is_too_close_or_not_judged_here(near: str, part: str, verdict: str) -> None:
    found = walkway(near, part=part)

    assert str(found.verdict) == verdict
    assert ("too close" in found.sentence) == (verdict == "fails")
    assert ("not judged here" in found.sentence) == (verdict == "unknown")


def test_it_always_says_that_a_margin_is_no_safeguarding_distance() -> None:
    assert any("no safeguarding distance" in note for note in walkway("-1200").notes)
    assert any("crushing only" in note for note in walkway("-100").notes)


def test_a_place_above_or_below_all_that_the_nose_reaches_is_not_judged() -> None:
    assert str(walkway("-100", low="1").verdict) == "unknown"
    assert str(walkway("-100", low="0").verdict) == "fails"


def test_what_is_missing_or_rides_along_is_not_judged_and_named() -> None:
    no_travel = walkway("-100", axes=AXES.replace("  Y: {kind: linear, travel: [0, 2000]}\n", ""))

    assert (str(no_travel.verdict), no_travel.missing) == ("unknown", ("/axes/Y/travel",))
    assert str(walkway("-100", frame="carriage").verdict) == "unknown"


@pytest.mark.parametrize(("gap", "verdict"), [("99", "fails"), ("100", "unknown"), ("4000", "unknown")])
def test_a_gap_that_somebody_measured(gap: str, verdict: str) -> None:
    page = f"control_pages: {{gaps: {{settings: {{to the wall: {{value: {gap}, unit: mm}}}}}}}}\n"
    rule = "rules: {people: {kind: pinch, part: hand, setting: '/control_pages/gaps/settings/*'}}\n"

    found = findings(profile(page + rule), "pinch")["/control_pages/gaps/settings/to the wall/value"]

    assert (str(found.verdict), found.value) == (verdict, Length(Decimal(gap), LengthUnit.MM))


def test_a_measured_gap_that_is_not_there_is_not_judged() -> None:
    rule = "rules: {people: {kind: pinch, setting: /control_pages/gaps/settings/wall/value}}\n"

    found = findings(profile(rule), "pinch")

    assert [str(f.verdict) for f in found.values()] == ["unknown"]


def test_no_inch_machine_is_judged_by_bare_numbers() -> None:
    head = "profile: 2\nmachine: {name: saw-1, shop: millrace}\nunits: {length: in}\n"
    body = AXES + ZONE.replace("NEAR", "-19").replace("FRAME", "floor").replace("FROM", "-1100")

    found = findings(profile(body + "rules: {people: {kind: pinch}}\n", head=head), "pinch")

    assert [str(f.verdict) for f in found.values()] == ["fails"]  # 19 in = 482.6 mm


POINTS = st.tuples(st.integers(-50, 50), st.integers(-50, 50))


@given(st.lists(POINTS, min_size=3, max_size=3, unique=True), st.lists(POINTS, min_size=3, max_size=3, unique=True))
def test_the_distance_of_two_outlines_is_that_of_a_general_library(
    one: list[tuple[int, int]], other: list[tuple[int, int]]
) -> None:
    a, b = Polygon(one), Polygon(other)
    corners = [[(Decimal(x), Decimal(y)) for x, y in outline] for outline in (one, other)]

    ours = float(squared_gap(*corners)) ** 0.5

    if a.area and b.area:
        assert abs(ours - a.distance(b)) < 1e-9
