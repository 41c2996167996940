"""A merged tree as plain data: numbers given, references followed, every value proved by reading it back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from profilekeeper.changes.decisions import Choice, Decision
from profilekeeper.changes.merging import Made, Merger
from profilekeeper.changes.tree import POINTER_KEYED, Group, Leaf, Node, key_of, leaves, tree_of
from profilekeeper.errors import InvalidProfile
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.quantities import Angle, Length

__all__ = ["Finisher"]

_LEFT_OUT = object()


class Finisher:
    """Writes one merged tree out; `mixed` are the branches in it that were put together from several versions."""

    def __init__(self, merger: Merger) -> None:
        self.merger = merger
        self.mixed: dict[str, tuple[str, ...]] = {}
        self.leaves: dict[str, Leaf] = {}
        self.names = _names(merger.root)

    def outcome(self) -> tuple[Profile | None, frozenset[tuple[str, ...]]]:
        """The merged profile, or the branches that must be taken as a whole because mixed ones do not hold together."""
        data = self._plain(self.merger.root, "")
        try:
            profile = read_profile(data)
            unlike = self._unlike(profile)
            if unlike:
                self._spell(data, unlike)
                profile = read_profile(data)
                unlike = self._unlike(profile)
        except InvalidProfile as error:
            return None, frozenset(self._mixed_at(str(getattr(p, "pointer", ""))) for p in error.problems)
        return (None if unlike else profile), frozenset(self._mixed_at(at) for at, _ in unlike)

    def _spell(self, data: dict[str, Any], unlike: list[tuple[str, Leaf]]) -> None:
        """Give bare numbers taken from a side with another unit their unit, so that they mean what they meant."""
        for at, leaf in unlike:
            if isinstance(leaf.value, (Length, Angle)) and not at.startswith("/control_pages/"):
                _set(data, at, str(leaf.value))

    def _unlike(self, profile: Profile) -> list[tuple[str, Leaf]]:
        """Settings that read as another value than was decided."""
        read = {leaf.at: leaf for leaf in leaves(tree_of(profile, {}))}
        return [(at, leaf) for at, leaf in self.leaves.items() if not leaf.refers and read[at].value != leaf.value]

    def _mixed_at(self, pointer: str) -> tuple[str, ...]:
        """The nearest mixed branch at or above a pointer that was not yet taken as a whole."""
        here = pointer
        while here:
            path = self.mixed.get(here)
            if path is not None and path not in self.merger.whole:
                return path
            here = here.rpartition("/")[0]
        return ()

    def _plain(self, node: Node | Made, at: str) -> Any:
        if isinstance(node, Leaf):
            return self._leaf(node, at)
        if isinstance(node, Made):
            self.mixed[at] = node.path
        if isinstance(node, (Made, Group)) and not node.is_listed:
            return self._mapping(node, at)
        inner = node.items.values() if isinstance(node, (Made, Group)) else node.items
        return self._list(tuple(inner), at)

    def _list(self, nodes: tuple[Node | Made, ...], at: str) -> list[Any]:
        result: list[Any] = []
        for node in nodes:
            value = self._plain(node, f"{at}/{len(result)}")
            if value is not _LEFT_OUT:
                result.append(value)
        return result

    def _mapping(self, node: Made | Group, at: str) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for token, inner in node.items.items():
            key = self._key(node, token, inner, at)
            if key is None:
                continue  # it speaks of a thing that was left out
            value = self._plain(inner, json_pointer.join(at, key))
            if value is not _LEFT_OUT:
                result[key] = value
        return result

    def _key(self, node: Made | Group, token: str, inner: Node | Made, at: str) -> str | None:
        if at in POINTER_KEYED:
            return self._pointer_key(token, inner)
        if isinstance(node, Made):
            return node.names.get(token, token)
        assert not isinstance(inner, Made)
        return key_of(inner)

    def _pointer_key(self, token: str, inner: Node | Made) -> str | None:
        """A pointer used as a key, with the thing that it leads to under its number now."""
        for group, names in self.names.items():
            for thing, name in names.items():
                if json_pointer.is_prefix(f"/{group}/{thing}", token):
                    return json_pointer.join(f"/{group}", name) + token[len(f"/{group}/{thing}") :]
        return token if isinstance(inner, Made) or key_of(inner) == token else None

    def _leaf(self, leaf: Leaf, at: str) -> Any:
        if leaf.refers is None:
            self.leaves[at] = leaf
            return leaf.raw
        name = self.names["tools"].get(leaf.refers)
        if name is not None:
            self.leaves[at] = leaf
            return name
        if leaf.raw in self.names["tools"].values():
            self.merger.decisions.append(Decision(pointer=at, choice=Choice.AGREED, value=str(leaf.raw)))
            return _LEFT_OUT  # its tool was left out, and the number is another tool's now
        self.leaves[at] = leaf
        return leaf.raw


def _names(root: Made) -> dict[str, Mapping[str, str]]:
    """The key of every tool and zone after the merge, by token."""
    found: dict[str, Mapping[str, str]] = {"tools": {}, "no_go_zones": {}}
    for group in found:
        node = root.items.get(group)
        if isinstance(node, Made):
            found[group] = node.names
        elif isinstance(node, Group):
            found[group] = {token: key_of(inner) for token, inner in node.items.items()}
    return found


def _set(data: Any, pointer: str, raw: Any) -> None:
    *above, last = json_pointer.parse(pointer)
    here = data
    for token in above:
        here = here[int(token)] if isinstance(here, list) else here[token]
    here[int(last) if isinstance(here, list) else last] = raw
