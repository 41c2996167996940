"""Which value of one setting most sisters share, and how every other value stands to it.

Values are compared exactly in base units. Two values are the same where they are equal, where they differ by no
more than half the coarser of the two controls' steps, or, for settings that agree within something, by no more
than that. The shared value is the one with which most machines agree so.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from profilekeeper.fleet.columns import Cell
from profilekeeper.fleet.rows import Held, State, Verdict
from profilekeeper.fleet.slips import unit_slip
from profilekeeper.quantities import Length, LengthUnit, format_delta
from profilekeeper.quantities.exact import EXACT
from profilekeeper.quantities.measure import Measure
from profilekeeper.quantities.rounding import round_to

__all__ = ["Judged", "Point", "judged"]

# Source: common practice, no source: finer than any such control shows.
_FINEST = {LengthUnit.MM: Decimal("0.0001"), LengthUnit.IN: Decimal("0.00001")}
_ZERO, _HALF = Decimal(0), Decimal("0.5")

_Key = tuple[str, Decimal | None, str, Decimal | None]
"""Kind, exact value (or its words) and the control's step: points that have them in common are judged alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One value and the machines that hold it; `step` is the smallest that their controls show, if known.

    `state` is set where the value takes no part: disputed, not read, or not judged.
    """

    cell: Cell
    step: Decimal | None
    machines: tuple[str, ...]
    state: State | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The outcome for one setting, apart from who lacks it; `shared` is None where no value is shared."""

    verdict: Verdict
    shared: Point | None
    tied: tuple[str, ...]
    held: tuple[Held, ...]


def judged(points: Sequence[Point], within: Decimal, unit: LengthUnit | None) -> Judged:
    """How the values of one setting stand to each other; `within` in base units, 0 where they agree exactly."""
    taking_part = [p for p in points if p.state is None]
    count = sum(len(p.machines) for p in taking_part)
    winners = _winners(taking_part, within)
    shared = _agreed(winners, within)
    held = tuple(_held(p, shared, taking_part, within, unit) for p in points)
    tied = tuple(p.cell.shown for p in winners) if shared is None and len(winners) > 1 and count > 2 else ()
    return Judged(verdict=_verdict(held, count), shared=shared, tied=tied, held=_in_order(held))


def _verdict(held: Sequence[Held], count: int) -> Verdict:
    states = {h.state for h in held}
    if states == {State.NOT_JUDGED}:
        return Verdict.NOT_JUDGED
    if State.DEVIATES in states:
        return Verdict.SOME_DEVIATE
    if State.DIFFERS in states:
        return Verdict.DIFFER
    agreeing = sum(len(h.machines) for h in held if h.state in _AGREEING)
    if agreeing < 2:
        return Verdict.TOO_FEW if count < 2 else Verdict.UNKNOWN
    return Verdict.ALL_AGREE if states <= _AGREEING | {State.NOT_JUDGED} else Verdict.AGREE_WHERE_KNOWN


_AGREEING = frozenset((State.SHARED, State.ROUNDED, State.WITHIN))


def _winners(points: Sequence[Point], within: Decimal) -> list[Point]:
    """The values with which most machines agree."""
    support = _support(points, within)
    most = max(support, default=0)
    return [p for p, agreeing in zip(points, support, strict=True) if agreeing == most]


def _agreed(winners: Sequence[Point], within: Decimal) -> Point | None:
    """The one value that the winners stand for: the most frequent, then the least; None if they are at odds."""
    if not winners:
        return None
    exactly: Counter[tuple[str, Decimal | None, str]] = Counter()
    for p in winners:
        exactly[_exact(p)] += len(p.machines)
    best = min(winners, key=lambda p: (-exactly[_exact(p)], _base(p), -len(p.machines), p.machines))
    return best if all(_same(best, p, within) for p in winners) else None


def _exact(point: Point) -> tuple[str, Decimal | None, str]:
    return point.cell.kind, point.cell.base, "" if point.cell.base is not None else point.cell.shown


def _support(points: Sequence[Point], within: Decimal) -> list[int]:
    """For each value how many machines agree with it; however many ways it is written, a value is met once."""
    counts: Counter[_Key] = Counter()
    samples: dict[_Key, Point] = {}
    for point in points:
        counts[_key(point)] += len(point.machines)
        samples.setdefault(_key(point), point)
    kinds: dict[str, list[_Key]] = {}
    for key in samples:
        kinds.setdefault(key[0], []).append(key)
    support: dict[_Key, int] = {}
    for keys in kinds.values():
        support |= counts if keys[0][1] is None else _support_of_numbers(keys, samples, counts, within)
    return [support[_key(point)] for point in points]


