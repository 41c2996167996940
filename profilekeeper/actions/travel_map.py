"""The XY travel mapped for one swing, and what the map says: spots worth asking about, and a chart in characters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, hypot, inf

from profilekeeper.actions.deep_contact import sorted_travel
from profilekeeper.clearance import Gap, Ground, JointBox, Leaf, Obstacle, PlaceMap, Query, Span, Spot, gap, gaps
from profilekeeper.clearance import place_map as mapped
from profilekeeper.errors import InvalidShape, UsageError

__all__ = ["SAME_MM", "Chart", "Tell", "TravelMap", "at_spot", "chart_of", "spread_out", "travel_map"]

Tell = Callable[[str, int], None]

_MOST_ANSWERS = 60_000
_COLUMNS, _ROWS = 56, 24
_ROUGH_MM = 2.0
SAME_MM = 1.0
"""Gaps that differ by less are the same to a person with a tape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TravelMap:
    """The travel cut into leaves; `carried` is the least gap to what X and Y do not move past, the same everywhere."""

    query: Query
    leaves: tuple[Leaf, ...]
    carried: Gap | None
    required_mm: float
    answers: int

    @property
    def area(self) -> JointBox:
        """The travel that was mapped."""
        assert isinstance(self.query.motion, JointBox)
        return self.query.motion

    def place_map(self, best: Spot | None) -> PlaceMap:
        """The same for a drawing, with the spot to be marked on it."""
        marked = best or self._middle()
        return PlaceMap(leaves=self.leaves, roomiest=marked, required_mm=self.required_mm, answers=self.answers)

    def clear_share(self) -> float:
        """The share of the travel of which every spot is proven clear."""
        areas = [((leaf.x_mm.half or 1.0) * (leaf.y_mm.half or 1.0), leaf.ground) for leaf in self.leaves]
        return sum(area for area, ground in areas if ground is Ground.CLEAR) / sum(area for area, _ in areas)

    def _middle(self) -> Spot:
        x, y = self.area.x_mm.middle, self.area.y_mm.middle
        return Spot(x_mm=x, y_mm=y, gap=gap(at_spot(self.query, x, y)))


def travel_map(query: Query, *, required_mm: float, pitch_mm: float, tell: Tell) -> TravelMap:
    """The map of the query's X and Y, part by part so that progress can be told.

    What rides along without moving in X or Y has one gap everywhere: it is asked once, lest it keep the whole travel
    from being settled.
    Raises:  UsageError, if the pitch is so fine that the answer would take minutes.
    """
    area = query.motion
    assert isinstance(area, JointBox)
    carried, passed = _sorted_out(query)
    answer = gap(replace(at_spot(query, area.x_mm.low, area.y_mm.low), obstacles=carried)) if carried else None
    if (answer is not None and answer.low_mm < required_mm) or not passed:
        leaf = _whole(area, answer, required_mm)
        return TravelMap(query=query, leaves=(leaf,), carried=answer, required_mm=required_mm, answers=1)
    cells = sorted_travel(replace(query, obstacles=passed), pitch_mm)
    leaves, answers = list(cells.blocked), len(cells.blocked)
    for count, strip in enumerate(cells.open):
        tell(f"of {len(cells.open)} parts of the travel", count)
        part = _part(replace(query, obstacles=passed, motion=strip), required_mm, pitch_mm, _MOST_ANSWERS - answers)
        leaves.extend(part.leaves)
        answers += part.answers
    return TravelMap(query=query, leaves=tuple(leaves), carried=answer, required_mm=required_mm, answers=answers)


def _part(query: Query, required_mm: float, pitch_mm: float, most: int) -> PlaceMap:
    try:
        return mapped(query, required_mm=required_mm, edge_mm=pitch_mm, most_answers=most)
    except InvalidShape:
        raise UsageError(
            f"a pitch of {pitch_mm:g} mm is too fine for this travel and would take minutes; "
            "say a coarser --pitch, such as 40 mm"
        ) from None


def _sorted_out(query: Query) -> tuple[tuple[Obstacle, ...], tuple[Obstacle, ...]]:
    """What keeps its distance wherever X and Y stand, and what they move past."""
    moved = [any(query.head.moves_past(obstacle.frame)[:2]) for obstacle in query.obstacles]
    pairs = list(zip(query.obstacles, moved, strict=True))
    return tuple(o for o, past in pairs if not past), tuple(o for o, past in pairs if past)


def _whole(area: JointBox, answer: Gap | None, required_mm: float) -> Leaf:
    """The whole travel as one leaf: what rides along is as near everywhere."""
    low = inf if answer is None else answer.low_mm
    ground = Ground.CLEAR if low >= required_mm else Ground.BLOCKED
    high = inf if ground is Ground.CLEAR or answer is None else answer.high_mm
    return Leaf(x_mm=area.x_mm, y_mm=area.y_mm, ground=ground, low_mm=low, high_mm=high)


def at_spot(query: Query, x_mm: float, y_mm: float, width_mm: float | None = None) -> Query:
    """The same question at one spot."""
    assert isinstance(query.motion, JointBox)
    motion = replace(query.motion, x_mm=Span.at(x_mm), y_mm=Span.at(y_mm))
    return replace(query, motion=motion, width_mm=width_mm or query.width_mm)


