"""Which number, name or place each thing has after a merge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from profilekeeper.changes.tree import Group, key_of
from profilekeeper.changes.values import json_text

__all__ = ["Numbered", "numbered", "ordered"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """The key of each thing that has one after the merge, and the keys that two sides claim for different things.

    A thing without a key here is left out of the merged record and kept only among the candidates.
    """

    names: Mapping[str, str]
    contested: tuple[str, ...]


def numbered(versions: tuple[Group | None, ...], items: Mapping[str, Any]) -> Numbered:
    """A change of number by one side is taken; where numbers clash, things go back to their last agreed ones.

    A new thing whose number is contested has no agreed one, so it is left out.
    """
    keys = {token: _keys(versions, token) for token in items}
    names: dict[str, str] = {}
    contested: set[str] = set()
    for token, (base, ours, theirs) in keys.items():
        name = _chosen(base, ours, theirs)
        if name is None:
            contested |= {key for key in (ours, theirs) if key is not None}
            name = base
        if name is not None:
            names[token] = name
    while clash := _clash(names):
        contested.add(clash[0])
        for token in clash[1]:
            base = keys[token][0]
            if base is None:
                del names[token]
            else:
                names[token] = base
    return Numbered(names=names, contested=tuple(sorted(contested)))


def ordered(versions: tuple[Group | None, ...], items: Mapping[str, Any]) -> list[str]:
    """The order of a list of things: that of the side that changed it, else the base's with new ones by date."""
    orders = [[t for t in version.items if t in items] if version else [] for version in versions]
    base, ours, theirs = orders
    if theirs == [t for t in base if t in theirs] and set(ours) == set(items):
        return ours
    if ours == [t for t in base if t in ours] and set(theirs) == set(items):
        return theirs
    if ours == theirs and set(ours) == set(items):
        return ours
    raws = {t: version.items[t].raw for version in versions if version for t in version.items}
    new = sorted((t for t in items if t not in base), key=lambda t: (_date(raws[t]), json_text(raws[t])))
    return [*base, *new]


def _keys(versions: tuple[Group | None, ...], token: str) -> tuple[str | None, str | None, str | None]:
    """The thing's key in base, ours and theirs; a side that has it no more claims nothing new."""
    found = [key_of(v.items[token]) if v is not None and token in v.items else None for v in versions]
    base = found[0]
    ours, theirs = (key if key is not None else base for key in found[1:])
    return base, ours if ours is not None else theirs, theirs if theirs is not None else ours


def _chosen(base: str | None, ours: str | None, theirs: str | None) -> str | None:
    if ours == theirs:
        return ours
    if ours == base:
        return theirs
    return ours if theirs == base else None


def _clash(names: Mapping[str, str]) -> tuple[str, list[str]] | None:
    """One key that several things have, and those of them that must give way: all but the one that is at home."""
    holders: dict[str, list[str]] = {}
    for token, name in names.items():
        holders.setdefault(name, []).append(token)
    for name, tokens in sorted(holders.items()):
        if len(tokens) > 1:
            return name, tokens
    return None


def _date(raw: Any) -> str:
    return str(raw.get("date", "")) if isinstance(raw, Mapping) else ""
