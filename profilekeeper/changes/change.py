"""The records that a comparison of two versions of a profile gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from profilekeeper.changes.values import Delta
from profilekeeper.model.removed import REMOVED
from profilekeeper.model.settings import Value
from profilekeeper.quantities import LengthUnit

__all__ = ["Change", "ChangeKind", "Changes", "Edit", "EditKind", "Part"]


NOT_LOOKED_AT: Final = REMOVED
"""Stands in `Edit.was` where whatever is there, or nothing, will do."""


class ChangeKind(StrEnum):
    """What happened to a setting or thing.

    `notation`: the same value, written otherwise; `rounded`: the same as the control rounds it; `renumbered`,
    `renamed`, `moved` and `reordered`: the same thing under another number, name, place or in another order.
    """

    CHANGED = "changed"
    ROUNDED = "rounded"
    NOTATION = "notation"
    ADDED = "added"
    REMOVED = "removed"
    RENUMBERED = "renumbered"
    RENAMED = "renamed"
    MOVED = "moved"
    REORDERED = "reordered"


class EditKind(StrEnum):
    """What is done to plain data, in the order in which it is done: see `patch.apply`."""

    PUT = "put"
    TAKE = "take"
    EMPTY = "empty"
    CARRY = "carry"
    ADD = "add"
    ORDER = "order"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One step at plain-data level.

    `at` is a pointer into the data before; for ADD, and `to` for CARRY, into the data after. `raw` is what is put
    there, `was` what must stand there now.
    """

    kind: EditKind
    at: str
    to: str = ""
    raw: Any = None
    was: Any = NOT_LOOKED_AT


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One value of a whole thing that was added or removed."""

    pointer: str
    title: str
    value: Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One line of a change table.

    A pointer is None on the side where there is nothing. `before` and `after` are single values; a whole thing
    that was added or removed has its values in `parts` instead, and a list that was rewritten its texts in
    `before_text` and `after_text`. `geometry` says whether clearances may change with it (None: nobody can tell).
    `agreement` is how the setting relates to sister machines, `by` how a thing was recognised as the same.
    """

    kind: ChangeKind
    pointer_before: str | None
    pointer_after: str | None
    before: Value
    after: Value
    before_text: str
    after_text: str
    delta: Delta
    delta_text: str
    title: str
    group: str
    geometry: bool | None
    agreement: str
    hangs_on: tuple[str, ...]
    by: str = ""
    parts: tuple[Part, ...] = ()
    edits: tuple[Edit, ...] = ()

    @property
    def pointer(self) -> str:
        """Where the setting stands now; where it stood, if it is gone."""
        return self.pointer_after if self.pointer_after is not None else self.pointer_before or ""

    @property
    def is_of_value(self) -> bool:
        """Whether the machine is set differently, not only described differently."""
        return self.kind in (ChangeKind.CHANGED, ChangeKind.ADDED, ChangeKind.REMOVED)

    def __str__(self) -> str:
        change = f" ({self.delta_text})" if self.delta_text else ""
        return f"{self.title}: {self.kind}, {self.before_text or 'nothing'} -> {self.after_text or 'nothing'}{change}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Everything that differs between two versions, in the order in which screens show it.

    `all` holds every line; `notices` are sentences that stand for many lines (a change of unit) or say how a
    thing was recognised. `unit` is that of the differences, `data_before` the plain data compared.
    """

    all: tuple[Change, ...]
    notices: tuple[str, ...]
    unit: LengthUnit
    data_before: Mapping[str, Any]

    @property
    def of_value(self) -> tuple[Change, ...]:
        """The lines where the machine is set differently: what is not only notation, rounding or a new name."""
        return tuple(change for change in self.all if change.is_of_value)

    @property
    def of_geometry(self) -> tuple[Change, ...]:
        """The lines of value on which clearances may depend; those of which nobody can tell are among them."""
        return tuple(change for change in self.of_value if change.geometry is not False)

    def groups(self) -> Mapping[str, tuple[Change, ...]]:
        """The lines by group, groups in the order in which they first stand."""
        found: dict[str, list[Change]] = {}
        for change in self.all:
            found.setdefault(change.group, []).append(change)
        return {group: tuple(changes) for group, changes in found.items()}

    def __iter__(self) -> Iterator[Change]:
        return iter(self.all)

    def __len__(self) -> int:
        return len(self.all)

    def __bool__(self) -> bool:
        return bool(self.all)
