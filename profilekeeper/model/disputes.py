"""Disputed settings: what two people recorded differently without knowing of each other, kept until one is read anew.

The record is a set: merging two is their union, whatever the order. A candidate goes only by `settled`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.schema import refuse

__all__ = ["NO_DISPUTES", "Candidate", "Disputes", "disputes_data", "read_disputes", "united_disputes"]

_NOTHING: Mapping[str, Any] = MappingProxyType({})
IsAncestor = Callable[[str, str], bool]
"""Whether one snapshot is another or stands before it in its history."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One recorded value: as text with its unit, a whole thing as JSON text, None where it was taken out.

    `snapshot` is the full id of the snapshot that recorded it; `extra` holds free `x-` keys.
    """

    value: str | None
    snapshot: str
    by: str = ""
    at: str = ""
    extra: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disputes:
    """Candidates by setting: a pointer in which a tool, zone or event is named by its id, where it has one."""

    settings: Mapping[str, tuple[Candidate, ...]]
    extra: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)

    def __bool__(self) -> bool:
        return bool(self.settings)

    def with_candidates(self, pointer: str, candidates: Iterable[Candidate]) -> Disputes:
        """The disputes with some more candidates for one setting."""
        return united_disputes(self, Disputes(settings={pointer: tuple(candidates)}))

    def without(self, pointers: Iterable[str]) -> Disputes:
        """The disputes without those of some settings: of each, itself and what lies inside it."""
        gone = tuple(pointers)
        kept = {p: c for p, c in self.settings.items() if not any(json_pointer.is_prefix(g, p) for g in gone)}
        return Disputes(settings=kept, extra=self.extra)

    def settled(self, pointer: str, *, reading: str, is_ancestor: IsAncestor) -> Disputes:
        """The disputes after the setting was read at the control and recorded in the snapshot `reading`.

        Only candidates that the reading could know of go: those whose snapshot is an ancestor of it.
        """
        left = tuple(c for c in self.settings.get(pointer, ()) if not is_ancestor(c.snapshot, reading))
        kept = {p: (left if p == pointer else c) for p, c in self.settings.items()}
        return Disputes(settings={p: c for p, c in kept.items() if c}, extra=self.extra)


NO_DISPUTES = Disputes(settings=MappingProxyType({}))


def read_disputes(data: object, *, source: str = "") -> Disputes:
    """The disputes in plain data; none at all where there is no data (None).

    Raises:  InvalidProfile, if it is no record of disputes.
    """
    if data is None:
        return NO_DISPUTES
    refuse("disputes", data, source or "the record of disputes")
    assert isinstance(data, Mapping)
    found = {str(p): tuple(_candidate(c) for c in candidates) for p, candidates in data["settings"].items()}
    return united_disputes(Disputes(settings=found, extra=_extra(data)), NO_DISPUTES)


def disputes_data(disputes: Disputes) -> dict[str, Any]:
    """Plain data of a record of disputes, in an order that depends on nothing but what is in it."""
    settings = {p: [_candidate_data(c) for c in disputes.settings[p]] for p in sorted(disputes.settings)}
    return {"disputes": 1, "settings": settings, **{k: disputes.extra[k] for k in sorted(disputes.extra)}}


def united_disputes(one: Disputes, other: Disputes) -> Disputes:
    """Every candidate of the two, each once."""
    settings: dict[str, tuple[Candidate, ...]] = {}
    for pointer in sorted({*one.settings, *other.settings}):
        both = (*one.settings.get(pointer, ()), *other.settings.get(pointer, ()))
        by_text = {_text(_candidate_data(c)): c for c in both}
        settings[pointer] = tuple(by_text[text] for text in sorted(by_text))
    return Disputes(settings=settings, extra=united_extra(one.extra, other.extra))


def united_extra(one: Mapping[str, Any], other: Mapping[str, Any]) -> Mapping[str, Any]:
    """Free keys of both; of one that differs, the value whose text comes first, so that order does not matter."""
    return {key: min((side[key] for side in (one, other) if key in side), key=_text) for key in sorted({*one, *other})}


def _candidate(data: Mapping[str, Any]) -> Candidate:
    known = {key: data[key] for key in ("value", "snapshot", "by", "at") if key in data}
    return Candidate(**known, extra=_extra(data))


def _candidate_data(candidate: Candidate) -> dict[str, Any]:
    data: dict[str, Any] = {"value": candidate.value, "snapshot": candidate.snapshot}
    data |= {key: value for key, value in (("by", candidate.by), ("at", candidate.at)) if value}
    return data | dict(candidate.extra)


def _extra(data: Mapping[str, Any]) -> Mapping[str, Any]:
    found = {key: value for key, value in data.items() if str(key).startswith("x-")}
    return found or _NOTHING


def _text(data: Any) -> str:
    return json.dumps(data, sort_keys=True, ensure_ascii=False, default=str)
