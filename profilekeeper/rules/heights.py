"""Heights that reach and safe Z are reckoned from: the table at its worst, what the stone lies on, the ends of Z."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.known import Known
from profilekeeper.model.source import USUAL
from profilekeeper.model.table import Support, Table, supports_of
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.case import Case
from profilekeeper.rules.numbers import total
from profilekeeper.rules.say import listed, place

__all__ = ["Doubt", "doubt_of", "flatness", "height_under", "known_sum", "pivot_above_nose", "z_ends"]

# How closely a size is taken to be known where nobody said: the coarsest usual instrument, never zero.
_TAPE = Length(Decimal(USUAL["tape"]), LengthUnit.MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """How far a worked-out height may be off: the sum of what its parts may; `asked` have no uncertainty recorded."""

    amount: Length
    asked: tuple[str, ...]

    def note(self, case: Case) -> tuple[str, ...]:
        """What it is made of, for a person; empty where nothing was measured."""
        if self.amount.base == 0:
            return ()
        asked = f"; how closely {listed(place(p) for p in self.asked)} is known is not recorded" if self.asked else ""
        reckoned = f", {case.said(_TAPE)} reckoned for each" if self.asked else ""
        return (f"It is known to ± {case.said(self.amount)}{asked}{reckoned}.",)


def doubt_of(case: Case, measured: Iterable[str]) -> Doubt:
    """The uncertainty of a sum: what its measured parts may be off, added up."""
    amounts, asked = [Length(Decimal(0), case.unit)], []
    for pointer in dict.fromkeys(measured):
        said = case.sources.uncertainty(pointer)
        amounts.append(_TAPE if said is None else abs(said))
        asked += [pointer] if said is None else []
    return Doubt(amount=total(amounts), asked=tuple(asked))


def known_sum(parts: Iterable[Known[Length]]) -> Known[Length]:
    """The sum of some values; None with all that is missing if any is."""
    here = tuple(parts)
    used = tuple(dict.fromkeys(p for part in here for p in part.used))
    missing = tuple(dict.fromkeys(p for part in here for p in part.missing))
    notes = tuple(dict.fromkeys(n for part in here for n in part.notes))
    values = [part.value for part in here if part.value is not None]
    if len(values) < len(here) or not values:
        return Known(value=None, used=used, missing=missing, notes=notes)
    return Known(value=total(values), used=used, notes=notes)


def flatness(table: Table, key: str) -> Known[Length]:
    """How far the highest or lowest point of a table lies above or below its height."""
    value = table.highest if key == "highest" else table.lowest
    pointer = f"{table.pointer}/{key}"
    if value is None:
        return Known(value=None, missing=(pointer,))
    return Known(value=abs(value), used=(pointer,))


def height_under(case: Case, table: Table, *, highest: bool) -> Known[Length]:
    """The height of what the stone may lie on: the highest, or the lowest, of all that is recorded for a table."""
    heights: list[tuple[Length, str]] = []
    missing: list[str] = []
    supports = [s for s in supports_of(case.profile).values() if s.table in (None, table.name)]
    for support in supports:
        said = list(_heights(support, case))
        heights += said
        missing += [] if said else [f"{support.pointer}/height"]
    if missing or not heights:
        return Known(value=None, missing=tuple(missing) or ("/supports",))
    value, pointer = (max if highest else min)(heights, key=lambda pair: pair[0].base)
    return Known(value=value, used=(pointer,))


def _heights(support: Support, case: Case) -> Iterator[tuple[Length, str]]:
    if support.kind == "direct" and (support.height is None or support.height.base == 0):
        yield Length(Decimal(0), case.unit), f"{support.pointer}/kind"  # nothing lies between: nothing to measure
    elif support.height is not None:
        yield support.height, f"{support.pointer}/height"
    for zone, height in support.zones.items():
        yield height, f"{support.pointer}/zones/{zone}"


def pivot_above_nose(case: Case) -> Known[Length]:
    """How far the axis of a level spindle lies above the Z of the nose: g + o (docs/reference/rules.md, adds-up)."""
    head = case.head
    pointer = f"{head.pointer}/pivot_to_gauge_line"
    if head.pivot_to_gauge_line is None:
        return Known(value=None, missing=(pointer,))
    if head.spindle_offset is None:
        return Known(value=head.pivot_to_gauge_line, used=(pointer,))
    up = head.pivot_to_gauge_line + head.spindle_offset
    return Known(value=up, used=(pointer, f"{head.pointer}/spindle_offset"))


def z_ends(case: Case) -> tuple[Known[Length], Known[Length]]:
    """The lowest and the highest upward Z: the nearer of travel and soft limits at each end."""
    axis = case.axes.get("Z")
    ends: list[tuple[Length, str]] = []
    for limits in (axis.travel, axis.soft_limits) if axis else ():
        if limits is not None and isinstance(limits.low, Length) and isinstance(limits.high, Length):
            pairs = (limits.low, limits.low_pointer), (limits.high, limits.high_pointer)
            ends += sorted(((case.conventions.up(z), p) for z, p in pairs), key=lambda end: end[0].base)
    if not ends:
        lacking: Known[Length] = Known(value=None, missing=("/axes/Z/travel",))
        return lacking, lacking
    low = max(ends[::2], key=lambda end: end[0].base)
    high = min(ends[1::2], key=lambda end: end[0].base)
    return Known(value=low[0], used=(low[1],)), Known(value=high[0], used=(high[1],))
