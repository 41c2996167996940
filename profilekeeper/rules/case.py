"""What is judged: one profile with its parts read once for all rules, and what it is judged beside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from profilekeeper.errors import InvalidQuantity
from profilekeeper.model.axis import Axis, axes_of
from profilekeeper.model.conventions import Conventions, conventions_of
from profilekeeper.model.event import Event, events_of
from profilekeeper.model.head import Head, head_of
from profilekeeper.model.identity import Matching, match_over_time
from profilekeeper.model.known import Known
from profilekeeper.model.place import zeros_of
from profilekeeper.model.position import Position, positions_of
from profilekeeper.model.profile import Profile
from profilekeeper.model.source import SourceBook, sources_of
from profilekeeper.model.table import Table, tables_of
from profilekeeper.model.tool import Tool, nose_to_tip, tools_of
from profilekeeper.quantities import Length, LengthUnit, Measure, format_length, round_to

if TYPE_CHECKING:
    from profilekeeper.rules.closing import Closing

__all__ = ["Case", "case_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One profile, its parts, the snapshot before it (if any) and the day as of which it is judged (if said).

    `events` are those up to that day, in file order. `closings` keeps the touch-offs already worked out, by tool
    number: two rules need them.
    """

    profile: Profile
    previous: Profile | None
    matching: Matching | None
    on: date | None
    conventions: Conventions
    axes: Mapping[str, Axis]
    positions: tuple[Position, ...]
    zeros: Mapping[str, Position]
    tables: Mapping[str, Table]
    tools: Mapping[str, Tool]
    head: Head
    events: tuple[Event, ...]
    sources: SourceBook
    unit: LengthUnit
    closings: dict[str, Closing | None] = field(default_factory=dict, compare=False)

    def said(self, value: object) -> str:
        """A value as a technician reads it: a length in the unit of the machine's screen."""
        if isinstance(value, Length):
            return _length_said(value, self.unit)
        return f"{value:f}" if isinstance(value, Decimal) else str(value)

    def signed(self, value: Measure) -> str:
        """A difference with its sign, in the unit of the screen."""
        text = self.said(value)
        return f"+{text}" if value.base > 0 else text

    def table_named(self, name: str | None) -> Table | None:
        """The table of that name; where no name is said, the only one there is."""
        if name is not None:
            return self.tables.get(name)
        return next(iter(self.tables.values())) if len(self.tables) == 1 else None

    def nose_to_tip(self, tool: Tool) -> Known[Length]:
        """How far a tool's tip lies below the nose by what the control holds.

        A length noted as a Z reading belongs to the table height of its own touch-off, else to today's.
        """
        return nose_to_tip(tool, self.conventions, self._surface_of(tool))

    def _surface_of(self, tool: Tool) -> Known[Length]:
        touch = tool.touch_off
        if touch is not None and touch.surface is not None:
            return Known(value=touch.surface, used=(f"{touch.pointer}/surface",))
        table = self.table_named(touch.table if touch else None)
        if table is None or table.surface is None:
            return Known(value=None, missing=(f"{table.pointer if table else '/tables/main'}/surface",))
        return Known(value=table.surface, used=(f"{table.pointer}/surface",))


def case_of(profile: Profile, *, previous: Profile | None = None, on: date | None = None) -> Case:
    """Everything that rules look at, read from a profile once."""
    alone = _alone(profile)
    return replace(
        alone,
        previous=previous,
        matching=None if previous is None else match_over_time(previous, profile),
        on=on,
        events=tuple(e for e in alone.events if on is None or e.date is None or e.date <= on),
    )


@lru_cache(maxsize=16)
def _alone(profile: Profile) -> Case:
    """The case of a profile without a past and a day; rules and levels ask for the same one in turn."""
    positions = positions_of(profile)
    return Case(
        profile=profile,
        previous=None,
        matching=None,
        on=None,
        conventions=conventions_of(profile),
        axes=axes_of(profile),
        positions=positions,
        zeros=zeros_of(positions),
        tables=tables_of(profile),
        tools=tools_of(profile),
        head=head_of(profile),
        events=events_of(profile),
        sources=sources_of(profile),
        unit=profile.unit,
    )


# Source: common practice, no source: the last digit that controls of either unit usually show.
_SHOWN = {
    LengthUnit.MM: Length(Decimal("0.001"), LengthUnit.MM),
    LengthUnit.IN: Length(Decimal("0.0001"), LengthUnit.IN),
}


def _length_said(value: Length, unit: LengthUnit) -> str:
    if value.unit is unit:
        return f"{value.number:f} {unit.value}"
    try:
        return format_length(value, unit)
    except InvalidQuantity:
        rounded = round_to(value, _SHOWN[unit])
        return f"{'' if rounded.exact else '≈ '}{rounded.value}"
