"""Which tools of several machines are of one kind: the same name, and sections the same as the controls round them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from profilekeeper.fleet.columns import Columns
from profilekeeper.fleet.naming import SHAPE_MARK
from profilekeeper.quantities.exact import EXACT

__all__ = ["tool_kinds"]

_ZERO = Decimal(0)


def tool_kinds(machines: Iterable[Columns]) -> tuple[dict[str, str], tuple[str, ...]]:
    """For each tool thing the key that all tools of its kind share, and a note on names that mean several kinds.

    A name that means one kind only is the key itself; several kinds are told apart by a count in brackets.
    """
    steps: dict[str, Decimal] = {}
    # Machines laid out alike share their things: each layout is looked at once.
    for known, step in {(columns.things, columns.step("mm") or _ZERO) for columns in machines}:
        for thing in known:
            if thing.startswith("/tools/"):
                steps[thing] = max(steps.get(thing, _ZERO), step)
    by_name: dict[str, list[str]] = {}
    for thing in sorted(steps):
        by_name.setdefault(thing.partition(SHAPE_MARK)[0], []).append(thing)
    kinds: dict[str, str] = {}
    notes = []
    for name, things in by_name.items():
        groups = _alike(things, steps)
        for count, group in enumerate(groups):
            kinds.update(dict.fromkeys(group, name if len(groups) == 1 else f"{name} ({count + 1})"))
        if len(groups) > 1:
            words = name.removeprefix("/tools/").replace("~1", "/").replace("~0", "~")
            notes.append(f"{words} is the name of {len(groups)} tools with other sections, each compared by itself")
    return kinds, tuple(notes)


def _alike(things: Sequence[str], steps: Mapping[str, Decimal]) -> list[list[str]]:
    """Things of one name in groups of the same shape; a thing joins the first group it is the same as."""
    groups: list[list[str]] = []
    for thing in things:
        for group in groups:
            if _is_alike(group[0], thing, max(steps[group[0]], steps[thing])):
                group.append(thing)
                break
        else:
            groups.append([thing])
    return groups


def _is_alike(one: str, other: str, step: Decimal) -> bool:
    """Whether two shapes have the same measures, each as the coarser of the two controls rounds it."""
    ours, theirs = _measures(one), _measures(other)
    if [key for key, _ in ours] != [key for key, _ in theirs]:
        return False
    return all(_is_same(a, b, step) for (_, a), (_, b) in zip(ours, theirs, strict=True))


def _measures(thing: str) -> list[tuple[str, str]]:
    shape = thing.partition(SHAPE_MARK)[2]
    pairs = []
    for place, section in enumerate(shape.split("|")):
        for item in section.split(";"):
            key, _, value = item.partition("=")
            pairs.append((f"{place}{key}", value))
    return pairs


def _is_same(one: str, other: str, step: Decimal) -> bool:
    if one == other:
        return True
    try:
        apart = EXACT.subtract(Decimal(one), Decimal(other))
    except ArithmeticError:
        return False
    return EXACT.multiply(EXACT.abs(apart), 2) <= step