def _support_of_numbers(
    keys: list[_Key], samples: Mapping[_Key, Point], counts: Mapping[_Key, int], within: Decimal
) -> dict[_Key, int]:
    """Values in order, so that those too far apart to agree are never looked at together."""
    keys.sort(key=lambda key: _base(samples[key]))
    bases = [_base(samples[key]) for key in keys]
    reach = max([within, *(EXACT.multiply(step, _HALF) for *_, step in keys if step)])
    result = {}
    for key, base in zip(keys, bases, strict=True):
        low, high = bisect_left(bases, EXACT.subtract(base, reach)), bisect_right(bases, EXACT.add(base, reach))
        near = (other for other in keys[low:high] if _same(samples[key], samples[other], within))
        result[key] = sum(counts[other] for other in near)
    return result


def _key(point: Point) -> _Key:
    return (*_exact(point), point.step)


def _base(point: Point) -> Decimal:
    return _ZERO if point.cell.base is None else point.cell.base


def _same(a: Point, b: Point, within: Decimal) -> bool:
    return _sameness(a, b, within) is not None


def _sameness(a: Point, b: Point, within: Decimal) -> State | None:
    """How two values are the same; None if they are not."""
    one, other = a.cell, b.cell
    if one.kind != other.kind:
        return None
    if one.base is None or other.base is None:
        return State.SHARED if one.shown == other.shown else None
    apart = EXACT.abs(EXACT.subtract(one.base, other.base))
    if apart == 0:
        return State.SHARED
    step = max((p.step for p in (a, b) if p.step is not None), default=_ZERO)
    if EXACT.multiply(apart, 2) <= step:
        return State.ROUNDED
    return State.WITHIN if apart <= within else None


def _can_be_compared(a: Cell, b: Cell) -> bool:
    """Two numbers of kinds that have no exact relation say nothing of each other; a word and a number differ."""
    return a.kind == b.kind or a.base is None or b.base is None


def _held(
    point: Point, shared: Point | None, others: Sequence[Point], within: Decimal, unit: LengthUnit | None
) -> Held:
    held = Held(shown=point.cell.shown, machines=point.machines, state=State.SHARED)
    if point.state is not None:
        return replace(held, state=point.state)
    if shared is None:
        return _held_among_unlike(held, point, others, within, unit)
    same = _sameness(point, shared, within)
    if same is None and not _can_be_compared(point.cell, shared.cell):
        return replace(held, state=State.NOT_COMPARABLE)
    delta = _delta(point.cell, shared.cell) if same is not State.SHARED else None
    return replace(
        held,
        state=same or State.DEVIATES,
        delta=delta,
        delta_shown=_delta_shown(delta, unit),
        hint="" if same else unit_slip(point.cell, point.step, shared.cell, shared.step),
    )


def _held_among_unlike(
    held: Held, point: Point, others: Sequence[Point], within: Decimal, unit: LengthUnit | None
) -> Held:
    """No value is shared: each differs from what it can be compared with. Of just two values, the delta is told."""
    unlike = [p for p in others if _can_be_compared(p.cell, point.cell) and not _same(point, p, within)]
    if not unlike:
        return replace(held, state=State.NOT_COMPARABLE)
    if len({_exact(p) for p in others}) != 2:
        return replace(held, state=State.DIFFERS)
    other = min(unlike, key=lambda p: (-len(p.machines), p.machines))
    delta = _delta(point.cell, other.cell)
    hint = unit_slip(point.cell, point.step, other.cell, other.step)
    return replace(held, state=State.DIFFERS, delta=delta, delta_shown=_delta_shown(delta, unit), hint=hint)


def _delta(value: Cell, shared: Cell) -> Measure | None:
    if value.measure is None or shared.measure is None or value.kind != shared.kind:
        return None
    return value.measure - shared.measure


def _delta_shown(delta: Measure | None, unit: LengthUnit | None) -> str:
    """The difference in the unit asked for, rounded only where it has no decimal there, and then marked."""
    if not isinstance(delta, Length) or unit is None:
        return "" if delta is None else format_delta(delta)
    rounded = round_to(delta, Length(_FINEST.get(unit, Decimal("0.0001")), unit))
    if not rounded.exact:
        return f"≈ {format_delta(rounded.value)}"
    return format_delta(delta.to(unit))


def _in_order(held: Sequence[Held]) -> tuple[Held, ...]:
    """Each value once, the most frequent first, equals by name: an order that no order of machines can change."""
    alike: dict[tuple[str, State, str, str], list[Held]] = {}
    for h in held:
        alike.setdefault((h.shown, h.state, h.delta_shown, h.hint), []).append(h)
    joined = [replace(same[0], machines=tuple(sorted(m for h in same for m in h.machines))) for same in alike.values()]
    return tuple(sorted(joined, key=lambda h: (_RANK.get(h.state, 9), -len(h.machines), h.machines)))


_RANK: Mapping[State, int] = {State.SHARED: 0, State.ROUNDED: 1, State.WITHIN: 2, State.DEVIATES: 3, State.DIFFERS: 3}
