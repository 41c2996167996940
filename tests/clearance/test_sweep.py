"""Certified gaps against closed forms and published distances; every source stands beside its numbers."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, degrees, hypot, radians, sin, sqrt
from types import SimpleNamespace

import pytest

from profilekeeper.clearance import (
    AngleMap,
    Frame,
    Head,
    Joints,
    Obstacle,
    Query,
    Section,
    Straight,
    TipHeld,
    gap,
    gaps,
    hard_and_soft,
    rectangle,
    slab_on,
)
from profilekeeper.errors import InvalidShape


def holds(found: object, true_mm: float) -> bool:
    return found.low_mm <= true_mm <= found.high_mm and found.settled and found.width_mm <= 0.1  # type: ignore[attr-defined]


# Lowest point of a tilting disc, closed form: sqrt(B^2 + R^2) at tan(angle from upright) = R / B; three of
# the rows are Pythagorean triples, exact by hand.
DISCS = [
    (175, 150, 230.4886114, 49.398705),
    (150, 130, 198.4943324, 49.085617),
    (250, 195, 317.0567773, 52.045769),
    (200, 150, 250.0, 53.130102),
    (160, 120, 200.0, 53.130102),
    (120, 50, 130.0, 67.380135),
]


@pytest.mark.parametrize(("radius", "face", "reach", "from_down"), DISCS)
def test_a_tilting_disc_reaches_its_closed_form_depth(
    build: SimpleNamespace, radius: float, face: float, reach: float, from_down: float
) -> None:
    found = gap(build.query(sections=(Section.cylinder(face - 20, face, radius),), width_mm=1e-4))

    assert found.low_mm - 1e-6 <= 500 - reach <= found.high_mm + 1e-6
    assert found.joints.tilt_deg == pytest.approx(90 - from_down, abs=0.1)
    assert found.boxes == 1


# Disc R 175, faces at 120 and 150, pivot 400 above the table, slab 30 thick from x = edge outwards:
# planar section by shapely and 3-D distance by coal 3.0.3 agree on these to 5e-8, on a grid of 0.1
# degrees, so each is a little above the truth (reach * (0.05 degrees)^2 / 2 bounds by how much).
@pytest.mark.parametrize(
    ("edge", "gap_mm"),
    [(0, 139.511389), (100, 152.786792), (200, 190.106211), (250, 216.053804), (300, 245.851683)],
)
def test_a_disc_swings_past_a_slab_edge(build: SimpleNamespace, edge: float, gap_mm: float) -> None:
    slab = build.wall(x=(edge, 4000), z=(0, 30))

    coarse, fine = gaps(
        [build.query(obstacles=(slab,), motion=build.box(z=400), width_mm=width) for width in (0.1, 1e-4)]
    )

    assert coarse.low_mm <= gap_mm <= coarse.high_mm + 3e-4
    assert fine.low_mm - 1e-6 <= gap_mm <= fine.high_mm + 3e-4
    assert fine.width_mm <= 1e-4


def test_the_ends_of_the_tilt_alone_would_promise_too_much(build: SimpleNamespace) -> None:
    """Closed form for the same disc over a 30 mm slab: 139.511389 over 0..90, 195 at one end, 220 at the other."""
    slab = build.wall(z=(0, 30))

    whole, held, level, down = gaps(
        [
            build.query(obstacles=(slab,), motion=build.box(z=400, tilt=tilt))
            for tilt in ((0.0, 90.0), (45.0, 90.0), 0.0, 90.0)
        ]
    )

    assert holds(whole, 139.511389)
    assert holds(held, 140.190296)
    assert holds(level, 195.0)
    assert holds(down, 220.0)


# Common practice, no source: a 500 blade 34 from the nose on a head of 185; D = 219.
@pytest.mark.parametrize(
    ("radius", "offset", "reach"),
    [(200, 0, 296.6), (250, 0, 332.4), (250, -60, 379.6), (250, 60, 289.9)],
    ids=["400 blade", "500 blade", "axis 60 below", "axis 60 above"],
)
def test_a_blade_reaches_as_deep_as_the_trade_reckons(
    build: SimpleNamespace, radius: float, offset: float, reach: float
) -> None:
    head = Head(pivot_to_gauge_line_mm=185.0, tilt_to_spindle_mm=(offset, 0.0))

    found = gap(
        build.query(head=head, sections=(Section.cylinder(30, 34, radius),), motion=build.box(swivel=(-180, 180)))
    )

    assert 185 + 500 - found.high_mm == pytest.approx(reach, abs=0.1)
    assert found.low_mm <= 685 - hypot(219, radius - offset) <= found.high_mm


def test_a_tilt_angle_where_the_peak_lies_is_found_from_the_other_zero(build: SimpleNamespace) -> None:
    """A reading that is 0 with the spindle down and counts the other way gives the same gap."""
    plain, turned = gaps(
        [
            build.query(obstacles=(build.wall(x=(100, 4000)),)),
            build.query(
                obstacles=(build.wall(x=(100, 4000)),),
                head=Head(pivot_to_gauge_line_mm=0.0, tilt=AngleMap(sense=-1.0, zero_deg=90.0)),
            ),
        ]
    )

    assert turned.low_mm == pytest.approx(plain.low_mm, abs=1e-9)
    assert turned.joints.tilt_deg == pytest.approx(90 - plain.joints.tilt_deg)


# Closed forms of simple solids: Pythagoras between nearest faces, edges and corners.
@pytest.mark.parametrize(
    ("x", "y", "z", "true"),
    [
        ((5, 9), (-50, 50), (-50, 50), 4.0),
        ((4, 9), (5, 9), (-50, 50), sqrt(41) - 1),
        ((-9, 9), (-9, 9), (-9, -3), 2.0),
        ((4, 9), (-50, 50), (5, 9), 5.0),
    ],
    ids=["face", "edge beside", "below", "edge above"],
)
def test_a_still_cylinder_keeps_its_plain_distance(
    build: SimpleNamespace, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float], true: float
) -> None:
    still = build.box(tilt=90.0)

    pin, block = Section.cylinder(-1, 1, 1), build.wall(x=x, y=y, z=z)
    found = gap(build.query(sections=(pin,), obstacles=(block,), motion=still, width_mm=1e-4))

    assert found.low_mm == pytest.approx(true, abs=1e-4)
    assert found.high_mm == pytest.approx(true, abs=1e-4)


def test_a_translation_is_never_split(build: SimpleNamespace) -> None:
    found = gap(
        build.query(
            motion=build.box(x=(-900, 900), y=(-900, 900), z=(-100, 0)), obstacles=(build.wall(z=(-1000, -500)),)
        )
    )

    assert holds(found, 400 - hypot(150, 175))
    assert found.boxes == 1
    assert found.joints.z_mm == pytest.approx(-100)


def test_a_free_swivel_over_a_flat_slab_costs_no_split(build: SimpleNamespace) -> None:
    found = gap(build.query(motion=build.box(swivel=(-1000, 1000))))

    assert holds(found, 500 - hypot(150, 175))
    assert found.boxes == 1


def test_a_swivel_across_180_meets_what_stands_behind(build: SimpleNamespace) -> None:
    post = build.wall(x=(-410, -400), y=(-5, 5), z=(-500, 500))
    needle = (Section.cylinder(0, 300, 0, name="needle"),)

    across, short = gaps(
        [
            build.query(sections=needle, obstacles=(post,), motion=build.box(tilt=0.0, swivel=swivel))
            for swivel in ((150.0, 210.0), (100.0, 170.0))
        ]
    )

    assert holds(across, 100.0)
    assert across.joints.swivel_deg == pytest.approx(180, abs=1.5)
    assert short.low_mm > 100.1


def test_a_swivel_that_is_held_and_one_that_is_free_differ(build: SimpleNamespace) -> None:
    behind = build.wall(x=(-600, -350), y=(-50, 50), z=(-100, 100))

    held, free = gaps(
        [build.query(obstacles=(behind,), motion=build.box(swivel=swivel)) for swivel in (0.0, (0.0, 360.0))]
    )

    assert held.low_mm > 100
    assert free.is_contact is (hypot(150, 175) > 350)
    assert free.high_mm < held.low_mm


def test_a_post_swallowed_by_a_disc_is_contact(build: SimpleNamespace) -> None:
    post = build.wall(x=(49, 51), y=(49, 51), z=(-140, -130))

    found = gap(build.query(obstacles=(post,), motion=build.box(tilt=90.0)))

    assert found.is_contact
    assert found.low_mm == 0.0


def test_a_tool_inside_an_obstacle_is_contact(build: SimpleNamespace) -> None:
    assert gap(build.query(obstacles=(build.wall(z=(-900, 900)),))).is_contact


def test_touching_exactly_counts_as_contact(build: SimpleNamespace) -> None:
    found = gap(build.query(obstacles=(build.wall(z=(-900, -150)),), motion=build.box(tilt=90.0)))

    assert found.is_contact


def test_a_notch_leaves_room_that_its_hull_would_not(build: SimpleNamespace) -> None:
    notch = ((-300, -300), (300, -300), (300, 300), (250, 300), (250, -250), (-250, -250), (-250, 300), (-300, 300))
    walls = Obstacle(name="notch", outline_mm=notch, from_mm=-200, to_mm=200)

    inside = gap(build.query(obstacles=(walls,), motion=build.box(tilt=90.0)))

    assert holds(inside, 250 - 175)


def test_the_nearest_section_and_obstacle_are_named(build: SimpleNamespace) -> None:
    far, near = build.wall(name="far"), build.wall(name="near", z=(-400, -390))
    shank = Section.cylinder(0, 120, 20, name="shank")
    disc = Section.cylinder(120, 150, 175, name="disc")

    found = gap(build.query(sections=(shank, disc), obstacles=(far, near)))

    assert (found.section.name, found.obstacle.name) == ("disc", "near")
    assert found.point_on_obstacle_mm[2] == pytest.approx(-390)
    assert found.point_on_tool_mm[2] == pytest.approx(-hypot(150, 175), abs=0.01)


@pytest.mark.parametrize(
    ("frame", "moved"),
    [
        (Frame.FLOOR, True),
        (Frame.TABLE, True),
        (Frame.BRIDGE, False),
        (Frame.CARRIAGE, False),
        (Frame.RAM, False),
        (Frame.SWIVEL, False),
    ],
)
def test_what_rides_along_in_x_stays_as_far(build: SimpleNamespace, frame: Frame, moved: bool) -> None:
    beam = build.wall(x=(400, 500), y=(-100, 100), z=(-100, 100), frame=frame)

    here, there = gaps([build.query(obstacles=(beam,), motion=build.box(x=x)) for x in (0.0, -50.0)])

    assert there.high_mm - here.high_mm == pytest.approx(50.0 if moved else 0.0, abs=0.1)


def test_a_guard_on_the_swivel_turns_with_it(build: SimpleNamespace) -> None:
    sideways = {"x": (-50, 50), "y": (200, 240), "z": (-300, 300)}
    on_swivel, on_ram = (build.wall(frame=frame, **sideways) for frame in (Frame.SWIVEL, Frame.RAM))

    turned, still = gaps(
        [build.query(obstacles=(guard,), motion=build.box(tilt=0.0, swivel=90.0)) for guard in (on_swivel, on_ram)]
    )

    assert holds(turned, hypot(120 - 50, 200 - 175)) or holds(turned, 70.0)
    assert still.high_mm < turned.low_mm


def test_a_table_that_moves_in_x_leaves_the_floor_where_it_was(build: SimpleNamespace) -> None:
    head = Head(pivot_to_gauge_line_mm=0.0, table_axes=frozenset("X"))
    post = {"x": (300, 310), "y": (-5, 5), "z": (-500, 500)}

    floor, table = (
        [
            gap(build.query(head=head, obstacles=(build.wall(frame=frame, **post),), motion=build.box(x=x))).high_mm
            for x in (0.0, -40.0)
        ]
        for frame in (Frame.FLOOR, Frame.TABLE)
    )

    assert floor[0] == pytest.approx(floor[1], abs=0.1)
    assert table[1] == pytest.approx(table[0] + 40, abs=0.1)


def test_with_the_tip_held_the_disc_turns_about_its_tip(build: SimpleNamespace) -> None:
    """Closed form: a disc of radius r whose face centre is the held tip sinks by r * cos(tilt) below it."""
    head = Head(pivot_to_gauge_line_mm=50.0, tilt_to_spindle_mm=(30.0, 0.0), swivel_to_tilt_mm=(20.0, 10.0))
    tip = TipHeld(tip_mm=100.0, start_tilt_deg=90.0)
    disc = (Section.cylinder(100, 100, 175),)

    held = gap(
        build.query(head=head, sections=disc, motion=build.box(tilt=(30.0, 90.0), swivel=(0, 360)), tip_held=tip)
    )

    assert holds(held, 500 - 100 - 175 * cos(radians(30)))
    assert held.joints.z_mm != 0.0
    tip_at = head.axis_point(held.joints, 100.0)
    assert tip_at == pytest.approx(head.axis_point(Joints(x_mm=0, y_mm=0, z_mm=0, tilt_deg=90.0), 100.0))


def test_compensation_changes_what_the_bridge_sees(build: SimpleNamespace) -> None:
    beam = build.wall(x=(300, 400), y=(-900, 900), z=(-900, 900), frame=Frame.BRIDGE)
    tip = TipHeld(tip_mm=150.0, start_tilt_deg=90.0)

    off, on = gaps([build.query(obstacles=(beam,), tip_held=held, width_mm=0.01) for held in (None, tip)])

    # The beam rides with X, so along X only the turning about the pivot counts, compensated or not.
    assert on.low_mm == pytest.approx(off.low_mm, abs=0.02)


@pytest.mark.parametrize("swivel", [0.0, 140.0])
def test_a_straight_move_is_the_least_over_its_poses(build: SimpleNamespace, swivel: float) -> None:
    post = build.wall(x=(0, 20), y=(150, 170), z=(-600, -200))
    start = Joints(x_mm=-700, y_mm=0, z_mm=0, tilt_deg=5)
    end = Joints(x_mm=600, y_mm=100, z_mm=40, tilt_deg=85, swivel_deg=swivel)
    move = Straight(start=start, end=end)

    found = gap(build.query(obstacles=(post,), motion=move))
    poses = gaps(
        [
            build.query(obstacles=(post,), motion=Straight(start=pose, end=pose))
            for pose in (move.at(k / 400) for k in range(401))
        ]
    )

    least = min(pose.high_mm for pose in poses)
    assert found.low_mm <= least
    assert found.high_mm <= least + 0.1
    assert found.settled


def test_an_answer_may_be_asked_for_much_closer(build: SimpleNamespace) -> None:
    found = gap(build.query(obstacles=(build.wall(x=(100, 4000)),), width_mm=1e-3, motion=build.box(swivel=(-90, 90))))

    assert found.width_mm <= 1e-3
    assert found.settled


def test_gaps_answers_many_as_it_answers_one(build: SimpleNamespace) -> None:
    asked = [build.query(obstacles=(build.wall(x=(edge, 4000)),)) for edge in range(0, 300, 25)]

    together = gaps(asked)

    for one, alone in zip(together, map(gap, asked), strict=True):
        assert max(one.low_mm, alone.low_mm) <= min(one.high_mm, alone.high_mm)
    assert gaps([]) == ()


def test_the_witness_points_belong_to_tool_and_obstacle(build: SimpleNamespace) -> None:
    cone = Section(from_mm=20, to_mm=140, radius_from_mm=200, radius_to_mm=40)
    asked = build.query(sections=(cone,), obstacles=(build.wall(x=(90, 500), z=(-400, -120)),))

    found = gap(asked)

    head, pose = asked.head, found.joints
    direction, nose = head.spindle_direction(pose), head.axis_point(pose, 0.0)
    out = [p - n for p, n in zip(found.point_on_tool_mm, nose, strict=True)]
    along = sum(a * b for a, b in zip(out, direction, strict=True))
    across = sqrt(max(sum(a * a for a in out) - along * along, 0.0))
    assert 20 - 1e-6 <= along <= 140 + 1e-6
    assert across <= 200 - (along - 20) * 160 / 120 + 1e-6
    x, y, z = found.point_on_obstacle_mm
    assert 90 - 1e-9 <= x <= 500 + 1e-9
    assert abs(y) <= 3000
    assert -400 - 1e-9 <= z <= -120 + 1e-9


def test_a_point_of_no_radius_and_no_length_is_a_point(build: SimpleNamespace) -> None:
    needle = (Section.cylinder(100, 100, 0),)

    assert holds(gap(build.query(sections=needle)), 400.0)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda build: build.box(tilt=(10.0, 5.0)),
        lambda build: build.box(x=float("nan")),
        lambda build: Section.cylinder(10, 5, 3),
        lambda build: Section.cylinder(0, 5, -3),
        lambda build: Section.cylinder(0, float("inf"), 3),
        lambda build: build.wall(z=(5, 3)),
        lambda build: build.wall(outline_mm=((0, 0), (4, 4), (4, 0), (0, 4))),
        lambda build: build.query(sections=()),
        lambda build: build.query(obstacles=()),
        lambda build: build.query(width_mm=0.0),
        lambda build: build.wall(z=(5, float("inf"))),
        lambda build: Head(pivot_to_gauge_line_mm=float("nan")),
        lambda build: AngleMap(sense=0.0),
        lambda build: Joints(x_mm=0, y_mm=float("inf"), z_mm=0, tilt_deg=0),
        lambda build: slab_on(-400, 0, rectangle(0, 1, 0, 1)),
        lambda build: Head(pivot_to_gauge_line_mm=0.0, table_axes=frozenset("C")),
    ],
)
def test_what_has_no_meaning_is_refused(build: SimpleNamespace, wrong: object) -> None:
    with pytest.raises(InvalidShape):
        wrong(build)  # type: ignore[operator]


def test_the_axis_point_agrees_with_the_gauge_line_identity() -> None:
    """Spindle down, the gauge line stands at the Z reading, whatever the head's length and offsets."""
    head = Head(pivot_to_gauge_line_mm=185.0, swivel_to_tilt_mm=(40.0, -10.0), tilt_to_spindle_mm=(60.0, 5.0))
    down = Joints(x_mm=10, y_mm=20, z_mm=-75, tilt_deg=90, swivel_deg=30)

    x, y, z = head.axis_point(down, 0.0)

    assert z == pytest.approx(-75)
    assert (x, y) == pytest.approx(
        (10 + 100 * cos(radians(30)) + 5 * sin(radians(30)), 20 + 100 * sin(radians(30)) - 5 * cos(radians(30)))
    )


