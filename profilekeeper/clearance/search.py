"""Boxes of joint values split until every question's interval is as narrow as asked."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from profilekeeper.clearance.bound import Cells, farthest_pose, pose_solids, separation
from profilekeeper.clearance.distance import Array, Indices, Nearest, Solids, Stop, nearest

__all__ = ["Outcome", "search"]

# Outward rounding, in shares of the scene's size: docs/clearance-method.md#rounding.
_ROUNDING = 1e-9
_ROUNDS = 60
_MOST_BOXES = 20_000
# A pair proven farther than this share of the best found is not followed to its end.
_ENOUGH = 1.05
# How exactly a nearest pair is wanted, in shares of the slack while searching, of the width at the end.
_NEAR_ENOUGH, _SHARP = 0.02, 1e-3
_DESCENTS, _LAST_DESCENTS = 16, 60
_FEW = 600


@dataclass(slots=True, kw_only=True)
class Outcome:
    """For each question: the interval, and where its nearest pair was found.

    Shapes:  all (G,), point, apart and swept (G, 3). Units: mm and radians; `share` from -1 to 1.
    """

    low: Array
    high: Array
    root: Indices
    tilt: Array
    turn: Array
    share: Array
    point: Array
    apart: Array
    swept: Array
    boxes: Indices
    settled: NDArray[np.bool_]


@dataclass(slots=True, kw_only=True)
class _Open:
    """Boxes still open: their row at the start, what is proven, the last way towards the obstacle."""

    cells: Cells
    root: Indices
    group: Indices
    low: Array
    way: Array
    begin: Array
    end: Array

    def take(self, at: Indices | NDArray[np.bool_]) -> _Open:
        return _Open(
            cells=self.cells.take(at),
            root=self.root[at],
            group=self.group[at],
            low=self.low[at],
            way=self.way[at],
            begin=self.begin[at],
            end=self.end[at],
        )


def search(cells: Cells, group: Indices, width: Array) -> Outcome:
    """The least gap of every question over its rows.

    Shapes:  group (N,), 0 to G - 1, every question with one row or more; width (G,).
    """
    outcome = _blank(len(width))
    boxes = _rooted(cells, group)
    _look(_most_promising(boxes), outcome, width)
    boxes = _kept(boxes, outcome, width)
    _aim_from_pivot(boxes)
    for _ in range(_ROUNDS):
        boxes = _kept(boxes, outcome, width)
        if not len(boxes.root):
            break
        _look(boxes, outcome, width)
        boxes = _kept(boxes, outcome, width)
        if not len(boxes.root):
            break
        for _ in range(1 + (len(boxes.root) < _FEW)):
            boxes = _kept(_halved(boxes), outcome, width)
    _give_up(boxes, outcome)
    _sharpen(cells, outcome, width)
    outcome.low = np.minimum(outcome.low, outcome.high)
    return outcome


def _sharpen(cells: Cells, outcome: Outcome, width: Array) -> None:
    """The nearest pair at the pose found, as exactly as doubles allow, and `high` rounded outward."""
    best = cells.take(outcome.root)
    still = np.zeros(len(outcome.root))
    posed = replace(
        best,
        tilt=outcome.tilt,
        turn=outcome.turn,
        tilt_half=still,
        turn_half=still,
        base=best.base + outcome.share[:, None] * best.drift,
        drift=np.zeros_like(best.drift),
    )
    rounding = _ROUNDING * _scale(posed)
    tolerance = np.maximum(_SHARP * width, rounding)
    stop = Stop(tolerance=tolerance, touching=rounding, enough=outcome.high + 1.0, rounds=_LAST_DESCENTS)
    found = nearest(pose_solids(posed, still, still), outcome.apart, stop, traced=True)
    outcome.point, outcome.apart, outcome.swept = found.point, found.apart, found.swept
    # A pose once seen in contact stays so, should the last descent end a rounding away from it.
    free = (outcome.high > 0) & (found.distance > 0)
    outcome.high = np.where(free, found.distance + rounding, 0.0)


def _blank(count: int) -> Outcome:
    return Outcome(
        low=np.full(count, np.inf),
        high=np.full(count, np.inf),
        root=np.zeros(count, dtype=np.int64),
        tilt=np.zeros(count),
        turn=np.zeros(count),
        share=np.zeros(count),
        point=np.zeros((count, 3)),
        apart=np.zeros((count, 3)),
        swept=np.zeros((count, 3)),
        boxes=np.zeros(count, dtype=np.int64),
        settled=np.ones(count, dtype=np.bool_),
    )


def _rooted(cells: Cells, group: Indices) -> _Open:
    """All rows, with a first bound along the way from the pivot's travel to the obstacle's box."""
    count = len(group)
    half = cells.spread + np.abs(cells.drift)
    lowest = np.concatenate((cells.corners.min(axis=1), cells.heights[:, :1]), axis=1)
    highest = np.concatenate((cells.corners.max(axis=1), cells.heights[:, 1:]), axis=1)
    way = np.maximum(lowest - cells.base - half, 0.0) - np.maximum(cells.base - half - highest, 0.0)
    size = np.linalg.norm(way, axis=1)
    way = np.where(size[:, None] > 0, way / np.where(size > 0, size, 1.0)[:, None], (0.0, 0.0, -1.0))
    low = np.maximum(separation(cells, way) - _ROUNDING * _scale(cells), 0.0)
    ones = np.ones(count)
    return _Open(cells=cells, root=np.arange(count), group=group, low=low, way=way, begin=-ones, end=ones)


def _aim_from_pivot(boxes: _Open) -> None:
    """A second bound, along the way from the pivot's travel to the prism itself.

    Where a rim can reach one point of an obstacle from a whole curve of poses, no splitting is fast,
    and this one way settles all of them.
    """
    if not len(boxes.root):
        return
    cells = boxes.cells
    count = len(boxes.root)
    rounding = _ROUNDING * _scale(cells)
    pivot = Solids(
        centre=np.repeat(cells.base[:, None], 2, axis=1),
        radius=np.zeros((count, 2)),
        axis=np.tile((0.0, 0.0, 1.0), (count, 1)),
        half=cells.spread + np.abs(cells.drift),
        corners=cells.corners,
        heights=cells.heights,
    )
    stop = Stop(tolerance=rounding, touching=rounding, enough=np.full(count, np.inf), rounds=_DESCENTS)
    found = nearest(pivot, -boxes.way, stop)
    proven = np.where(found.distance > 0, separation(cells, found.way) - rounding, 0.0)
    boxes.way = np.where((proven > boxes.low)[:, None], found.way, boxes.way)
    boxes.low = np.maximum(boxes.low, proven)


def _scale(cells: Cells) -> Array:
    """The size of what one row compares: no coordinate in it is larger."""
    tool = np.abs(cells.base) + cells.spread + np.abs(cells.drift)
    reach = (np.abs(cells.depth) + cells.radius).max(axis=1) + np.abs(cells.offset).sum(axis=1)
    wall = np.maximum(np.abs(cells.corners).max(axis=(1, 2)), np.abs(cells.heights).max(axis=1))
    scale: Array = tool.max(axis=1) + reach + wall
    return scale


def _most_promising(boxes: _Open) -> _Open:
    order = np.lexsort((boxes.low, boxes.group))
    first = np.concatenate(([True], np.diff(boxes.group[order]) > 0))
    return boxes.take(order[first])


def _slack(outcome: Outcome, width: Array) -> Array:
    """How far below the best found a box may stay: less near contact, so that contact is told from near."""
    wanted: Array = 0.9 * np.minimum(width, np.maximum(outcome.high / 2, width / 32))
    return wanted


def _kept(boxes: _Open, outcome: Outcome, width: Array) -> _Open:
    """The boxes that can still hold the answer; what the others prove is noted."""
    full = outcome.boxes > _MOST_BOXES
    if full.any():
        stopped = full[boxes.group]
        _give_up(boxes.take(stopped), outcome)
        boxes = boxes.take(~stopped)
    goal = np.where(outcome.high > 0, outcome.high - _slack(outcome, width), 0.0)
    keep = boxes.low < goal[boxes.group]
    np.minimum.at(outcome.low, boxes.group[~keep], boxes.low[~keep])
    return boxes.take(keep)


def _give_up(boxes: _Open, outcome: Outcome) -> None:
    np.minimum.at(outcome.low, boxes.group, boxes.low)
    outcome.settled[boxes.group] = False


def _look(boxes: _Open, outcome: Outcome, width: Array) -> None:
    """Two poses of each box: its middle, and where the tool reaches farthest the way last found."""
    np.add.at(outcome.boxes, boxes.group, 1)
    count = len(boxes.root)
    share, side = farthest_pose(boxes.cells, boxes.way)
    twice = boxes.take(np.concatenate((np.arange(count), np.arange(count))))
    share, side = np.concatenate((np.zeros(count), share)), np.concatenate((np.zeros(count), side))
    found, proven = _proven(twice, share, side, outcome, width)
    _note(twice, share, side, found, outcome)
    second = proven[count:] > proven[:count]
    best = np.arange(count) + count * second
    boxes.low = np.maximum(boxes.low, proven[best])
    boxes.way = twice.way[best]


def _proven(boxes: _Open, share: Array, side: Array, outcome: Outcome, width: Array) -> tuple[Nearest, Array]:
    """The nearest pair at one pose of each box, and the bound along its way; `boxes.way` is renewed."""
    rounding = _ROUNDING * _scale(boxes.cells)
    tolerance = np.maximum(_NEAR_ENOUGH * _slack(outcome, width)[boxes.group], rounding)
    enough = _ENOUGH * outcome.high[boxes.group] + width[boxes.group]
    stop = Stop(tolerance=tolerance, touching=rounding, enough=enough, rounds=_DESCENTS)
    found = nearest(pose_solids(boxes.cells, share, side), -boxes.way, stop)
    apart = found.distance > 0
    boxes.way = np.where(apart[:, None], found.way, boxes.way)
    return found, np.where(apart, separation(boxes.cells, boxes.way) - rounding, 0.0)


def _note(boxes: _Open, share: Array, side: Array, found: Nearest, outcome: Outcome) -> None:
    """Where a question's nearest pair so far is among those found."""
    order = np.lexsort((found.distance, boxes.group))
    first = order[np.concatenate(([True], np.diff(boxes.group[order]) > 0))]
    better = first[found.distance[first] < outcome.high[boxes.group[first]]]
    at = boxes.group[better]
    outcome.high[at], outcome.root[at] = found.distance[better], boxes.root[better]
    outcome.tilt[at] = boxes.cells.tilt[better] + share[better] * boxes.cells.tilt_half[better]
    outcome.turn[at] = boxes.cells.turn[better] + side[better] * boxes.cells.turn_half[better]
    centre, half = (boxes.begin + boxes.end) / 2, (boxes.end - boxes.begin) / 2
    outcome.share[at] = centre[better] + share[better] * half[better]
    outcome.apart[at] = found.apart[better]


