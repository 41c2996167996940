"""What has run at the machine, part by part. Entries are only ever added: a withdrawal is one more entry.

The record is a set, so that two copies of it unite without a question.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.disputes import united_extra
from profilekeeper.model.schema import refuse

__all__ = ["NOTHING_PROVEN", "Proven", "ProvenEntry", "proven_data", "read_proven", "united_proven"]

_NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvenEntry:
    """One act: some parts of a snapshot ran (`proven`), or that was taken back (`withdrawn`).

    A part is a pointer in which a tool is named by its id; the empty pointer is everything.
    """

    snapshot: str
    parts: tuple[str, ...]
    act: str
    by: str
    at: str
    why: str = ""
    extra: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)

    def covers(self, pointer: str) -> bool:
        """Whether the setting at a pointer is among what ran."""
        return any(json_pointer.is_prefix(part, pointer) for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proven:
    """All entries, oldest first."""

    entries: tuple[ProvenEntry, ...]
    extra: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)

    def __bool__(self) -> bool:
        return bool(self.entries)

    def with_entry(self, entry: ProvenEntry) -> Proven:
        """The record with one more act."""
        return united_proven(self, Proven(entries=(entry,)))

    def last_proven(self, pointer: str) -> ProvenEntry | None:
        """The latest act by which a setting was proven and that was not withdrawn since; None without one.

        An act is withdrawn for a setting by a later act on the same snapshot that covers the setting.
        """
        withdrawn: set[str] = set()
        for entry in reversed(self.entries):
            if not entry.covers(pointer):
                continue
            if entry.act == "withdrawn":
                withdrawn.add(entry.snapshot)
            elif entry.snapshot not in withdrawn:
                return entry
        return None


NOTHING_PROVEN = Proven(entries=())


def read_proven(data: object, *, source: str = "") -> Proven:
    """The record in plain data; nothing proven where there is no data (None).

    Raises:  InvalidProfile, if it is no record of proven parts.
    """
    if data is None:
        return NOTHING_PROVEN
    refuse("proven", data, source or "the record of proven parts")
    assert isinstance(data, Mapping)
    return Proven(entries=_ordered(_entry(item) for item in data["entries"]), extra=_extra(data))


def proven_data(proven: Proven) -> dict[str, Any]:
    """Plain data of the record, oldest entry first."""
    extra = {key: proven.extra[key] for key in sorted(proven.extra)}
    return {"proven": 1, "entries": [_entry_data(entry) for entry in proven.entries], **extra}


def united_proven(one: Proven, other: Proven) -> Proven:
    """Every entry of the two, each once, oldest first."""
    return Proven(entries=_ordered((*one.entries, *other.entries)), extra=united_extra(one.extra, other.extra))


def _ordered(entries: Iterable[ProvenEntry]) -> tuple[ProvenEntry, ...]:
    """By the moment they tell, then by their text: an order in which no clock zone and no copy matters."""
    by_text = {json.dumps(_entry_data(e), sort_keys=True, ensure_ascii=False, default=str): e for e in entries}
    return tuple(by_text[text] for text in sorted(by_text, key=lambda text: (_moment(by_text[text].at), text)))


def _moment(at: str) -> datetime:
    """The moment a text tells; what tells none stands first, what has no zone counts as UTC."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return datetime.min.replace(tzinfo=UTC)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _entry(data: Mapping[str, Any]) -> ProvenEntry:
    known = {key: data[key] for key in ("snapshot", "act", "by", "at", "why") if key in data}
    return ProvenEntry(parts=tuple(data["parts"]), extra=_extra(data), **known)


def _entry_data(entry: ProvenEntry) -> dict[str, Any]:
    data: dict[str, Any] = {"snapshot": entry.snapshot, "parts": list(entry.parts), "act": entry.act}
    data |= {"by": entry.by, "at": entry.at} | ({"why": entry.why} if entry.why else {})
    return data | dict(entry.extra)


def _extra(data: Mapping[str, Any]) -> Mapping[str, Any]:
    found = {key: value for key, value in data.items() if str(key).startswith("x-")}
    return found or _NOTHING
