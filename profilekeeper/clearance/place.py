"""Where in X and Y a swing has the room it needs: the whole travel mapped, nothing sampled.

The gap changes by no more than the head is moved, so one answer at the middle of a cell settles the
whole cell unless the edge of the free ground runs through it: docs/clearance-method.md#the-map.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from math import ceil, hypot, isfinite

from profilekeeper.clearance.frames import JointBox, Span
from profilekeeper.clearance.sweep import DEFAULT_WIDTH_MM, Gap, Query, gaps
from profilekeeper.errors import InvalidShape

__all__ = ["Ground", "Leaf", "PlaceMap", "Spot", "place_map"]

_BATCH = 2_000
_MOST_ANSWERS = 400_000


class Ground(StrEnum):
    """What is proven of every spot of a cell."""

    CLEAR = "clear"
    BLOCKED = "blocked"
    EDGE = "edge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """A rectangle of X and Y in which every spot is clear, or every spot blocked, or the edge runs.

    The gap at every spot of it lies in [low_mm, high_mm].
    """

    x_mm: Span
    y_mm: Span
    ground: Ground
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place to stand, with the certified gap of the swing there."""

    x_mm: float
    y_mm: float
    gap: Gap


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceMap:
    """The travel cut into leaves that cover it; `roomiest` is the leaf middle with the most room seen."""

    leaves: tuple[Leaf, ...]
    roomiest: Spot
    required_mm: float
    answers: int

    def ground_at(self, x_mm: float, y_mm: float) -> Ground:
        """What is proven at one spot; on a seam the worse of its neighbours counts.

        Raises:  InvalidShape, if the spot lies outside the travel mapped.
        """
        found = {leaf.ground for leaf in self.leaves if _holds(leaf, x_mm, y_mm)}
        if not found:
            raise InvalidShape(f"X {x_mm:g}, Y {y_mm:g} lies outside the travel that was mapped")
        return next(kind for kind in (Ground.BLOCKED, Ground.EDGE, Ground.CLEAR) if kind in found)

    def clear_share(self) -> float:
        """The share of the area mapped that is proven clear."""
        areas = [(leaf.x_mm.half * leaf.y_mm.half, leaf.ground) for leaf in self.leaves]
        whole = sum(area for area, _ in areas)
        clear = sum(area for area, ground in areas if ground is Ground.CLEAR)
        return clear / whole if whole else float(self.leaves[0].ground is Ground.CLEAR)


def place_map(
    query: Query, *, required_mm: float, edge_mm: float = 10.0, most_answers: int = _MOST_ANSWERS
) -> PlaceMap:
    """Every spot of the box's X and Y, judged by the gap of the box's Z, tilt and swivel there.

    Leaves are halved until they are proven or smaller than `edge_mm` both ways.
    Raises:  InvalidShape, if the motion is a straight move, a length is not more than 0, or the edge is so
             fine that the map would take more answers than allowed.
    Source:  docs/clearance-method.md#the-map.
    """
    area = query.motion
    if not isinstance(area, JointBox):
        raise InvalidShape("a map needs a range of X and Y, not a straight move")
    if not (isfinite(required_mm) and required_mm > 0 and isfinite(edge_mm) and edge_mm > 0):
        raise InvalidShape(f"required room and edge must be more than 0 mm, found {required_mm!r}, {edge_mm!r}")
    cells = _first_cells(area, edge_mm)
    leaves: list[Leaf] = []
    spots: list[Spot] = []
    answers = 0
    while cells:
        answers += len(cells)
        if answers > most_answers:
            raise InvalidShape(f"the map needs more than {most_answers} answers; ask for a coarser edge")
        answered = list(_answered(query, area, cells))
        spots.append(_roomiest(answered))
        judged = [(cell, _leaf(cell, found, required_mm)) for cell, found in answered]
        open_cells = [cell for cell, leaf in judged if _is_open(leaf, edge_mm)]
        leaves.extend(leaf for _, leaf in judged if not _is_open(leaf, edge_mm))
        cells = [half for cell in open_cells for half in _halves(cell)]
    best = max(spots, key=lambda spot: spot.gap.low_mm)
    return PlaceMap(leaves=tuple(leaves), roomiest=best, required_mm=required_mm, answers=answers)


def _is_open(leaf: Leaf, edge_mm: float) -> bool:
    return leaf.ground is Ground.EDGE and 2 * max(leaf.x_mm.half, leaf.y_mm.half) > edge_mm


def _roomiest(answered: list[tuple[_Cell, Gap]]) -> Spot:
    (x, y), found = max(answered, key=lambda pair: pair[1].low_mm)
    return Spot(x_mm=x.middle, y_mm=y.middle, gap=found)


_Cell = tuple[Span, Span]


def _holds(leaf: Leaf, x_mm: float, y_mm: float) -> bool:
    return leaf.x_mm.low <= x_mm <= leaf.x_mm.high and leaf.y_mm.low <= y_mm <= leaf.y_mm.high


def _first_cells(area: JointBox, edge_mm: float) -> list[_Cell]:
    """About square cells, at most some hundred along the longer side and none below the edge's size."""
    longer = 2 * max(area.x_mm.half, area.y_mm.half)
    size = max(longer / 32, edge_mm)
    return [(x, y) for x in _cut(area.x_mm, size) for y in _cut(area.y_mm, size)]


def _cut(span: Span, size: float) -> list[Span]:
    count = max(1, ceil(2 * span.half / size - 1e-9))
    marks = [span.low + 2 * span.half * k / count for k in range(count)] + [span.high]
    return [Span(low=a, high=b) for a, b in pairwise(marks)]


def _halves(cell: _Cell) -> list[_Cell]:
    x, y = cell
    if x.half > 1.5 * y.half:
        return [(part, y) for part in _cut(x, x.half or 1.0)]
    if y.half > 1.5 * x.half:
        return [(x, part) for part in _cut(y, y.half or 1.0)]
    return [(part, other) for part in _cut(x, x.half or 1.0) for other in _cut(y, y.half or 1.0)]


def _answered(query: Query, area: JointBox, cells: list[_Cell]) -> Iterable[tuple[_Cell, Gap]]:
    """The gap at the middle of each cell, no closer than the cell's size makes worth while."""
    for begin in range(0, len(cells), _BATCH):
        some = cells[begin : begin + _BATCH]
        asked = [
            replace(
                query,
                motion=replace(area, x_mm=Span.at(x.middle), y_mm=Span.at(y.middle)),
                width_mm=max(DEFAULT_WIDTH_MM, 0.1 * hypot(x.half, y.half)),
            )
            for x, y in some
        ]
        yield from zip(some, gaps(asked), strict=True)


def _leaf(cell: _Cell, found: Gap, required_mm: float) -> Leaf:
    x, y = cell
    away = hypot(x.half, y.half)
    low, high = max(found.low_mm - away, 0.0), found.high_mm + away
    ground = Ground.CLEAR if low >= required_mm else Ground.BLOCKED if high < required_mm else Ground.EDGE
    return Leaf(x_mm=x, y_mm=y, ground=ground, low_mm=low, high_mm=high)
