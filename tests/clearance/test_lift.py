"""The rise that frees a sweep: closed forms, and what cutting and adding obstacles may do to it."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from types import SimpleNamespace

import pytest

from profilekeeper.clearance import (
    Frame,
    Head,
    Joints,
    Obstacle,
    Query,
    Section,
    Straight,
    gap,
    least_lift,
    rectangle,
)
from profilekeeper.errors import InvalidShape


@pytest.fixture
def bin_swing(build: SimpleNamespace) -> Query:
    """Common practice, no source: a 500 blade swung at Z -60 beside a bin whose top is at -190."""
    return build.query(  # type: ignore[no-any-return]  # a builder
        head=Head(pivot_to_gauge_line_mm=185.0),
        sections=(Section.cylinder(30, 34, 250),),
        obstacles=(build.wall(x=(-600, 600), y=(-600, 600), z=(-400, -190)),),
        motion=build.box(z=-60.0),
    )


@pytest.mark.parametrize("required", [0.0, 5.0, 20.0])
def test_a_blade_over_a_bin_is_freed_by_its_overlap_and_what_is_required(bin_swing: Query, required: float) -> None:
    """Closed form: sqrt(219^2 + 250^2) = 332.36 against 315 of height, so it hits by 17.36."""
    true = hypot(219, 250) - 315 + required

    found = least_lift(bin_swing, required_mm=required, room_mm=60)

    assert found.high_mm is not None
    assert found.low_mm <= true + 0.011 <= found.high_mm + 0.011
    assert found.high_mm - found.low_mm <= 0.1
    assert found.gap.low_mm >= required
    assert found.is_within_travel


def test_no_rise_within_travel_is_said(bin_swing: Query) -> None:
    found = least_lift(bin_swing, required_mm=50, room_mm=60)

    assert found.high_mm is None
    assert not found.is_within_travel
    assert found.low_mm == pytest.approx(60, abs=0.1)


def test_what_clears_already_needs_no_rise(bin_swing: Query, build: SimpleNamespace) -> None:
    found = least_lift(replace(bin_swing, motion=build.box(z=0.0)), required_mm=20, room_mm=0)

    assert (found.low_mm, found.high_mm) == (0.0, 0.0)


def test_what_rides_with_z_is_never_cleared_by_a_rise(bin_swing: Query, build: SimpleNamespace) -> None:
    guard = build.wall(x=(-600, 600), y=(-600, 600), z=(-100, 0), frame=Frame.RAM)

    assert least_lift(replace(bin_swing, obstacles=(guard,)), required_mm=5, room_mm=500).high_mm is None


def test_a_beam_above_leaves_a_window_below_it(bin_swing: Query, build: SimpleNamespace) -> None:
    """The bin asks for 17.36; a beam far enough above must not change that, one just above forbids it."""
    swing = replace(bin_swing, sections=(Section.cylinder(30, 34, 250), Section.cylinder(-200, 0, 50)))
    top = -60 + 185 + hypot(15, 50)
    high, low = (
        build.wall(name="beam", x=(-50, 50), y=(-50, 50), z=(top + above, top + above + 20)) for above in (260, 10)
    )
    free, shut = (
        least_lift(replace(swing, obstacles=(*swing.obstacles, beam)), required_mm=1, room_mm=40)
        for beam in (high, low)
    )

    assert free.high_mm == pytest.approx(hypot(219, 250) - 314, abs=0.1)
    assert shut.high_mm is None


def test_cutting_an_obstacle_does_not_change_the_lift(bin_swing: Query) -> None:
    (whole,) = bin_swing.obstacles
    parts = (
        replace(whole, to_mm=-300),
        replace(whole, from_mm=-300, outline_mm=rectangle(-600, 7, -600, 600)),
        replace(whole, from_mm=-300, outline_mm=rectangle(7, 600, -600, 600)),
    )

    one, cut = (
        least_lift(replace(bin_swing, obstacles=obstacles), required_mm=3, room_mm=60)
        for obstacles in ((whole,), parts)
    )

    assert one.high_mm is not None
    assert cut.high_mm is not None
    assert max(one.low_mm, cut.low_mm) <= min(one.high_mm, cut.high_mm)


def test_more_obstacles_never_lower_the_lift(bin_swing: Query, build: SimpleNamespace) -> None:
    post = build.wall(name="post", x=(180, 190), y=(-5, 5), z=(-400, -100))

    few, more = (
        least_lift(replace(bin_swing, obstacles=obstacles), required_mm=3, room_mm=300)
        for obstacles in (bin_swing.obstacles, (*bin_swing.obstacles, post))
    )

    assert few.high_mm is not None
    assert more.high_mm is not None
    assert more.high_mm >= few.low_mm


def test_after_the_rise_it_clears_and_a_little_below_it_does_not(bin_swing: Query, build: SimpleNamespace) -> None:
    ridge = Obstacle(
        name="ridge", outline_mm=((100, -300), (420, -40), (380, 280), (240, 60)), from_mm=-400, to_mm=-100
    )
    swing = replace(bin_swing, obstacles=(ridge,), motion=build.box(z=-60.0, swivel=(-30, 60)))

    found = least_lift(swing, required_mm=4, room_mm=400)

    assert found.high_mm is not None
    assert found.high_mm - found.low_mm <= 0.1
    below = replace(swing, motion=build.box(z=-60.0 + found.low_mm - 0.05, swivel=(-30, 60)), width_mm=1e-3)
    assert gap(below).high_mm < 4


def test_a_straight_move_is_lifted_whole(bin_swing: Query) -> None:
    """Spindle level, the rim hangs 250 below the pivot at 185 - 140; the bin's top is at -190: 17 + 2 wanted."""
    start, end = (Joints(x_mm=x, y_mm=0, z_mm=-142, tilt_deg=0) for x in (-2000, 2000))

    found = least_lift(replace(bin_swing, motion=Straight(start=start, end=end)), required_mm=2, room_mm=400)

    assert found.high_mm == pytest.approx(250 - (185 - 142 + 190) + 2, abs=0.1)


@pytest.mark.parametrize(("required", "room"), [(-1, 5), (1, -5), (float("nan"), 5), (1, float("inf"))])
def test_a_margin_without_meaning_is_refused(bin_swing: Query, required: float, room: float) -> None:
    with pytest.raises(InvalidShape):
        least_lift(bin_swing, required_mm=required, room_mm=room)
