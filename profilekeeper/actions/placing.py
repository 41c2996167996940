"""Keyed values put where they belong, also where nothing stood yet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.kinds import SettingNode, root

__all__ = ["placed"]


def placed(data: Mapping[str, Any], values: Mapping[str, Any], *, new_things: bool, name: str) -> dict[str, Any]:
    """The same values by pointer, such that each leads to something that is there or into a group that is.

    Values for one missing group are gathered into it. A group the schema names comes into being by itself; a
    thing that a person names (a tool, a work zero, a page) only where `new_things` says so, since it is far more
    often a slip of the keys.
    Raises:  UnknownName, for a thing that is not there.
    """
    result: dict[str, Any] = {}
    for pointer, value in values.items():
        tokens = json_pointer.parse(pointer)
        depth = _known_depth(data, tokens)
        _refuse_new_things(tokens, depth, new_things, name)
        if depth >= len(tokens) - 1:
            result[pointer] = value
            continue
        group = result.setdefault(json_pointer.format(tokens[: depth + 1]), {})
        _put(group, tokens[depth + 1 :], value)
    return {pointer: _listed(pointer, value) for pointer, value in result.items()}


def _listed(pointer: str, value: Any) -> Any:
    """A new group with its lists as lists: what was keyed for /travel/0 and /travel/1 becomes [low, high].

    Raises:  UsageError, where an item of a list is missing.
    """
    if not isinstance(value, dict):
        return value
    inner = {key: _listed(json_pointer.join(pointer, key), item) for key, item in value.items()}
    if not _is_list(pointer):
        return inner
    wanted = [str(index) for index in range(max((int(k) for k in inner if k.isdigit()), default=0) + 1)]
    if len(wanted) < _least_items(pointer):
        wanted = [str(index) for index in range(_least_items(pointer))]
    lacking = [key for key in wanted if key not in inner]
    if lacking:
        raise UsageError(f"{json_pointer.join(pointer, lacking[0])} is to be keyed as well: {pointer} is new")
    return [inner[key] for key in wanted]


def _node(pointer: str) -> SettingNode | None:
    node: SettingNode | None = root()
    for token in json_pointer.parse(pointer):
        node = node.child(token) if node else None
    return node


def _is_list(pointer: str) -> bool:
    node = _node(pointer)
    return node is not None and node.part.get("type") == "array"


def _least_items(pointer: str) -> int:
    node = _node(pointer)
    return int(node.part.get("minItems", 0)) if node else 0


def _known_depth(data: object, tokens: tuple[str, ...]) -> int:
    """How many steps of a pointer lead to something that is there."""
    here = data
    for depth, token in enumerate(tokens):
        if isinstance(here, Mapping) and token in here:
            here = here[token]
        elif isinstance(here, list) and token.isdigit() and int(token) < len(here):
            here = here[int(token)]
        else:
            return depth
    return len(tokens)


def _refuse_new_things(tokens: tuple[str, ...], depth: int, new_things: bool, name: str) -> None:
    node = root()
    for index, token in enumerate(tokens[:-1]):
        is_named = token not in node.part.get("properties", {})
        if index >= depth and is_named and not new_things:
            at = json_pointer.format(tokens[: index + 1])
            raise UnknownName(f"{name} has no {at}; if it is to be recorded as a new one, say --new")
        below = node.child(token)
        if below is None:
            return
        node = below


def _put(group: dict[str, Any], tokens: tuple[str, ...], value: object) -> None:
    for token in tokens[:-1]:
        group = group.setdefault(token, {})
    group[tokens[-1]] = value
