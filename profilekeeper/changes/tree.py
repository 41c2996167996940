"""A profile as a tree in which things stand under the same key in every version, whatever they are called there.

Two versions of one machine are comparable only after this: tool 4 that became tool 7, an event that slid down
its list and a page value whose label an update changed get one common key (a token), and a tool number that
refers to a tool is told by the tool it means.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from profilekeeper.errors import InvalidQuantity, UnknownName
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.kinds import FREE, SettingKind, SettingNode, kind_of
from profilekeeper.model.kinds import root as schema_root
from profilekeeper.model.profile import Profile
from profilekeeper.model.schema import schema
from profilekeeper.model.settings import Value
from profilekeeper.quantities import LengthUnit, parse_quantity

__all__ = ["Group", "Leaf", "Node", "Row", "key_of", "leaves", "tree_of"]

POINTER_KEYED = ("/sources", "/agreement", "/moved")
_LISTS_OF_THINGS = ("/events", "/control_backups")
_IN_PAGE_UNIT = ("at_least", "at_most", "within")
_RULE_AMOUNTS = ("at_least", "at_most", "warn_within", "margin", "tolerance", "largest")


@dataclass(frozen=True, slots=True)
class Leaf:
    """One setting: where it stands in its version, as it is written, what it is worth.

    `refers` is the token of the tool that it names, where it names one that is there.
    """

    at: str
    raw: Any
    value: Value
    kind: SettingKind
    refers: str | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """A mapping, or a list of things (events, backups) keyed by what they are; `items` go by token."""

    at: str
    raw: Any
    items: dict[str, Node]
    kind: SettingKind
    is_collection: bool
    is_listed: bool


@dataclass(frozen=True, slots=True)
class Row:
    """A list in which places matter: corners of an outline, sections of a tool, ends of a travel, cells."""

    at: str
    raw: Any
    items: tuple[Node, ...]
    kind: SettingKind


Node = Leaf | Group | Row


def tree_of(profile: Profile, tokens: Mapping[str, str]) -> Group:
    """The tree of a profile; `tokens` gives the common key of each thing by its pointer in this version."""
    grown = _Grower(profile, tokens).grow(dict(profile.data), schema_root(), "", {})
    assert isinstance(grown, Group)
    return grown


def leaves(node: Node) -> Iterator[Leaf]:
    """Every setting below a node, in file order."""
    if isinstance(node, Leaf):
        yield node
        return
    for inner in node.items.values() if isinstance(node, Group) else node.items:
        yield from leaves(inner)


def key_of(node: Node) -> str:
    """The name, number or place under which a node stands in its own version."""
    last = node.at.rsplit("/", 1)[-1]
    return last if "~" not in last else json_pointer.parse(node.at)[-1]


class _Grower:
    """Walks data beside the schema, once a version."""

    def __init__(self, profile: Profile, tokens: Mapping[str, str]) -> None:
        self.profile = profile
        self.tokens = tokens
        self.tool_number = schema("profile")["$defs"]["tool_number"]["pattern"]

    def grow(self, raw: Any, node: SettingNode | None, at: str, about: Mapping[str, Any]) -> Node:
        if isinstance(raw, dict):
            return self._group(raw, node, at, about)
        if isinstance(raw, list):
            return self._listed(raw, node, at) if at in _LISTS_OF_THINGS else self._row(raw, node, at, about)
        return self._leaf(raw, node, at, about)

    def _group(self, raw: dict[str, Any], node: SettingNode | None, at: str, about: Mapping[str, Any]) -> Group:
        inner = raw if at.startswith(("/control_pages/", "/rules/")) and ("unit" in raw or "setting" in raw) else about
        items: dict[str, Node] = {}
        tokens, child = self.tokens, None
        for key, value in raw.items():
            child_at = f"{at}/{key}" if "/" not in key and "~" not in key else json_pointer.join(at, key)
            if node is not None:
                child = node.child(key)
            if isinstance(value, (dict, list)):
                items[tokens.get(child_at, key)] = self.grow(value, child, child_at, inner)
            else:
                items[key] = self._leaf(value, child, child_at, inner)
        if at in POINTER_KEYED:
            items = {_translated(key, tokens): item for key, item in items.items()}
        is_collection = at.count("/") == 1 and bool(node) and _is_open(node)
        return Group(at, raw, items, node.kind if node else FREE, is_collection, False)

    def _listed(self, raw: list[Any], node: SettingNode | None, at: str) -> Group:
        items: dict[str, Node] = {}
        for index, value in enumerate(raw):
            child_at = f"{at}/{index}"
            token = self.tokens.get(child_at) or _by_content(value, items)
            items[token] = self.grow(value, node.child(str(index)) if node else None, child_at, {})
        return Group(at, raw, items, node.kind if node else FREE, True, True)

    def _row(self, raw: list[Any], node: SettingNode | None, at: str, about: Mapping[str, Any]) -> Row:
        inner = (
            self.grow(value, node.child(str(i)) if node else None, f"{at}/{i}", about) for i, value in enumerate(raw)
        )
        return Row(at, raw, tuple(inner), node.kind if node else FREE)

    def _leaf(self, raw: Any, node: SettingNode | None, at: str, about: Mapping[str, Any]) -> Leaf:
        setting = self.profile.settings[at]
        value, kind = setting.value, setting.kind
        if about and not isinstance(raw, bool):
            value = _in_context(raw, value, at, about, self.profile.unit)
        refers = None
        if node and isinstance(raw, str) and node.part.get("pattern") == self.tool_number:
            refers = self.tokens.get("/tools/" + raw)
        return Leaf(at, raw, value, kind, refers)


def _is_open(node: SettingNode | None) -> bool:
    """Whether a mapping holds things by name (tables, tools, pages) rather than fixed keys."""
    return node is not None and isinstance(node.part.get("additionalProperties"), Mapping)


def _translated(pointer: str, tokens: Mapping[str, str]) -> str:
    """A pointer used as a key, with the thing it leads to named by its token."""
    steps = pointer.split("/", 3)
    token = tokens.get("/".join(steps[:3])) if len(steps) > 2 else None
    return pointer if token is None else "/".join([*steps[:2], token, *steps[3:]])


def _by_content(item: Any, taken: Mapping[str, Node]) -> str:
    """The key of a thing without an id: what it is; a second one of the same kind gets a count."""
    what = [str(item.get(key, "")) for key in ("date", "kind", "file", "sha256")] if isinstance(item, dict) else [""]
    base, count = " ".join(what), 1
    while f"{base} #{count}" in taken:
        count += 1
    return f"{base} #{count}"


def _in_context(raw: Any, value: Value, at: str, about: Mapping[str, Any], unit: LengthUnit) -> Value:
    """A number whose unit may stand elsewhere: bounds beside a page value, amounts of a rule."""
    key = at.rsplit("/", 1)[-1]
    if at.startswith("/rules/"):
        return _read(raw, unit, value) if key in _RULE_AMOUNTS and _judges_a_length(about) else value
    return _read(raw, str(about["unit"]), value) if key in _IN_PAGE_UNIT and about.get("unit") else value


def _read(raw: Any, unit: str, otherwise: Value) -> Value:
    try:
        quantity = parse_quantity(raw if isinstance(raw, str) else f"{Decimal(raw):f}", unit)
    except InvalidQuantity:
        return otherwise
    return quantity.length or quantity.angle or quantity


def _judges_a_length(rule: Mapping[str, Any]) -> bool:
    try:
        tokens = json_pointer.parse(str(rule.get("setting", "")))
    except UnknownName:
        return False
    kind = kind_of(tokens).quantity
    rotary = len(tokens) > 1 and tokens[0] == "axes" and tokens[1][:1] in "ABC"
    return kind == "length" or (kind == "by axis" and not rotary)
