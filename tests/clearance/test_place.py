"""The map of free ground: against the closed form of a disc beside a wall, and spot checks anywhere."""

from __future__ import annotations

from math import hypot
from types import SimpleNamespace

import pytest

from profilekeeper.clearance import Ground, Joints, PlaceMap, Query, Section, Straight, gap, place_map
from profilekeeper.errors import InvalidShape


@pytest.fixture
def travel(build: SimpleNamespace) -> Query:
    """A disc of radius 175 held spindle down in a yard of 1000 by 600 with one post at its middle."""
    post = build.wall(name="post", x=(490, 510), y=(290, 310), z=(-500, 500))
    return build.query(  # type: ignore[no-any-return]  # a builder
        obstacles=(post,), motion=build.box(x=(0, 1000), y=(0, 600), tilt=90.0)
    )


def check(found: PlaceMap, x: float, y: float, required: float) -> None:
    """Closed form: the gap is the distance of the axis from the post, less the radius."""
    room = hypot(max(490 - x, x - 510, 0), max(290 - y, y - 310, 0)) - 175
    ground = found.ground_at(x, y)
    if ground is Ground.CLEAR:
        assert room >= required - 1e-6
    if ground is Ground.BLOCKED:
        assert room < required + 1e-6


def test_the_map_agrees_with_the_closed_form_everywhere(travel: Query) -> None:
    found = place_map(travel, required_mm=25, edge_mm=10)

    for k in range(41):
        for j in range(25):
            check(found, 25.0 * k, 25.0 * j, 25)


def test_the_edge_is_no_wider_than_asked_for(travel: Query) -> None:
    found = place_map(travel, required_mm=25, edge_mm=10)

    edges = [leaf for leaf in found.leaves if leaf.ground is Ground.EDGE]
    assert edges
    assert max(2 * max(leaf.x_mm.half, leaf.y_mm.half) for leaf in edges) <= 10
    # The edge is a ring of about 200 radius: its leaves fill a band, not the yard.
    assert sum(4 * leaf.x_mm.half * leaf.y_mm.half for leaf in edges) < 0.1 * 600_000


def test_the_leaves_cover_the_travel_once(travel: Query) -> None:
    found = place_map(travel, required_mm=25, edge_mm=40)

    assert sum(4 * leaf.x_mm.half * leaf.y_mm.half for leaf in found.leaves) == pytest.approx(600_000)
    assert 0.6 < found.clear_share() < 1 - 3.14 * 175 * 175 / 600_000


def test_the_roomiest_spot_is_certified(travel: Query, build: SimpleNamespace) -> None:
    found = place_map(travel, required_mm=25, edge_mm=40)

    spot = found.roomiest
    again = gap(build.query(obstacles=travel.obstacles, motion=build.box(x=spot.x_mm, y=spot.y_mm, tilt=90.0)))
    assert again.high_mm >= spot.gap.low_mm
    assert spot.gap.low_mm > hypot(490, 290) - 175 - 60


def test_a_swing_that_fits_nowhere_is_blocked_everywhere(build: SimpleNamespace) -> None:
    found = place_map(
        build.query(obstacles=(build.wall(z=(-500, -200)),), motion=build.box(x=(0, 500), y=(0, 500))),
        required_mm=25,
    )

    assert {leaf.ground for leaf in found.leaves} == {Ground.BLOCKED}
    assert found.clear_share() == 0.0


def test_a_travel_of_one_line_or_one_spot_is_mapped_too(travel: Query, build: SimpleNamespace) -> None:
    line, spot = (
        place_map(build.query(obstacles=travel.obstacles, motion=build.box(x=x, y=300.0, tilt=90.0)), required_mm=25)
        for x in ((0.0, 1000.0), 100.0)
    )

    check(line, 100, 300, 25)
    assert spot.ground_at(100, 300) is Ground.CLEAR
    assert spot.clear_share() == 1.0


def test_a_spot_outside_the_travel_is_refused(travel: Query) -> None:
    with pytest.raises(InvalidShape):
        place_map(travel, required_mm=25, edge_mm=100).ground_at(-5, 0)


@pytest.mark.parametrize(("required", "edge"), [(0, 10), (25, 0), (float("nan"), 10)])
def test_a_map_without_a_meaning_is_refused(travel: Query, required: float, edge: float) -> None:
    with pytest.raises(InvalidShape):
        place_map(travel, required_mm=required, edge_mm=edge)


def test_a_straight_move_has_no_map(build: SimpleNamespace) -> None:
    pose = Joints(x_mm=0, y_mm=0, z_mm=0, tilt_deg=0)
    with pytest.raises(InvalidShape):
        place_map(build.query(motion=Straight(start=pose, end=pose)), required_mm=25)


def test_the_whole_travel_of_a_saw_is_mapped_in_few_answers(build: SimpleNamespace) -> None:
    """3600 by 2000 at 10 mm would be 72,000 spots one by one."""
    zones = tuple(
        build.wall(name=f"zone {k}", x=(400 * k, 400 * k + 150), y=(150 * k, 150 * k + 300), z=(-500, -180))
        for k in range(8)
    )
    saw = build.query(
        sections=(Section.cylinder(120, 150, 175),), obstacles=zones, motion=build.box(x=(0, 3600), y=(0, 2000))
    )

    found = place_map(saw, required_mm=25, edge_mm=20)

    assert found.answers < 12_000
    assert 0 < found.clear_share() < 1


def test_a_travel_narrow_in_x_is_mapped_as_one_narrow_in_y(travel: Query, build: SimpleNamespace) -> None:
    found = place_map(
        build.query(obstacles=travel.obstacles, motion=build.box(x=(495, 505), y=(0, 600), tilt=90.0)),
        required_mm=25,
        edge_mm=5,
    )

    for y in range(0, 601, 10):
        check(found, 500, y, 25)


def test_a_map_finer_than_anyone_can_wait_for_is_refused(travel: Query) -> None:
    with pytest.raises(InvalidShape, match="coarser edge"):
        place_map(travel, required_mm=25, edge_mm=0.001, most_answers=2_000)
