"""What the search gets of a machine's record: sizes on paper, uncertainties, and what is named as missing."""

from __future__ import annotations

import subprocess
import sys
from math import cos, hypot, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.actions.demo_history import shipped_files
from profilekeeper.clearance.frames import Frame, Joints
from profilekeeper.clearance.growing import grown_outline, grown_section
from profilekeeper.clearance.scene import Scene, scene_of
from profilekeeper.clearance.shapes import Section
from profilekeeper.formats import loads
from profilekeeper.model import read_profile


def scene(name: str, old: str = "", new: str = "") -> Scene:
    """The scene of a machine of the demo fleet, its text changed in one place if that is asked for."""
    text = shipped_files()[f"{name}/profile.yaml"]
    assert old in text
    return scene_of(read_profile(loads(text.replace(old, new, 1) if old else text)))


def test_a_whole_record_lacks_nothing() -> None:
    saw = scene("quayside/saw-1")

    parts = (saw.chain, saw.body, saw.zones, saw.tables, saw.z_top_mm, saw.compensation)
    assert [p for part in parts for p in part.missing] == []
    assert [p for tool in saw.tools.values() for p in tool.missing] == []
    assert saw.does_tilt


def test_the_nose_of_a_saw_stands_where_its_readings_say() -> None:
    chain = scene("quayside/saw-1").chain.value

    assert chain is not None
    level = Joints(x_mm=0, y_mm=0, z_mm=-60, tilt_deg=0, swivel_deg=0)
    down = Joints(x_mm=0, y_mm=0, z_mm=-60, tilt_deg=90, swivel_deg=0)
    assert chain.head.axis_point(level, 34.0) == pytest.approx((219, 0, 125))
    assert chain.head.axis_point(down, 34.0) == pytest.approx((0, 0, -94))


def test_the_stone_is_the_laminated_slab_on_the_highest_point() -> None:
    stone = scene("quayside/saw-1").stones["main"].value

    assert stone is not None
    assert stone.top_mm == pytest.approx(-330 + 0.2 + 60)
    assert stone.close.mm == pytest.approx(5.05)  # the slab by tape, the table by indicator


def test_a_slab_that_may_lie_anywhere_reaches_as_far_as_its_overhang() -> None:
    things = {thing.title: thing for thing in scene("quayside/saw-1").surroundings.value or ()}
    xs = [x for x, _ in things["slab on table main"].outline_mm]
    ys = [y for _, y in things["slab on table main"].outline_mm]

    assert (min(xs), max(xs), min(ys), max(ys)) == pytest.approx((-150, 3750, -170, 2330), abs=0.001)
    assert things["slab on table main"].frame is Frame.TABLE


def test_a_slab_that_is_placed_lies_there() -> None:
    placed = scene("quayside/saw-1", "overhang: 250,", "overhang: 250, placed: {X: 200, Y: 300},")
    things = {thing.title: thing for thing in placed.surroundings.value or ()}

    assert things["slab on table main"].outline_mm == ((200, 300), (3400, 300), (3400, 1900), (200, 1900))


def test_inches_are_read_as_millimetres() -> None:
    combi = scene("millrace/combi-1")

    assert combi.chain.value is not None
    assert combi.chain.value.head.pivot_to_gauge_line_mm == pytest.approx(190.5)
    assert combi.chain.value.head.swivel_to_tilt_mm == pytest.approx((38.1, 0))
    assert combi.compensation.value == "switchable"


def test_what_rides_along_is_counted_from_the_spindle_axis_not_from_the_swivel_axis() -> None:
    """The tilt axis of this head stands 38.1 ahead of the swivel axis, and the spindle with it."""
    things = {thing.title: thing for thing in scene("millrace/combi-1").surroundings.value or ()}

    assert min(x for x, _ in things["jet head"].outline_mm) == pytest.approx(21 * 25.4 + 38.1)
    assert min(x for x, _ in things["rear fence"].outline_mm) == pytest.approx(0)


def test_a_source_that_is_missing_counts_as_a_tape_and_is_asked_for() -> None:
    bare = scene(
        "quayside/saw-1", "  /head/body: {how: from the maker's sheet, with: drawing, plus_minus: 3 mm,", "  /x: {"
    )
    assert bare.body.value is not None
    assert bare.body.value.close.mm == 0.5  # /head speaks for what is below it

    text = shipped_files()["quayside/saw-1/profile.yaml"]
    none = scene_of(read_profile(loads(text[: text.index("\nsources:")])))

    assert none.body.value is not None
    assert none.body.value.close.mm == 5.0
    assert none.body.value.close.asked == ("/head/body",)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("moves: bridge", "moves: other", "/axes/X/moves"),
        ("kind: tilt", "kind: rotary", "/axes/A/kind"),
        ("spindle_down_at: 90.00", "spindle_down_at: 60.00", "/head/spindle_down_at"),
        ("kind: swivel", "kind: tilt", "/axes/C/kind"),
    ],
)
def test_what_is_not_worked_out_is_unknown_and_named(old: str, new: str, missing: str) -> None:
    chain = scene("quayside/saw-1", old, new).chain

    assert chain.value is None
    assert missing in chain.missing


def test_a_turning_table_is_not_worked_out() -> None:
    found = scene("quayside/saw-1", "fixed_to: floor", "fixed_to: turntable").surroundings

    assert found.value is None
    assert "/tables/main/fixed_to" in found.missing


def test_an_outline_that_crosses_itself_is_not_to_be_used() -> None:
    old = "outline: [[3200, -500], [3900, -500], [3900, 60], [3200, 60]]"
    new = "outline: [[3200, -500], [3900, 60], [3900, -500], [3200, 60]]"

    found = scene("quayside/saw-1", old, new).surroundings

    assert found.missing == ("/no_go_zones/waste bin/outline",)
    assert any("waste bin" in note for note in found.notes)


@settings(max_examples=60, deadline=None)
@given(
    by=st.floats(0.01, 300),
    angle=st.floats(0, 6.3),
    share=st.floats(0, 1),
    along=st.floats(0, 1),
    side=st.integers(0, 5),
)
def test_a_grown_outline_holds_every_point_within_reach(
    by: float, angle: float, share: float, along: float, side: int
) -> None:
    from shapely.geometry import Point, Polygon
    from shapely.ops import unary_union

    outline = ((0.0, 0.0), (400.0, 0.0), (400.0, 100.0), (120.0, 100.0), (120.0, 300.0), (0.0, 300.0))
    (ax, ay), (bx, by_) = outline[side], outline[(side + 1) % 6]
    start = (ax + (bx - ax) * along, ay + (by_ - ay) * along)
    point = (start[0] + share * by * cos(angle), start[1] + share * by * sin(angle))

    grown = unary_union([Polygon(piece) for piece in grown_outline(outline, by)])

    assert grown.distance(Point(point)) < 1e-9
    corners = grown.exterior.coords
    assert max(Polygon(outline).distance(Point(corner)) for corner in corners) <= 1.083 * by + 0.001


def test_a_grown_section_is_farther_out_all_round() -> None:
    grown = grown_section(Section.cylinder(30, 34, 200), 0.5)

    assert (grown.from_mm, grown.to_mm, grown.radius_from_mm, grown.radius_to_mm) == (29.5, 34.5, 200.5, 200.5)
    assert hypot(185 + grown.to_mm, grown.radius_to_mm) > hypot(219, 200)


def test_making_a_scene_does_not_load_numpy() -> None:
    words = (
        "import sys; from tests.clearance.test_scene import scene; "
        "scene('quayside/saw-1'); print('numpy' in sys.modules)"
    )

    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)

    assert said.stdout.strip() == "False"