def _halved(boxes: _Open) -> _Open:
    """Each box as two, split across the joint whose width costs more."""
    cells = boxes.cells
    level = np.hypot(boxes.way[:, 0], boxes.way[:, 1])
    arm = np.hypot(cells.depth, cells.radius).max(axis=1)
    out = arm + np.abs(cells.offset).sum(axis=1)
    costs_more = level * out * cells.turn_half**2 > arm * cells.tilt_half**2
    sideways = ~cells.tied & (costs_more | (cells.tilt_half == 0))
    lower, upper = (_half(boxes, sideways, sign) for sign in (-0.5, 0.5))
    both = np.arange(2 * len(boxes.root)) % len(boxes.root)
    doubled = boxes.take(both)
    merged = {
        name: np.concatenate((getattr(lower, name), getattr(upper, name)))
        for name in ("tilt", "tilt_half", "turn", "turn_half", "base", "drift")
    }
    doubled.cells = replace(doubled.cells, **merged)
    centre, count = (boxes.begin + boxes.end) / 2, len(boxes.root)
    tied = cells.tied
    doubled.end[:count] = np.where(tied, centre, boxes.end)
    doubled.begin[count:] = np.where(tied, centre, boxes.begin)
    # What the way of the whole box proves for its half costs little, and settles most of them.
    proven = separation(doubled.cells, doubled.way) - _ROUNDING * _scale(doubled.cells)
    doubled.low = np.maximum(doubled.low, proven)
    return doubled


def _half(boxes: _Open, sideways: NDArray[np.bool_], sign: float) -> Cells:
    cells = boxes.cells
    turn = np.where(sideways | cells.tied, 0.5, 0.0)
    tilt = np.where(sideways, 0.0, 0.5)
    side = 2 * sign
    return replace(
        cells,
        tilt=cells.tilt + side * tilt * cells.tilt_half,
        tilt_half=cells.tilt_half * (1 - tilt),
        turn=cells.turn + side * turn * cells.turn_half,
        turn_half=cells.turn_half * (1 - turn),
        base=cells.base + side * 0.5 * cells.drift,
        drift=cells.drift * 0.5,
    )