def spread_out(found: TravelMap, reach: Callable[[float], float], most: int) -> list[tuple[float, float]]:
    """Leaf middles that seem to have the room wanted: most room first, then least reach; no two close together.

    `reach` gives the reach in mm for a Y. Each is to be asked anew: the map's answers are as rough as its leaves.
    """
    ranked = sorted(_candidates(found, reach))
    apart = max(found.area.x_mm.half, found.area.y_mm.half) / 4
    chosen: list[tuple[float, float]] = []
    for *_, x, y in ranked:
        if all(hypot(x - a, y - b) >= apart for a, b in chosen):
            chosen.append((x, y))
            if len(chosen) == most:
                break
    return chosen


def _candidates(found: TravelMap, reach: Callable[[float], float]) -> Iterator[tuple[int, float, float, float, float]]:
    ceiling = inf if found.carried is None else found.carried.low_mm
    for leaf in found.leaves:
        x, y = leaf.x_mm.middle, leaf.y_mm.middle
        room = min(leaf.high_mm - hypot(leaf.x_mm.half, leaf.y_mm.half), ceiling)
        if room >= found.required_mm and leaf.ground is not Ground.BLOCKED:
            rank = -floor(min(room, 1e9) / SAME_MM)
            yield rank, reach(y), abs(x - found.area.x_mm.middle), x, y


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """The travel in characters, highest Y first; `nearest` is what each letter stands for and its share of the rest.

    `.` every spot proven clear, `+` some of them, a letter none. `cell_mm` is what one character covers.
    """

    rows: tuple[str, ...]
    nearest: tuple[tuple[str, str, float], ...]
    cell_mm: tuple[float, float]


def chart_of(found: TravelMap, marked: Sequence[tuple[float, float]]) -> Chart:
    """The chart, with the spots `marked` as 1, 2, 3."""
    columns, rows = _size(found.area)
    grounds = _grounds(found, columns, rows)
    wanting = [key for key, kinds in grounds.items() if kinds != {Ground.CLEAR}]
    names = dict(zip(wanting, _nearest(found, wanting, columns, rows), strict=True))
    counts = Counter(names.values()).most_common()
    letters = {name: chr(ord("a") + min(count, 25)) for count, (name, _) in enumerate(counts)}
    signs = {
        key: letters[names[key]] if key in names and Ground.CLEAR not in kinds else _part_sign(kinds)
        for key, kinds in grounds.items()
    }
    for count, (x, y) in enumerate(marked):
        signs[_cell(found.area, x, y, columns, rows)] = str(count + 1)
    area = found.area
    return Chart(
        rows=tuple("".join(signs[i, j] for i in range(columns)) for j in reversed(range(rows))),
        nearest=tuple((letters[name], name, count / len(wanting)) for name, count in counts),
        cell_mm=(2 * area.x_mm.half / columns, 2 * area.y_mm.half / rows),
    )


_Key = tuple[int, int]


def _size(area: JointBox) -> _Key:
    """Characters are about twice as high as wide."""
    wide, tall = max(2 * area.x_mm.half, 1.0), max(2 * area.y_mm.half, 1.0)
    step = max(wide / _COLUMNS, tall / 2 / _ROWS)
    return min(max(round(wide / step), 1), _COLUMNS), min(max(round(tall / 2 / step), 1), _ROWS)


def _part_sign(kinds: set[Ground]) -> str:
    return "." if kinds == {Ground.CLEAR} else "+"


def _grounds(found: TravelMap, columns: int, rows: int) -> dict[_Key, set[Ground]]:
    """What is proven of the leaves that each character covers a part of."""
    area = found.area
    grounds: dict[_Key, set[Ground]] = {(i, j): set() for i in range(columns) for j in range(rows)}
    for leaf in found.leaves:
        for i in _covered(leaf.x_mm, area.x_mm, columns):
            for j in _covered(leaf.y_mm, area.y_mm, rows):
                grounds[i, j].add(leaf.ground)
    return grounds


def _covered(part: Span, whole: Span, count: int) -> range:
    step = 2 * whole.half / count
    if step <= 0:
        return range(count)
    first, last = floor((part.low - whole.low) / step + 1e-9), ceil((part.high - whole.low) / step - 1e-9)
    return range(max(first, 0), min(max(last, first + 1), count))


def _cell(area: JointBox, x_mm: float, y_mm: float, columns: int, rows: int) -> _Key:
    return _covered(Span.at(x_mm), area.x_mm, columns)[0], _covered(Span.at(y_mm), area.y_mm, rows)[0]


def _nearest(found: TravelMap, keys: Sequence[_Key], columns: int, rows: int) -> list[str]:
    """What is nearest, or hit, in the middle of some characters."""
    area = found.area
    wide, tall = 2 * area.x_mm.half / columns, 2 * area.y_mm.half / rows
    spots = [(area.x_mm.low + (i + 0.5) * wide, area.y_mm.low + (j + 0.5) * tall) for i, j in keys]
    return [each.obstacle.name for each in gaps([at_spot(found.query, x, y, _ROUGH_MM) for x, y in spots])]
