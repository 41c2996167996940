"""How each value came into a profile: read at the control, measured, taken from a sheet, and when.

A profile keeps this under `sources`, by pointer; the longest pointer that leads to a setting holds for it, so
one line can speak for a whole branch.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile

__all__ = ["source_of", "with_sources"]

Source = Mapping[str, Any]


def source_of(profile: Profile, pointer: str) -> Source | None:
    """What the profile says of how the value at a pointer came; None where it says nothing."""
    return _nearest(_said(profile), pointer)


def with_sources(profile: Profile, news: Mapping[str, Source]) -> dict[str, Source]:
    """The profile's `sources` after some values came anew, in the fewest lines that say the same.

    A line that was there is kept as it is wherever it still holds for something.
    """
    said = _said(profile)
    leaves = [p for p in profile.settings if not p.startswith("/sources")]
    wanted = {p: _newest(news, p) or _nearest(said, p) for p in leaves}
    return _fewest(wanted, said)


def _said(profile: Profile) -> Mapping[str, Source]:
    sources = profile.data.get("sources")
    return sources if isinstance(sources, Mapping) else {}


def _nearest(said: Mapping[str, Source], pointer: str) -> Source | None:
    """The entry at the pointer or at the nearest place above it."""
    at = pointer
    while True:
        if at in said:
            return said[at]
        if not at:
            return None
        at = at.rpartition("/")[0]


def _newest(news: Mapping[str, Source], pointer: str) -> Source | None:
    """What came anew for a pointer, itself or with a branch above it."""
    return _nearest(news, pointer) if news else None


def _fewest(wanted: Mapping[str, Source | None], said: Mapping[str, Source]) -> dict[str, Source]:
    """The shortest map by branch that gives every leaf what is wanted of it."""
    below: dict[str, list[str]] = {}
    for pointer in wanted:
        for at in _above(pointer):
            below.setdefault(at, []).append(pointer)
    result: dict[str, Source] = {}
    _settle("", below, wanted, None, result)
    in_order = [p for p in said if p in result] + [p for p in result if p not in said]
    return {p: result[p] for p in in_order}


def _settle(
    at: str,
    below: Mapping[str, list[str]],
    wanted: Mapping[str, Source | None],
    inherited: Source | None,
    result: dict[str, Source],
) -> None:
    """Give a branch the source most of its leaves want, and its exceptions one of their own."""
    leaves = below.get(at, [])
    if all(wanted[p] == inherited for p in leaves):
        return
    common = _commonest(wanted[p] for p in leaves)
    if common is not None and common != inherited:
        result[at] = common
        inherited = common
    for child in dict.fromkeys(_child(at, p) for p in leaves if p != at):
        _settle(child, below, wanted, inherited, result)


def _commonest(sources: Iterable[Source | None]) -> Source | None:
    """The source most leaves share; None if some leaf has none (a branch would then claim too much)."""
    counts: Counter[tuple[tuple[str, str], ...] | None] = Counter()
    sample: dict[tuple[tuple[str, str], ...] | None, Source | None] = {}
    for source in sources:
        key = tuple((k, str(v)) for k, v in source.items()) if source is not None else None
        counts[key] += 1
        sample.setdefault(key, source)
    return None if None in counts else sample[counts.most_common(1)[0][0]]


def _above(pointer: str) -> Iterable[str]:
    """The pointer itself and every place above it, outermost first."""
    tokens = json_pointer.parse(pointer)
    return [json_pointer.format(tokens[:n]) for n in range(len(tokens) + 1)]


def _child(at: str, pointer: str) -> str:
    """The place one step below `at` on the way to a pointer."""
    step = pointer[len(at) + 1 :].split("/", 1)[0]
    return f"{at}/{step}"
