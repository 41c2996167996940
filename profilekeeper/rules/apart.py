"""How far apart two outlines are, seen from above: exact, as the square of the distance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

__all__ = ["Corner", "squared_gap"]

Corner = tuple[Decimal, Decimal]
_Point = tuple[Fraction, Fraction]
_Side = tuple[_Point, _Point]


def squared_gap(one: Sequence[Corner], other: Sequence[Corner]) -> Fraction:
    """The square of the least distance between two polygons (their insides belong to them); 0 where they meet.

    Units:   the square of the corners' unit. Both need at least one corner.
    """
    a, b = [_exact(corner) for corner in one], [_exact(corner) for corner in other]
    if _is_inside(a[0], b) or _is_inside(b[0], a):
        return Fraction(0)
    return min(_between(s, t) for s in _sides(a) for t in _sides(b))


def _exact(corner: Corner) -> _Point:
    return Fraction(corner[0]), Fraction(corner[1])


def _sides(corners: Sequence[_Point]) -> Iterator[_Side]:
    yield from zip(corners, [*corners[1:], corners[0]], strict=True)


def _is_inside(point: _Point, corners: Sequence[_Point]) -> bool:
    """Whether a point lies inside, by how many sides a line to the right of it crosses."""
    x, y = point
    crossed = 0
    for (ax, ay), (bx, by) in _sides(corners):
        if (ay > y) != (by > y):
            crossed += x < ax + (y - ay) * (bx - ax) / (by - ay)
    return crossed % 2 == 1


def _between(one: _Side, other: _Side) -> Fraction:
    if _cross(one, other):
        return Fraction(0)
    ends = [(p, other) for p in one] + [(p, one) for p in other]
    return min(_to_side(point, side) for point, side in ends)


def _to_side(point: _Point, side: _Side) -> Fraction:
    (ax, ay), (bx, by) = side
    along = (bx - ax, by - ay)
    length = along[0] ** 2 + along[1] ** 2
    at = Fraction(0)
    if length:
        at = ((point[0] - ax) * along[0] + (point[1] - ay) * along[1]) / length
    at = min(max(at, Fraction(0)), Fraction(1))
    return (point[0] - ax - at * along[0]) ** 2 + (point[1] - ay - at * along[1]) ** 2


def _cross(one: _Side, other: _Side) -> bool:
    """Whether two sides cross; sides that only touch have an end at distance 0 anyway."""
    return _turn(*one, other[0]) * _turn(*one, other[1]) < 0 and _turn(*other, one[0]) * _turn(*other, one[1]) < 0


def _turn(a: _Point, b: _Point, c: _Point) -> Fraction:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