def test_the_pose_found_is_where_the_closed_form_puts_it(build: SimpleNamespace) -> None:
    found = gap(build.query(sections=(Section.cylinder(0, 150, 80),), width_mm=1e-5))

    assert found.joints.tilt_deg == pytest.approx(degrees(atan2(150, 80)), abs=0.05)


def test_a_query_keeps_its_plain_records(build: SimpleNamespace) -> None:
    asked = build.query()

    assert isinstance(asked, Query)
    assert hash(asked) == hash(build.query())


def test_bristles_are_judged_apart_from_what_is_hard(build: SimpleNamespace) -> None:
    core = Section.cylinder(60, 100, 150, name="core")
    bristles = Section.cylinder(100, 130, 175, soft=True, name="bristles")

    both = hard_and_soft(build.query(sections=(core, bristles)))
    plain = hard_and_soft(build.query(sections=(core,)))

    assert both.hard is not None
    assert both.soft is not None
    assert holds(both.hard, 500 - hypot(100, 150))
    assert holds(both.soft, 500 - hypot(130, 175))
    assert plain.soft is None


def test_a_straight_move_with_the_tip_held_names_the_readings_it_really_passes(build: SimpleNamespace) -> None:
    head = Head(pivot_to_gauge_line_mm=150.0, tilt_to_spindle_mm=(25.0, 0.0))
    post = build.wall(x=(0, 30), y=(120, 160), z=(-600, -40))
    start = Joints(x_mm=-300, y_mm=0, z_mm=0, tilt_deg=20)
    end = Joints(x_mm=300, y_mm=0, z_mm=30, tilt_deg=90, swivel_deg=60)
    asked = build.query(head=head, obstacles=(post,), motion=Straight(start=start, end=end))

    found = gap(replace(asked, tip_held=TipHeld(tip_mm=150.0)))
    still = gap(replace(asked, motion=Straight(start=found.joints, end=found.joints)))

    assert found.settled
    assert found.low_mm <= still.high_mm
    assert still.low_mm <= found.high_mm
    assert abs(found.high_mm - still.high_mm) < 0.2


