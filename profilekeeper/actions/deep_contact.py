"""Where in the travel a swing surely hits: cells so deep in contact that no spot of them can be free.

If the sweep at a cell's middle touches a prism drawn in by r all round, then moved by up to r it still touches the
whole prism: for the drawn-in prism, moved along, lies inside it. So one answer settles a whole cell that the gap,
0 however deep, could only settle spot by spot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from math import ceil, hypot

from profilekeeper.clearance import Ground, JointBox, Leaf, Obstacle, Query, Span, gaps

__all__ = ["Sorted", "drawn_in", "sorted_travel"]

_CELLS = 64
_STRIP = 12
"""As many columns of cells at most are mapped at once: progress is told between them."""
_ROUGH_MM = 2.0
_Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """The travel as cells that are surely blocked, and rectangles of which that is not known."""

    blocked: tuple[Leaf, ...]
    open: tuple[JointBox, ...]


def sorted_travel(query: Query, least_mm: float) -> Sorted:
    """The travel of a query over a range of X and Y, in cells of `least_mm` or more."""
    area = query.motion
    assert isinstance(area, JointBox)
    longer = 2 * max(area.x_mm.half, area.y_mm.half)
    size = max(longer / _CELLS, least_mm)
    xs, ys = _cut(area.x_mm, size), _cut(area.y_mm, size)
    hit = _hit(query, [(x, y) for x in xs for y in ys])
    columns = [hit[i * len(ys) : (i + 1) * len(ys)] for i in range(len(xs))]
    blocked = [
        Leaf(x_mm=x, y_mm=y, ground=Ground.BLOCKED, low_mm=0.0, high_mm=0.0)
        for x, column in zip(xs, columns, strict=True)
        for y, is_hit in zip(ys, column, strict=True)
        if is_hit
    ]
    boxes = [replace(area, x_mm=x, y_mm=y) for x, y in _rectangles(xs, ys, columns)]
    return Sorted(blocked=tuple(blocked), open=tuple(boxes))


def _hit(query: Query, cells: Sequence[tuple[Span, Span]]) -> list[bool]:
    """Of which cells every spot is in contact."""
    assert isinstance(query.motion, JointBox)
    away = max(hypot(x.half, y.half) for x, y in cells)
    cores = tuple(core for obstacle in query.obstacles for core in _cores(obstacle, away))
    if not cores:
        return [False] * len(cells)
    asked = [
        replace(
            query,
            obstacles=cores,
            motion=replace(query.motion, x_mm=Span.at(x.middle), y_mm=Span.at(y.middle)),
            width_mm=_ROUGH_MM,
        )
        for x, y in cells
    ]
    return [answer.is_contact for answer in gaps(asked)]


def _cores(obstacle: Obstacle, by_mm: float) -> Iterator[Obstacle]:
    for piece in obstacle.pieces():
        core = drawn_in(piece, by_mm)
        if core:
            yield replace(obstacle, outline_mm=core)


def drawn_in(piece: Sequence[_Point], by_mm: float) -> tuple[_Point, ...]:
    """A convex outline with every side moved in by so much; empty where hardly anything is left of it."""
    around = list(piece) if _area(piece) > 0 else list(reversed(piece))
    core = list(around)
    for a, b in zip(around, around[1:] + around[:1], strict=True):
        long = hypot(b[0] - a[0], b[1] - a[1])
        if long > 0:
            inward = (-(b[1] - a[1]) / long, (b[0] - a[0]) / long)
            core = _kept(core, inward, inward[0] * a[0] + inward[1] * a[1] + by_mm)
    return tuple(core) if len(core) > 2 and _area(core) > 1.0 else ()


def _kept(outline: Sequence[_Point], inward: _Point, least: float) -> list[_Point]:
    """The part of a convex outline on the inner side of a line. Method: Sutherland and Hodgman (1974)."""
    result: list[_Point] = []
    depth = [inward[0] * x + inward[1] * y - least for x, y in outline]
    for k, (point, here) in enumerate(zip(outline, depth, strict=True)):
        after, there = outline[(k + 1) % len(outline)], depth[(k + 1) % len(outline)]
        if here >= 0:
            result.append(point)
        if here * there < 0:
            share = here / (here - there)
            result.append((point[0] + share * (after[0] - point[0]), point[1] + share * (after[1] - point[1])))
    return list(dict.fromkeys(result))


def _area(outline: Sequence[_Point]) -> float:
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def _cut(span: Span, size: float) -> list[Span]:
    count = max(1, ceil(2 * span.half / size - 1e-9))
    marks = [span.low + 2 * span.half * k / count for k in range(count)] + [span.high]
    return [Span(low=a, high=b) for a, b in pairwise(marks)]


def _rectangles(xs: list[Span], ys: list[Span], hit: list[list[bool]]) -> Iterator[tuple[Span, Span]]:
    """The cells not hit, as few rectangles: columns alike side by side, at most a strip of them together."""
    strips = [(i // _STRIP, column) for i, column in enumerate(hit)]
    first = 0
    for (_, column), alike in groupby(strips):
        count = len(list(alike))
        across = Span(low=xs[first].low, high=xs[first + count - 1].high)
        first += count
        row = 0
        for is_hit, run in groupby(column):
            long = len(list(run))
            if not is_hit:
                yield across, Span(low=ys[row].low, high=ys[row + long - 1].high)
            row += long
