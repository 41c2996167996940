"""What plain data are after some changes: the measure by which every edit of a text is checked."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.model import pointer as pointers
from profilekeeper.model.removed import REMOVED, Removed

__all__ = ["REMOVED", "Change", "Removed", "changed", "in_order"]


Change = object | Removed


def changed(data: object, changes: Mapping[str, Change]) -> object:
    """New data with the changes made; `data` itself is left as it is.

    Raises:  UnknownName for a place that leads nowhere, UsageError for changes that overlap.
    >>> changed({"a": 1, "b": [1]}, {"/a": REMOVED, "/b/-": 2})
    {'b': [1, 2]}
    """
    for pointer, change in in_order(data, changes):
        data = _with(data, pointers.parse(pointer), change)
    return data


def in_order(data: object, changes: Mapping[str, Change]) -> list[tuple[str, Change]]:
    """The changes in the order in which they can be made one by one.

    First new values for what is there, then what is added, then removals, in a list from its end:
    so every pointer still names the place it names in the data as given when its turn comes.

    Raises:  UnknownName for a place that leads nowhere, UsageError for changes that overlap.
    """
    _refuse_overlaps(changes)
    here: list[tuple[str, Change]] = []
    gone: list[tuple[str, Change]] = []
    new: list[tuple[str, Change]] = []
    for pointer, change in changes.items():
        if change is REMOVED:
            pointers.resolve(data, pointer)
            gone.append((pointer, change))
        else:
            (here if _is_there(data, pointer) else new).append((pointer, change))
    gone.sort(key=lambda pair: _natural(pair[0]), reverse=True)
    return here + _new_in_order(data, new) + gone


def _refuse_overlaps(changes: Mapping[str, Change]) -> None:
    if "" in changes:
        raise UsageError("the whole of a record cannot be changed at once: name the settings that change")
    tokens = sorted(pointers.parse(pointer) for pointer in changes)
    for outer, inner in pairwise(tokens):
        if inner[: len(outer)] == outer:
            outside, inside = pointers.format(outer), pointers.format(inner)
            raise UsageError(f"{outside} and {inside} cannot both change: give one of the two")


def _is_there(data: object, pointer: str) -> bool:
    above, last = _split(pointer)
    parent = pointers.resolve(data, above)
    if isinstance(parent, list):
        if last == "-" or _is_behind(parent, last):
            return False
        pointers.resolve(data, pointer)
        return True
    if isinstance(parent, dict):
        return last in parent
    raise UnknownName(f"{above} is a single value: nothing can be put inside it")


def _is_behind(parent: list[object], token: str) -> bool:
    """Whether a token is a place behind the last one of a list."""
    return token.isascii() and token.isdigit() and str(int(token)) == token and int(token) >= len(parent)


def _new_in_order(data: object, new: list[tuple[str, Change]]) -> list[tuple[str, Change]]:
    """What is added: names as they were given, places in a list one after the other without a gap."""
    names = [pair for pair in new if isinstance(_parent(data, pair[0]), dict)]
    places = [pair for pair in new if pair not in names]
    places.sort(key=lambda pair: _natural(pair[0]))
    lengths: dict[str, int] = {}
    for pointer, _ in places:
        above, last = _split(pointer)
        parent = _parent(data, pointer)
        length = lengths.get(above, len(parent) if isinstance(parent, list) else 0)
        if last not in ("-", str(length)):
            raise UnknownName(f"there is no place {last} in the list {above}: the next one is {length}")
        lengths[above] = length + 1
    return names + places


def _parent(data: object, pointer: str) -> object:
    return pointers.resolve(data, _split(pointer)[0])


def _split(pointer: str) -> tuple[str, str]:
    tokens = pointers.parse(pointer)
    return pointers.format(tokens[:-1]), tokens[-1]


def _natural(pointer: str) -> list[tuple[int, int, str]]:
    """Places of a list in the order of their numbers, names by their letters, `-` behind all."""
    return [
        (0, int(token), "") if token.isascii() and token.isdigit() else (2 if token == "-" else 1, 0, token)
        for token in pointers.parse(pointer)
    ]


def _with(data: object, tokens: tuple[str, ...], change: Change) -> object:
    """A copy of the data along one path, with one change at its end."""
    first, rest = tokens[0], tokens[1:]
    if isinstance(data, dict):
        group = dict(data)
        if rest:
            group[first] = _with(group[first], rest, change)
        elif change is REMOVED:
            del group[first]
        else:
            group[first] = change
        return group
    assert isinstance(data, list)
    items = list(data)
    if rest:
        items[int(first)] = _with(items[int(first)], rest, change)
    elif change is REMOVED:
        del items[int(first)]
    elif first == "-" or int(first) >= len(items):
        items.append(change)
    else:
        items[int(first)] = change
    return items
