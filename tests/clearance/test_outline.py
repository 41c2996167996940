"""Outlines cut into convex pieces, against shapely as the planar oracle."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, unary_union

from profilekeeper.clearance.outline import convex_pieces, turn
from profilekeeper.errors import InvalidShape

NOTCHED = ((0, 0), (10, 0), (10, 8), (9, 8), (9, 1), (1, 1), (1, 8), (0, 8))
COMB = ((0, 0), (9, 0), (9, 5), (8, 5), (8, 1), (6, 1), (6, 5), (5, 5), (5, 1), (3, 1), (3, 5), (2, 5), (2, 1), (0, 1))


@st.composite
def star_outlines(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """Star-shaped about the origin, so never crossing themselves; mostly concave."""
    count = draw(st.integers(3, 14))
    radii = draw(st.lists(st.floats(1.0, 400.0), min_size=count, max_size=count))
    lead = draw(st.floats(0, 1))
    return tuple(
        (r * cos(2 * pi * (k + lead) / count), r * sin(2 * pi * (k + lead) / count)) for k, r in enumerate(radii)
    )


@pytest.mark.parametrize(
    ("outline", "count"),
    [(((0, 0), (4, 0), (4, 4), (0, 4)), 1), (NOTCHED, 3), (COMB, 4)],
    ids=["square", "notched", "comb"],
)
def test_an_outline_is_cut_into_few_convex_pieces(outline: tuple[tuple[float, float], ...], count: int) -> None:
    pieces = convex_pieces(outline)

    assert len(pieces) <= count + 1
    assert unary_union([Polygon(p) for p in pieces]).symmetric_difference(Polygon(outline)).area < 1e-9


@given(star_outlines())
def test_the_pieces_fill_the_outline_do_not_overlap_and_are_convex(outline: tuple[tuple[float, float], ...]) -> None:
    pieces = convex_pieces(outline)

    area = Polygon(outline).area
    assert sum(Polygon(piece).area for piece in pieces) == pytest.approx(area, rel=1e-9)
    assert unary_union([Polygon(piece).buffer(1e-9) for piece in pieces]).area == pytest.approx(area, rel=1e-6)
    for piece in pieces:
        corners = zip(piece[-2:] + piece[:-2], piece[-1:] + piece[:-1], piece, strict=True)
        assert all(turn(a, b, c) >= 0 for a, b, c in corners)


def test_the_way_round_and_repeated_or_straight_corners_change_nothing() -> None:
    plain = convex_pieces(((0, 0), (4, 0), (4, 4), (0, 4)))
    other = convex_pieces(((0, 4), (4, 4), (4, 4), (4, 0), (2, 0), (0, 0), (0, 4)))

    assert [Polygon(p).area for p in plain] == [Polygon(p).area for p in other] == [16.0]


@pytest.mark.parametrize(
    "outline",
    [
        ((0, 0), (4, 4), (4, 0), (0, 4)),
        ((0, 0), (4, 0), (4, 4), (2, 0), (0, 4)),
        ((0, 0), (4, 0), (2, 0), (2, 3)),
        ((0, 0), (1, 1)),
        ((0, 0), (1, 1), (2, 2)),
        (),
        ((0, 0), (1, 0), (float("nan"), 1)),
    ],
    ids=["crosses", "touches", "runs back", "two corners", "on one line", "empty", "not a number"],
)
def test_an_outline_without_a_meaning_is_refused(outline: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(InvalidShape):
        convex_pieces(outline)


def test_the_refusal_says_which_sides_meet() -> None:
    with pytest.raises(InvalidShape, match=r"side 1, from \(0, 0\) to \(4, 4\), meets its side 3"):
        convex_pieces(((0, 0), (4, 4), (4, 0), (0, 4)))


def test_a_turn_too_small_for_doubles_is_still_told() -> None:
    a, b = (0.1, 0.1), (0.3, 0.3)

    assert turn(a, b, (0.7, 0.7)) == -turn(b, a, (0.7, 0.7))
    assert turn((0.0, 0.0), (1e16, 1e16), (1.0, 1.0000000000000002)) == 1
