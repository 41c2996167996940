"""Outlines and sections made larger by what they may be off: what contains every shape they may really have."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import hypot, pi, tan

from profilekeeper.clearance.outline import Point, convex_pieces
from profilekeeper.clearance.shapes import Section

__all__ = ["grown_outline", "grown_section"]

_SLANT = tan(pi / 8)
_OCTAGON = tuple(
    (sx * x, sy * y) for x, y in ((1.0, _SLANT), (_SLANT, 1.0)) for sx in (1.0, -1.0) for sy in (1.0, -1.0)
)
"""The corners of the octagon about the unit circle."""
# Corners that stand out less are left out (exact turns of points on one line are slow); what is lost by that,
# over some hundred corners, is less than what is added to make up for it.
_TRIFLE_MM = 1e-7
_ADDED_MM = 1e-4


@lru_cache(maxsize=1024)
def grown_outline(outline: tuple[Point, ...], by_mm: float) -> tuple[tuple[Point, ...], ...]:
    """Convex outlines that together contain every point nearer than `by_mm` to the outline.

    A straight side moves out by `by_mm` and at most 0.0001 more; a corner by 8 % more at most, the disc about
    it being replaced by the octagon about that.
    """
    pieces = convex_pieces(outline)
    if by_mm <= 0:
        return pieces
    by = by_mm + _ADDED_MM
    return tuple(_hull([(x + by * ex, y + by * ey) for x, y in piece for ex, ey in _OCTAGON]) for piece in pieces)


def grown_section(section: Section, by_mm: float) -> Section:
    """The section with both ends and its mantle farther out."""
    return replace(
        section,
        from_mm=section.from_mm - by_mm,
        to_mm=section.to_mm + by_mm,
        radius_from_mm=section.radius_from_mm + by_mm,
        radius_to_mm=section.radius_to_mm + by_mm,
    )


def _hull(points: list[Point]) -> tuple[Point, ...]:
    """The convex hull, counter-clockwise, without corners that stand out by less than a trifle.

    Source:  Andrew's monotone chain (1979).
    """
    ordered = sorted(set(points))
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return tuple(lower[:-1] + upper[:-1])


def _chain(points: list[Point]) -> list[Point]:
    chain: list[Point] = []
    for point in points:
        while len(chain) > 1 and _stands_out(chain[-2], chain[-1], point) <= _TRIFLE_MM:
            chain.pop()
        chain.append(point)
    return chain


def _stands_out(a: Point, b: Point, c: Point) -> float:
    """How far b lies to the right of the way from a to c; below zero to its left."""
    across = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return across / hypot(c[0] - a[0], c[1] - a[1])
