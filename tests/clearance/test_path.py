"""Moves: which readings they pass, and where they first touch."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from profilekeeper.clearance import (
    Head,
    JointBox,
    Joints,
    Query,
    Section,
    Straight,
    SwivelWay,
    any_path,
    first_contact,
    gap,
    in_order,
    leg_gaps,
    swivel_span,
    together,
)
from profilekeeper.errors import InvalidShape

HERE = Joints(x_mm=-500, y_mm=0, z_mm=-200, tilt_deg=0, swivel_deg=0)
THERE = Joints(x_mm=500, y_mm=100, z_mm=0, tilt_deg=90, swivel_deg=90)


@pytest.fixture
def pin(build: SimpleNamespace) -> Query:
    """A pin of radius 10 pointing down, 100 long, and a wall across X at 0 to 20, up to Z -150."""
    return build.query(  # type: ignore[no-any-return]  # a builder
        head=Head(pivot_to_gauge_line_mm=0.0),
        sections=(Section.cylinder(0, 100, 10),),
        obstacles=(build.wall(x=(0, 20), z=(-600, -150)),),
    )


@pytest.mark.parametrize(
    ("start", "end", "way", "low", "high"),
    [
        (170, -170, SwivelWay.AS_READ, -170, 170),
        (170, -170, SwivelWay.SHORTEST, 170, 190),
        (-170, 170, SwivelWay.SHORTEST, -190, -170),
        (10, 50, SwivelWay.SHORTEST, 10, 50),
        (0, 180, SwivelWay.SHORTEST, 0, 180),
        (700, 20, SwivelWay.SHORTEST, 700, 740),
        (30, 40, SwivelWay.UNKNOWN, -150, 210),
    ],
)
def test_the_swivel_passes_what_its_way_round_says(
    start: float, end: float, way: SwivelWay, low: float, high: float
) -> None:
    span = swivel_span(start, end, way)

    assert (span.low, span.high) == (low, high)


def test_any_path_is_the_box_of_both_ends() -> None:
    box = any_path(THERE, HERE)

    assert (box.x_mm.low, box.x_mm.high) == (-500, 500)
    assert (box.tilt_deg.low, box.tilt_deg.high) == (0, 90)


def test_an_order_is_a_sequence_of_smaller_boxes() -> None:
    legs = in_order(HERE, THERE, [["Z"], ["A", "C"], ["X", "Y"]])

    assert [type(leg) for leg in legs] == [Straight, JointBox, JointBox]
    assert isinstance(legs[1], JointBox)
    assert (legs[1].z_mm.low, legs[1].x_mm.high, legs[1].tilt_deg.high) == (0, -500, 90)


@pytest.mark.parametrize(
    ("groups", "says"),
    [
        ([["Z"], ["A", "C"], ["X"]], "Y moves"),
        ([["Z", "Z"], ["A", "C", "X", "Y"]], "twice"),
        ([["Z", "B"], ["A", "C", "X", "Y"]], "names B"),
    ],
)
def test_an_order_that_leaves_something_open_is_refused(groups: list[list[str]], says: str) -> None:
    with pytest.raises(InvalidShape, match=says):
        in_order(HERE, THERE, groups)


def test_together_needs_to_know_which_way_round() -> None:
    with pytest.raises(InvalidShape):
        together(HERE, THERE, SwivelWay.UNKNOWN)
    assert together(replace(HERE, swivel_deg=170), replace(THERE, swivel_deg=-170), SwivelWay.SHORTEST).end == replace(
        THERE, swivel_deg=190
    )


def test_the_order_decides_whether_a_rapid_is_free(pin: Query) -> None:
    down, up = replace(HERE, tilt_deg=90), replace(THERE, tilt_deg=90, swivel_deg=0, y_mm=0)

    any_order = gap(replace(pin, motion=any_path(down, up)))
    z_first = leg_gaps(pin, in_order(down, up, [["Z"], ["X"]]))
    x_first = leg_gaps(pin, in_order(down, up, [["X"], ["Z"]]))

    assert any_order.is_contact
    assert min(leg.low_mm for leg in z_first) == pytest.approx(50, abs=0.1)
    assert min(leg.high_mm for leg in x_first) == 0.0


def test_the_first_contact_of_a_straight_move_is_where_the_closed_form_puts_it(pin: Query) -> None:
    """The pin's flank, radius 10, meets the wall at X 0 when the axis stands at X -10."""
    start, end = (replace(HERE, x_mm=x, tilt_deg=90) for x in (-500, 500))

    found = first_contact(pin, [together(start, end)])

    assert found is not None
    assert found.free_share is not None
    assert found.hit_share is not None
    assert found.free_share <= 0.49 <= found.hit_share + 1e-9
    assert (found.hit_share - found.free_share) * 1000 <= 0.1
    assert found.gap.joints.x_mm == pytest.approx(-10, abs=0.1)


def test_the_first_contact_names_its_leg_and_earlier_ones_are_free(pin: Query) -> None:
    end = replace(HERE, x_mm=500, tilt_deg=90)
    legs = in_order(HERE, end, [["A"], ["X"]])

    found = first_contact(pin, legs)

    assert found is not None
    assert found.leg == 1
    assert found.is_proven
    assert leg_gaps(pin, legs)[0].low_mm > 100


def test_a_leg_of_unknown_order_has_contact_but_no_when(pin: Query) -> None:
    found = first_contact(pin, [any_path(replace(HERE, tilt_deg=90), replace(THERE, tilt_deg=90))])

    assert found is not None
    assert (found.free_share, found.hit_share) == (None, None)


def test_a_free_move_has_no_first_contact(pin: Query) -> None:
    assert first_contact(pin, [together(replace(HERE, z_mm=0), replace(THERE, z_mm=50))]) is None


def test_a_move_that_starts_in_contact_touches_at_once(pin: Query) -> None:
    inside = replace(HERE, x_mm=10, tilt_deg=90)

    found = first_contact(pin, [together(inside, replace(inside, z_mm=0))])

    assert found is not None
    assert found.hit_share == pytest.approx(0.0, abs=1e-3)