def test_a_slab_lies_on_what_is_under_it_and_rides_with_the_table() -> None:
    slab = slab_on(-330.0, 30.0, rectangle(0, 3000, 0, 1800))

    assert (slab.from_mm, slab.to_mm, slab.frame, slab.name) == (-330.0, -300.0, Frame.TABLE, "slab")


def test_a_guard_on_the_swivel_sees_only_the_tilt_of_a_straight_move(build: SimpleNamespace) -> None:
    guard = build.wall(x=(300, 340), y=(-50, 50), z=(-300, 300), frame=Frame.SWIVEL)
    move = Straight(
        start=Joints(x_mm=0, y_mm=0, z_mm=0, tilt_deg=0),
        end=Joints(x_mm=900, y_mm=50, z_mm=-90, tilt_deg=90, swivel_deg=170),
    )

    moving, tilting = gaps([build.query(obstacles=(guard,), motion=motion) for motion in (move, build.box())])

    assert max(moving.low_mm, tilting.low_mm) <= min(moving.high_mm, tilting.high_mm)
    assert holds(moving, 300 - hypot(150, 175))


def test_an_interval_too_narrow_to_reach_is_said_to_be_unsettled_and_holds_all_the_same(
    build: SimpleNamespace,
) -> None:
    """Narrower than the outward rounding: no search can get there."""
    found = gap(build.query(obstacles=(build.wall(x=(100, 4000)),), width_mm=1e-9))

    assert not found.settled
    assert found.low_mm <= gap(build.query(obstacles=(build.wall(x=(100, 4000)),), width_mm=1e-3)).high_mm
    assert found.width_mm < 1e-3
