"""Hardware events: what was changed at a machine, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Length

__all__ = ["Event", "day", "events_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One event; `place` is its rank in the file, where the oldest stands first; None: not recorded.

    Units:   `by_how_much` a length (taken off, moved); `hours` the hour meter then.
    """

    pointer: str
    place: int
    kind: str
    date: date | None
    hours: Decimal | None
    axis: str | None
    table: str | None
    spindle: str | None
    tool: str | None
    by_how_much: Length | None


def events_of(profile: Profile) -> tuple[Event, ...]:
    """The events in the order of the file."""
    return tuple(
        Event(
            pointer=branch.pointer,
            place=place,
            kind=branch.text("kind") or "",
            date=day(branch.text("date")),
            hours=branch.number("hours"),
            axis=branch.text("axis"),
            table=branch.text("table"),
            spindle=branch.text("spindle"),
            tool=branch.text("tool"),
            by_how_much=branch.length("by_how_much"),
        )
        for place, (_, branch) in enumerate(profile.root.each("events"))
    )


def day(text: str | None) -> date | None:
    """The day that a text names (year-month-day), or None: a day that no calendar has is no day.

    >>> day("2026-02-30") is None
    True
    """
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        return None
