"""What kind of setting stands at a pointer: its quantity, its relation to sister machines, what it hangs on.

All of it is written once, in the schema, as annotations (`x-quantity`, `x-unit`, `x-agreement`, `x-within`,
`x-hangs-on`); an annotation holds for everything below it until a deeper one says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from profilekeeper.model.schema import schema

__all__ = ["AGREEMENTS", "FREE", "SettingKind", "SettingNode", "kind_of", "root"]

AGREEMENTS = ("agrees", "agrees within", "own", "wears", "daily", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingKind:
    """What the schema says of one setting.

    `quantity`: length, angle, by axis, number, rate (a length or angle per `unit` of time), count, text, choice,
    date, identity, notation, page value, free.
    `unit`: the fixed unit of a number (1/min, h, kg ...), empty for lengths and angles.
    `agreement`: agrees, agrees within, own, wears, daily, or note (a remark: never judged).
    `within`: how closely sisters agree, in millimetres (or degrees), where agreement is "agrees within".
    `hangs_on`: kinds of hardware whose change makes the value invalid.
    """

    title: str
    description: str
    quantity: str
    unit: str
    agreement: str
    within: str
    hangs_on: tuple[str, ...]


FREE = SettingKind(
    title="", description="A free key.", quantity="free", unit="", agreement="note", within="", hangs_on=()
)


@dataclass(slots=True)
class SettingNode:
    """One place of the schema, with what it inherited on the way; children are made when first asked for."""

    part: Mapping[str, Any]
    kind: SettingKind
    _children: dict[str, SettingNode | None] = field(default_factory=dict)

    def child(self, token: str) -> SettingNode | None:
        """The place one step further in, or None where the schema knows no such step."""
        if token not in self._children:
            part = _part_below(self.part, token)
            self._children[token] = None if part is None else _node(part, self.kind, token)
        return self._children[token]


@cache
def root() -> SettingNode:
    """The place of a whole profile in the schema now in force."""
    base = SettingKind(title="", description="", quantity="", unit="", agreement="agrees", within="", hangs_on=())
    return _node(schema("profile"), base, "")


def kind_of(tokens: Sequence[str]) -> SettingKind:
    """What the schema says of the setting at these pointer tokens; `FREE` for keys it does not know."""
    here: SettingNode | None = root()
    for token in tokens:
        here = here.child(token) if here else None
        if here is None:
            return FREE
    return here.kind if here else FREE


def _node(part: Mapping[str, Any], above: SettingKind, token: str) -> SettingNode:
    whole = _resolved(part)
    kind = SettingKind(
        title=str(whole.get("title") or token.replace("_", " ")),
        description=str(whole.get("description", "")),
        quantity=str(whole.get("x-quantity", "")),
        unit=str(whole.get("x-unit", "")),
        agreement=str(whole.get("x-agreement", above.agreement)),
        within=str(whole.get("x-within", above.within)),
        hangs_on=tuple(whole.get("x-hangs-on", above.hangs_on)),
    )
    return SettingNode(part=whole, kind=kind)


def _resolved(part: Mapping[str, Any]) -> Mapping[str, Any]:
    """A part of the schema with its reference followed; what stands beside the reference wins."""
    if "$ref" not in part:
        return part
    name = str(part["$ref"]).removeprefix("#/$defs/")
    return {**_resolved(schema("profile")["$defs"][name]), **{k: v for k, v in part.items() if k != "$ref"}}


def _part_below(part: Mapping[str, Any], token: str) -> Mapping[str, Any] | None:
    if token in part.get("properties", {}):
        return _mapping(part["properties"][token])
    if "prefixItems" in part and token.isdigit() and int(token) < len(part["prefixItems"]):
        return _mapping(part["prefixItems"][int(token)])
    if isinstance(part.get("items"), Mapping) and token.isdigit():
        return _mapping(part["items"])
    if isinstance(part.get("additionalProperties"), Mapping):
        return _mapping(part["additionalProperties"])
    return None


def _mapping(part: object) -> Mapping[str, Any] | None:
    return part if isinstance(part, Mapping) else None
