"""Cells called surely blocked: every spot asked in them is in contact; the rest is covered once."""

from __future__ import annotations

import random

import pytest
import shapely

from profilekeeper.actions.deep_contact import drawn_in, sorted_travel
from profilekeeper.clearance import Head, JointBox, Obstacle, Query, Section, Span, gap, rectangle

L_SHAPE = ((0.0, 0.0), (2000.0, 0.0), (2000.0, 700.0), (900.0, 700.0), (900.0, 1500.0), (0.0, 1500.0))


def _query(x: Span, y: Span) -> Query:
    still = Span.at(0.0)
    motion = JointBox(x_mm=x, y_mm=y, z_mm=still, tilt_deg=Span(low=0.0, high=92.0), swivel_deg=still)
    block = Obstacle(name="block", outline_mm=L_SHAPE, from_mm=-900.0, to_mm=-100.0)
    blade = Section.cylinder(30, 34, 250.0, name="blade")
    return Query(head=Head(pivot_to_gauge_line_mm=185.0), sections=(blade,), obstacles=(block,), motion=motion)


def test_blocked_cells_and_open_parts_cover_the_travel_once() -> None:
    query = _query(Span(low=-600.0, high=3000.0), Span(low=-500.0, high=2100.0))
    found = sorted_travel(query, 10.0)

    boxes = [shapely.box(p.x_mm.low, p.y_mm.low, p.x_mm.high, p.y_mm.high) for p in (*found.blocked, *found.open)]

    assert found.blocked
    assert found.open
    assert sum(b.area for b in boxes) == pytest.approx(3600.0 * 2600.0)
    assert shapely.union_all(boxes).area == pytest.approx(3600.0 * 2600.0)


def test_every_spot_of_a_blocked_cell_is_in_contact() -> None:
    found = sorted_travel(_query(Span(low=-600.0, high=3000.0), Span(low=-500.0, high=2100.0)), 10.0)
    choose = random.Random(7)

    for leaf in choose.sample(found.blocked, 60):
        x = choose.choice((leaf.x_mm.low, leaf.x_mm.high, choose.uniform(leaf.x_mm.low, leaf.x_mm.high)))
        y = choose.choice((leaf.y_mm.low, leaf.y_mm.high, choose.uniform(leaf.y_mm.low, leaf.y_mm.high)))
        assert gap(_query(Span.at(x), Span.at(y))).high_mm <= 1e-6


@pytest.mark.parametrize("turned", [1, -1])
@pytest.mark.parametrize("by", [1.0, 40.0, 149.0])
def test_an_outline_drawn_in_is_that_of_a_general_library(by: float, turned: int) -> None:
    outline = ((0.0, 0.0), (900.0, -100.0), (1000.0, 350.0), (400.0, 500.0), (-50.0, 380.0))[::turned]

    ours = shapely.Polygon(drawn_in(outline, by))
    theirs = shapely.Polygon(outline).buffer(-by, join_style="mitre")  # shapely: the inward offset of a polygon

    assert ours.symmetric_difference(theirs).area < 1e-3 * theirs.area


def test_an_outline_narrower_than_twice_the_amount_is_gone() -> None:
    assert drawn_in(rectangle(0.0, 100.0, 0.0, 900.0), 51.0) == ()
