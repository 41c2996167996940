"""The plan, measured on the paper it is drawn on."""

from __future__ import annotations

import pytest

from profilekeeper.clearance import Head, Joints, Obstacle, place_map, rectangle
from profilekeeper.errors import InvalidShape
from profilekeeper.report import Mark, Matter, plan_view

FENCE = Obstacle(
    name="rear fence",
    outline_mm=((2000, -400), (2600, -400), (2600, 900), (2350, 900), (2350, 0), (2000, 0)),
    from_mm=-900,
    to_mm=300,
)
AT = Joints(x_mm=1000, y_mm=300, z_mm=0, tilt_deg=0)


def plan(build, *obstacles, **more):
    settings = {"verdict": "clear", "matters": build.matters}
    return plan_view(obstacles or (build.table, FENCE), build.title(), **(settings | more))


def test_table_and_zones_stand_at_their_coordinates(build):
    drawing = build.read(plan(build))

    corners = {(round(x, 2), round(y, 2)) for x, y in drawing.points(drawing.one("data-name", "rear fence"))}

    assert corners == {(float(x), float(y)) for x, y in FENCE.outline_mm}
    assert drawing.one("data-name", "rear fence").get("data-matter") == Matter.ZONE
    assert "Z1" in drawing.words()  # the name is wider than the fence: a key on it, the name in the column
    assert "Z1 rear fence" in drawing.words()


def test_a_name_that_fits_stands_on_its_zone(build):
    wide = Obstacle(name="pump", outline_mm=rectangle(500, 1500, -1200, -700), from_mm=-330, to_mm=0)

    assert "pump" in build.read(plan(build, build.table, wide)).words()


def test_the_column_never_runs_into_the_title_block(build):
    zones = [
        Obstacle(name=f"zone {i} a long name", outline_mm=rectangle(60 * i, 60 * i + 20, 0, 20), from_mm=0, to_mm=9)
        for i in range(60)
    ]
    marks = [Mark(name=f"spot {i}", x_mm=60.0 * i, y_mm=-200.0) for i in range(60)]
    svg = plan(build, build.table, *zones, marks=marks, sentences=["long " * 120])
    drawing = build.read(svg)

    column = [float(e.get("y")) for e in drawing.one("data-part", "legend").iter() if e.tag.endswith("}text")]

    assert max(column) < 172
    assert any("left out" in words for words in drawing.words())
    assert "… more is said by the check" in drawing.words()
    assert len(svg.encode()) < 150_000


def test_spots_are_numbered_in_their_order_and_named_in_the_notes(build):
    marks = (Mark(name="default", x_mm=100.0, y_mm=-50.0), Mark(name="big-disc", x_mm=1800.0, y_mm=20.0))
    drawing = build.read(plan(build, marks=marks))

    rings = [(e.get("data-mark"), next(c for c in e if c.tag.endswith("}circle"))) for e in drawing.all("data-mark")]
    places = {name: drawing.machine(ring.get("cx"), ring.get("cy")) for name, ring in rings}

    assert places["default"] == pytest.approx((100, -50), abs=0.01)
    assert places["big-disc"] == pytest.approx((1800, 20), abs=0.01)
    assert "1 default: X 100.0 Y −50.0" in drawing.words()
    assert "2 big-disc: X 1800.0 Y 20.0" in drawing.words()


@pytest.mark.parametrize(("swivel", "corner"), [(0.0, (296.6, 0.0)), (90.0, (0.0, 296.6)), (180.0, (-296.6, 0.0))])
def test_swing_reaches_from_its_spot_to_where_the_spindle_points(build, swivel, corner):
    swing = build.query(motion=build.box(swivel=swivel))
    at = Joints(x_mm=1000, y_mm=300, z_mm=0, tilt_deg=0, swivel_deg=swivel)
    drawing = build.read(plan(build, swing=swing, at=at))

    (path,) = [e for e in drawing.one("data-part", "swept") if e.tag.endswith("}path")]
    away = [(x - 1000, y - 300) for x, y in drawing.points(path)]

    along = max(x * corner[0] + y * corner[1] for x, y in away) / 296.6
    assert along == pytest.approx(296.58, abs=0.02)


def test_a_swivel_that_turns_sweeps_the_whole_circle(build):
    swing = build.query(motion=build.box(swivel=(-180.0, 180.0)))
    drawing = build.read(plan(build, swing=swing, at=AT))

    (path,) = [e for e in drawing.one("data-part", "swept") if e.tag.endswith("}path")]
    reach = [((x - 1000) ** 2 + (y - 300) ** 2) ** 0.5 for x, y in drawing.points(path)]

    assert min(reach) == pytest.approx(max(reach), abs=0.01)
    assert max(reach) == pytest.approx(316, abs=20)


def test_place_map_covers_the_travel_with_hatches_that_differ(build):
    swing = build.query(obstacles=(FENCE,), motion=build.box(x=(1200, 3000), y=(-800, 1200), z=-40.0))
    ground = place_map(swing, required_mm=20, edge_mm=25)
    svg = plan(build, ground=ground, warn_mm=10.0)
    drawing = build.read(svg)

    kinds = {e.get("data-ground"): e.get("fill") for e in drawing.all("data-ground")}
    area = sum(_area(drawing, e) for e in drawing.all("data-ground"))

    assert {"clear", "blocked", "edge"} <= kinds.keys()
    assert len(set(kinds.values())) == len(kinds)
    assert area == pytest.approx(1800 * 2000, rel=2e-3)
    assert len(svg.encode()) < 150_000
    assert drawing.all("data-part", "roomiest")


def _area(drawing, path):
    total = 0.0
    for block in path.get("d").split("M")[1:]:
        start, rest = block.split("H", 1)
        x, y = (float(word) for word in start.split(","))
        right, rest = rest.split("V", 1)
        bottom = rest.split("H")[0]
        total += (float(right) - x) * (float(bottom) - y) * drawing.scale**2
    return total


def test_what_rides_along_is_drawn_where_it_has_ridden_to(build):
    camera = Obstacle(name="camera", outline_mm=rectangle(100, 160, -30, 30), from_mm=0, to_mm=50, frame="ram")
    drawing = build.read(plan(build, build.table, camera, swing=build.query(), at=AT))

    corners = drawing.points(drawing.one("data-name", "camera"))

    assert min(x for x, _ in corners) == pytest.approx(1100, abs=0.01)
    assert min(y for _, y in corners) == pytest.approx(270, abs=0.01)


def test_nothing_to_draw_is_said_in_a_sentence(build):
    with pytest.raises(InvalidShape, match="nothing to draw"):
        plan_view((), build.title(), verdict="unknown")


def test_a_swing_needs_its_readings(build):
    with pytest.raises(InvalidShape, match="readings"):
        plan(build, swing=build.query(head=Head(pivot_to_gauge_line_mm=1.0)))
