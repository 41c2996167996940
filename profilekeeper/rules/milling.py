"""What the milling of a table did to a touch-off: how much of it the stored length carries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from profilekeeper.model.event import Event
from profilekeeper.model.table import Table
from profilekeeper.model.tool import TouchOff
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case

__all__ = ["Carried", "Milling", "carried_by", "millings_of"]


class Carried(Enum):
    """Whether a touch-off carries a milling."""

    NO = "no"
    YES = "yes"
    NOT_YET_CORRECTED = "the table value is not corrected yet"
    SAME_DAY = "milled and touched off on one day"
    UNDATED = "the touch-off has no date"
    NO_SURFACE = "the table height of that day is not noted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Milling:
    """One milling of a table; `corrected` is the day its value was set anew, None if that is not known."""

    event: Event
    corrected: date | None
    corrected_by: str


def millings_of(table: Table, case: Case) -> tuple[Milling, ...]:
    """The millings of a table, oldest first, each with when the table value was corrected after it."""
    return tuple(_milling(event, table, case) for event in case.events if _is_of(event, "table milled", table, case))


def carried_by(milling: Milling, touch: TouchOff, table: Table, case: Case, tolerance: Length) -> Carried:
    """Whether a touch-off was taken after a milling with a table height from before it.

    Dates decide; where they cannot, the table height noted with the touch-off against today's does.
    """
    milled = milling.event.date
    if touch.date is None:
        return Carried.UNDATED
    if milled is None or touch.date < milled:
        return Carried.NO
    if touch.date == milled:
        return Carried.SAME_DAY
    if milling.corrected is not None and touch.date > milling.corrected:
        return Carried.NO
    if milling.corrected is not None and touch.date < milling.corrected:
        return Carried.NO if _is_right_already(touch, table, case, tolerance) else Carried.YES
    if touch.surface is None or table.surface is None:
        return Carried.NO_SURFACE
    above = case.conventions.up(touch.surface) - case.conventions.up(table.surface)
    if above > tolerance:
        return Carried.YES
    return Carried.NO if milling.corrected is not None else Carried.NOT_YET_CORRECTED


def _is_right_already(touch: TouchOff, table: Table, case: Case, tolerance: Length) -> bool:
    """Whether the height noted with the touch-off is today's, less what was milled off since and is in it."""
    if touch.surface is None or table.surface is None or touch.date is None:
        return False
    since = [
        m.event.by_how_much
        for m in millings_of(table, case)
        if m.event.date and m.event.date > touch.date and m.corrected is not None
    ]
    true = _sum(case.conventions.up(table.surface), since)
    return true is not None and abs(case.conventions.up(touch.surface) - true) <= tolerance


def _sum(start: Length, parts: Sequence[Length | None]) -> Length | None:
    total = start
    for part in parts:
        if part is None:
            return None
        total = total + abs(part)
    return total


def _milling(event: Event, table: Table, case: Case) -> Milling:
    for later in _after(event, case):
        if _is_of(later, "table re-measured", table, case) and later.date:
            return Milling(event=event, corrected=later.date, corrected_by=later.pointer)
    source = case.sources.of(f"{table.pointer}/surface")
    if source and source.date and event.date and not source.is_blanket and source.date >= event.date:
        return Milling(event=event, corrected=source.date, corrected_by=source.pointer)
    return Milling(event=event, corrected=None, corrected_by="")


def _after(event: Event, case: Case) -> Iterator[Event]:
    """Events that came later: by date, and on one day by their order in the file."""
    for other in case.events:
        if other.date is None or event.date is None:
            continue
        if other.date > event.date or (other.date == event.date and other.place > event.place):
            yield other


def _is_of(event: Event, kind: str, table: Table, case: Case) -> bool:
    return event.kind == kind and case.table_named(event.table) is table
