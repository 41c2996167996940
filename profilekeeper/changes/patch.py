"""Changes made to plain data: `apply(a, changes_between(a, b))` is b.

Order matters, because pointers of single edits lead into the data before: first values are put and taken there,
then things are carried to their new numbers and names, then new things are added.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from profilekeeper.changes.change import NOT_LOOKED_AT, Change, Changes, Edit, EditKind
from profilekeeper.errors import ChangeDoesNotFit
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.removed import REMOVED

__all__ = ["REMOVED", "apply", "edits_between", "edits_of"]

_LISTED = ("events", "control_backups")


def apply(data: Mapping[str, Any], changes: Iterable[Change]) -> dict[str, Any]:
    """New plain data with the changes made; `data` itself is left as it is.

    Any choice of the lines of a comparison will do, in any order.
    Raises:  ChangeDoesNotFit, if other values stand there than those that were compared.
    """
    result: dict[str, Any] = _copied(data)
    edits = _unique(edit for change in changes for edit in change.edits)
    for kind in EditKind:
        chosen = [edit for edit in edits if edit.kind is kind]
        _STEPS[kind](result, chosen)
    return result


def edits_of(changes: Changes) -> dict[str, Any]:
    """What to write into the text of the earlier version, by pointer: a new value, or REMOVED.

    No pointer lies inside another; a list that gains or loses items is given whole.
    Raises:  as `apply`.
    """
    return edits_between(changes.data_before, apply(changes.data_before, changes))


def edits_between(before: Any, after: Any, at: str = "") -> dict[str, Any]:
    """The fewest values to set or remove in plain data to make one from the other, zeros as written included."""
    are_mappings = isinstance(before, Mapping) and isinstance(after, Mapping)
    if are_mappings and (before or not at) and _is_in_order(before, after):
        return _mapping_edits(before, after, at)
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        found: dict[str, Any] = {}
        for index, (one, other) in enumerate(zip(before, after, strict=True)):
            found |= edits_between(one, other, f"{at}/{index}")
        return found
    return {} if _is_same(before, after) else {at: after}


def _mapping_edits(before: Mapping[str, Any], after: Mapping[str, Any], at: str) -> dict[str, Any]:
    if at and not after:
        return {} if not before else {at: {}}
    found: dict[str, Any] = {}
    for key in before:
        inner = json_pointer.join(at, key)
        found |= edits_between(before[key], after[key], inner) if key in after else {inner: REMOVED}
    return found | {json_pointer.join(at, key): after[key] for key in after if key not in before}


def _is_in_order(before: Mapping[str, Any], after: Mapping[str, Any]) -> bool:
    """False for the columns of a grid in another order: there the order of keys says which cell is which."""
    columns = [side.get("columns") for side in (before, after)]
    if "rows" not in before or not all(isinstance(c, Mapping) for c in columns):
        return True
    return list(columns[0] or ()) == list(columns[1] or ())


def _is_same(before: Any, after: Any) -> bool:
    if isinstance(before, (Mapping, list)) or isinstance(after, (Mapping, list)):
        return bool(before == after)
    return isinstance(before, (str, bool)) == isinstance(after, (str, bool)) and str(before) == str(after)


def _put(data: dict[str, Any], edits: list[Edit]) -> None:
    for edit in edits:
        _look(data, edit)
        _set(data, edit.at, edit.raw)


def _take(data: dict[str, Any], edits: list[Edit]) -> None:
    """Places in a list from its end, so that those before keep theirs."""
    for edit in sorted(edits, key=_place, reverse=True):
        _look(data, edit)
        _drop(data, edit.at)
    for edit in edits:
        _prune(data, edit.at)


def _empty(data: dict[str, Any], edits: list[Edit]) -> None:
    for edit in edits:
        _set(data, edit.at, edit.raw)


def _carry(data: dict[str, Any], edits: list[Edit]) -> None:
    """All things are taken up before any is put down, so that two may change places."""
    held = [(edit.to, _drop(data, edit.at)) for edit in edits]
    for to, raw in held:
        _refuse_taken(data, to)
        _set(data, to, raw)


def _add(data: dict[str, Any], edits: list[Edit]) -> None:
    for edit in sorted(edits, key=_place):
        tokens = json_pointer.parse(edit.at)
        if tokens[0] in _LISTED:
            data.setdefault(tokens[0], []).insert(int(tokens[1]), _copied(edit.raw))
        else:
            _refuse_taken(data, edit.at)
            _set(data, edit.at, edit.raw)


def _order(data: dict[str, Any], edits: list[Edit]) -> None:
    """Things in the order of the later version, if just those are there; else as they are."""
    for edit in edits:
        token = json_pointer.parse(edit.at)[0]
        items = list(data.get(token, ()))
        ordered = [items.pop(items.index(item)) for item in edit.raw if item in items]
        data[token] = ordered + items


_STEPS: Mapping[EditKind, Callable[[dict[str, Any], list[Edit]], None]] = {
    EditKind.PUT: _put, EditKind.TAKE: _take, EditKind.EMPTY: _empty,
    EditKind.CARRY: _carry, EditKind.ADD: _add, EditKind.ORDER: _order,
}  # fmt: skip


def _unique(edits: Iterable[Edit]) -> list[Edit]:
    """Each edit once: two settings that moved into one list carry the same."""
    found: dict[tuple[EditKind, str, str], Edit] = {}
    for edit in edits:
        found.setdefault((edit.kind, edit.at, edit.to), edit)
    return list(found.values())


def _place(edit: Edit) -> tuple[str, int]:
    above, _, last = edit.at.rpartition("/")
    return above, int(last) if last.isdigit() else 0


def _look(data: dict[str, Any], edit: Edit) -> None:
    if edit.was is NOT_LOOKED_AT:
        return
    found = _at(data, edit.at)
    if found is REMOVED or found != edit.was:
        raise ChangeDoesNotFit(edit.at, edit.was, None if found is REMOVED else found)


def _refuse_taken(data: dict[str, Any], at: str) -> None:
    found = _at(data, at)
    if found is not REMOVED:
        raise ChangeDoesNotFit(at, "nothing", found)


def _at(data: Any, pointer: str) -> Any:
    here = data
    for token in json_pointer.parse(pointer):
        if isinstance(here, dict) and token in here:
            here = here[token]
        elif isinstance(here, list) and token.isdigit() and int(token) < len(here):
            here = here[int(token)]
        else:
            return REMOVED
    return here


def _set(data: dict[str, Any], pointer: str, raw: Any) -> None:
    *above, last = json_pointer.parse(pointer)
    here: Any = data
    for token in above:
        here = here[int(token)] if isinstance(here, list) else here.setdefault(token, {})
    here[int(last) if isinstance(here, list) else last] = _copied(raw)


def _drop(data: dict[str, Any], pointer: str) -> Any:
    *above, last = json_pointer.parse(pointer)
    parent = _at(data, json_pointer.format(above))
    if _at(data, pointer) is REMOVED:
        raise ChangeDoesNotFit(pointer, "a value", None)
    return parent.pop(int(last) if isinstance(parent, list) else last)


def _prune(data: dict[str, Any], pointer: str) -> None:
    """Drop the shells above what was taken, as far up as they are empty; a place in a list is kept."""
    tokens = json_pointer.parse(pointer)[:-1]
    while tokens and _at(data, json_pointer.format(tokens)) in ({}, []):
        if isinstance(_at(data, json_pointer.format(tokens[:-1])), list):
            return
        _drop(data, json_pointer.format(tokens))
        tokens = tokens[:-1]


def _copied(raw: Any) -> Any:
    if isinstance(raw, Mapping):
        return {key: _copied(value) for key, value in raw.items()}
    return [_copied(value) for value in raw] if isinstance(raw, list) else raw
