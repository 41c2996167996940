"""What is recorded: a machine's settings, its history, and what changed between two snapshots."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from profilekeeper.actions.checking import file_profile
from profilekeeper.actions.opened import SHORT, Opened
from profilekeeper.changes import Changes, changes_between, group_of, title
from profilekeeper.errors import UnknownName
from profilekeeper.model.identity import from_identity
from profilekeeper.model.profile import Profile
from profilekeeper.model.settings import Value, pointers_like
from profilekeeper.model.sources import source_of
from profilekeeper.quantities import LengthUnit
from profilekeeper.rules import Standing, level
from profilekeeper.store import Entry

__all__ = ["Shown", "ShownSetting", "Told", "changes_of_files", "changes_of_machine", "history", "show"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSetting:
    """One setting as shown: where it stands, its title and group, its value, how and when it came."""

    pointer: str
    title: str
    group: str
    value: Value
    how: str
    date: str
    disputed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A machine's settings in one snapshot."""

    machine: str
    snapshot: str
    kind: str
    by: str
    at: datetime
    standing: Standing
    settings: tuple[ShownSetting, ...]
    notices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One line of a machine's history."""

    snapshot: str
    machine: str
    kind: str
    by: str
    why: str
    at: datetime
    findings: str
    of: str


def show(opened: Opened, machine: str, *, snapshot: str = "latest", only: tuple[str, ...] = ()) -> Shown:
    """A machine's settings in a snapshot, all of them or those at or below some pointers (`*` for any one step)."""
    entry = opened.find(opened.known(machine), snapshot)
    profile = opened.profile(machine, entry.revision)
    disputed = {from_identity(profile, p) for p in opened.disputes(machine).settings}
    pointers = _chosen(profile, only) if only else None
    settings = []
    for pointer in profile.settings if pointers is None else pointers:
        source: Mapping[str, Any] = source_of(profile, pointer) or {}
        settings.append(
            ShownSetting(
                pointer=pointer,
                title=title(profile, pointer),
                group=group_of(profile, pointer),
                value=profile.settings[pointer].value,
                how=str(source.get("how", "")),
                date=str(source.get("date", "")),
                disputed=pointer in disputed,
            )
        )
    return Shown(
        machine=machine,
        snapshot=entry.revision[:SHORT],
        kind=entry.trailers.get("Kind", ""),
        by=entry.trailers.get("By", entry.author.name),
        at=entry.at,
        standing=level(profile),
        settings=tuple(settings),
        notices=profile.notices,
    )


def _chosen(profile: Profile, only: tuple[str, ...]) -> tuple[str, ...]:
    """The settings meant by some pointers. Raises: UnknownName, for one that leads to nothing."""
    found: dict[str, None] = {}
    for pattern in only:
        here = pointers_like(profile.settings, pattern)
        if not here:
            near = difflib.get_close_matches(pattern, list(profile.settings), n=1, cutoff=0.5)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise UnknownName(f"{pattern} leads to no setting of {profile.name}{hint}")
        found.update(dict.fromkeys(here))
    return tuple(found)


def history(opened: Opened, machine: str, *, since: date | None = None, most: int | None = None) -> Iterator[Told]:
    """What was recorded of a machine, newest first: snapshots, and marks of what has proven itself."""
    opened.known(machine)
    for index, entry in enumerate(opened.entries(machine)):
        if (most is not None and index >= most) or (since and entry.at.date() < since):
            return
        yield told(entry)


def told(entry: Entry) -> Told:
    """One entry of the history in a technician's words."""
    trailers = entry.trailers
    return Told(
        snapshot=entry.revision[:SHORT],
        machine=trailers.get("Machine", ""),
        kind=trailers.get("Kind", ""),
        by=trailers.get("By", entry.author.name),
        why=trailers.get("Why", ""),
        at=entry.at,
        findings=trailers.get("Findings", ""),
        of=trailers.get("Snapshot", "")[:SHORT],
    )


def changes_of_machine(
    opened: Opened, machine: str, before: str, after: str, *, unit: LengthUnit | None = None
) -> Changes:
    """What changed in a machine's settings from one snapshot to another."""
    opened.known(machine)
    old, new = opened.find(machine, before), opened.find(machine, after)
    return changes_between(opened.profile(machine, old.revision), opened.profile(machine, new.revision), unit=unit)


def changes_of_files(before: Path, after: Path, *, unit: LengthUnit | None = None) -> Changes:
    """What is different between two profile files."""
    return changes_between(file_profile(before), file_profile(after), unit=unit)
