"""Every single setting of a profile, by pointer, with its exact value and its kind.

This is the one flat view that changes, comparison, limits and sheets work on, so that a value kept under
`control_pages` is treated like any modelled one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any

from profilekeeper.errors import InvalidQuantity, UnknownName
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.kinds import FREE, SettingKind, SettingNode, root
from profilekeeper.model.schema import Problem
from profilekeeper.quantities import (
    Angle,
    Length,
    LengthUnit,
    Quantity,
    parse_angle,
    parse_length,
    parse_quantity,
)

__all__ = [
    "EMPTY_LIST",
    "EMPTY_MAPPING",
    "Setting",
    "SettingReader",
    "Value",
    "pointers_like",
    "read_settings",
]

Value = Length | Angle | Quantity | Decimal | str | bool | None
"""What a setting can be: a quantity with its unit, a plain number, a text, yes or no, or blank."""

EMPTY_MAPPING = "{}"
EMPTY_LIST = "[]"
_ROTARY = ("tilt", "swivel", "rotary")


@dataclass(frozen=True, slots=True)
class Setting:
    """One value of a profile: where it stands (JSON Pointer), what it is, and what the schema says of it."""

    pointer: str
    value: Value
    kind: SettingKind


@dataclass(slots=True)
class SettingReader:
    """Walks plain data beside the schema; `settings` and `problems` grow as it goes."""

    unit: LengthUnit
    rotary_axes: frozenset[str]
    settings: dict[str, Setting]
    problems: list[Problem]

    def read(self, data: object, node: SettingNode | None, at: str, context: object) -> None:
        """Take in everything below `at`; `context` is the mapping that a leaf may need for its unit."""
        if isinstance(data, dict):
            self._read_mapping(data, node, at, context)
        elif isinstance(data, list):
            self._read_list(data, node, at, context)
        else:
            self._leaf(data, node.kind if node else FREE, at, context)

    def _read_mapping(self, data: Mapping[str, Any], node: SettingNode | None, at: str, context: object) -> None:
        if not data:
            self.settings[at] = Setting(at, EMPTY_MAPPING, node.kind if node else FREE)
            return
        inner = data if "unit" in data or "multiplier" in data or "columns" in data else context
        for key, value in data.items():
            token = key if "~" not in key and "/" not in key else key.replace("~", "~0").replace("/", "~1")
            self.read(value, node.child(key) if node else None, f"{at}/{token}", inner)

    def _read_list(self, data: Sequence[Any], node: SettingNode | None, at: str, context: object) -> None:
        if not data:
            self.settings[at] = Setting(at, EMPTY_LIST, node.kind if node else FREE)
            return
        for index, value in enumerate(data):
            step = str(index)
            self.read(value, node.child(step) if node else None, f"{at}/{step}", context)

    def _leaf(self, raw: Any, kind: SettingKind, at: str, context: object) -> None:
        try:
            value = self._value(raw, kind, at, context)
        except InvalidQuantity as error:
            self.problems.append(Problem(pointer=at, message=str(error)))
            value = str(raw)
        if kind.quantity == "page value":
            kind = _page_kind(kind, _about(at, context))
        self.settings[at] = Setting(at, value, kind)

    def _value(self, raw: Any, kind: SettingKind, at: str, context: object) -> Value:
        quantity = kind.quantity
        if quantity == "by axis":
            quantity = "angle" if at.split("/")[2] in self.rotary_axes else "length"
        if quantity == "length":
            return parse_length(raw) if isinstance(raw, str) else Length(_decimal(raw), self.unit)
        if quantity == "angle":
            return parse_angle(raw) if isinstance(raw, str) else Angle(_decimal(raw))
        if quantity == "page value":
            return _page_value(raw, at, context)
        if isinstance(raw, (bool, str)) or raw is None:
            return raw
        if quantity == "rate":
            over = "deg" if at.split("/")[2] in self.rotary_axes else str(self.unit)
            return Quantity(_decimal(raw), f"{over}/{kind.unit}")
        return Quantity(_decimal(raw), kind.unit) if kind.unit else _decimal(raw)


def read_settings(data: Mapping[str, Any]) -> tuple[dict[str, Setting], tuple[Problem, ...]]:
    """All settings of a profile's plain data by pointer, in file order, and what could not be read.

    The data is expected to satisfy the schema; whatever does not is kept as text and named as a problem.
    """
    unit = LengthUnit(str(data.get("units", {}).get("length", "mm")))
    reader = SettingReader(unit=unit, rotary_axes=_rotary_axes(data), settings={}, problems=[])
    reader.read(data, root(), "", {})
    _overrule(reader.settings, data.get("agreement"))
    return reader.settings, tuple(reader.problems)


def quantity_at(data: Mapping[str, Any], pointer: str) -> str:
    """The kind of quantity the schema wants at a pointer of a profile, whether or not a value is there yet.

    One of length, angle, number, rate, count, text, choice, date, identity, notation, page value, free; empty where
    the schema knows the place but no single value belongs there.
    Raises:  UnknownName, if the schema knows no such place.
    """
    tokens = json_pointer.parse(pointer)
    node: SettingNode | None = root()
    for depth, token in enumerate(tokens):
        node = node.child(token) if node else None
        if token.startswith("x-"):
            return "free"
        if node is None:
            raise UnknownName(f"{json_pointer.format(tokens[: depth + 1])} is no setting of a machine record")
    quantity = node.kind.quantity if node else ""
    if quantity == "by axis":
        return "angle" if tokens[1] in _rotary_axes(data) or tokens[1][:1] in "ABC" else "length"
    return quantity


def _overrule(settings: dict[str, Setting], agreement: object) -> None:
    """Let the profile's own `agreement` say how its settings relate to sister machines."""
    if not isinstance(agreement, Mapping):
        return
    for pattern, word in agreement.items():
        for pointer in pointers_like(settings, str(pattern)):
            setting = settings[pointer]
            settings[pointer] = Setting(pointer, setting.value, _in_agreement(setting.kind, str(word), ""))


def pointers_like(settings: Mapping[str, Setting], pattern: str) -> tuple[str, ...]:
    """The pointers at or below a pattern in which `*` stands for any one step, in file order."""
    if "*" not in pattern:
        return tuple(p for p in settings if p == pattern or p.startswith(pattern + "/"))
    wanted = pattern.split("/")
    return tuple(p for p in settings if _is_like(p.split("/"), wanted))


def _is_like(steps: Sequence[str], wanted: Sequence[str]) -> bool:
    return len(steps) >= len(wanted) and all(w in ("*", step) for w, step in zip(wanted, steps, strict=False))


@lru_cache(maxsize=256)
def _in_agreement(kind: SettingKind, agreement: str, within: str) -> SettingKind:
    return replace(kind, agreement=agreement, within=within)


def _page_kind(kind: SettingKind, about: Mapping[str, Any]) -> SettingKind:
    """What the page value itself, or its column, says of its relation to sister machines."""
    if "agreement" not in about and "hangs_on" not in about:
        return kind
    hangs_on = tuple(str(h) for h in about.get("hangs_on", ()))
    said = _in_agreement(kind, str(about.get("agreement", kind.agreement)), str(about.get("within", "")))
    return replace(said, hangs_on=hangs_on) if hangs_on else said


def _rotary_axes(data: Mapping[str, Any]) -> frozenset[str]:
    """Axes that turn: those said to, and A, B, C where nothing is said (ISO 841)."""
    axes = data.get("axes", {})
    said = {name: axis.get("kind") for name, axis in axes.items() if isinstance(axis, dict)}
    return frozenset(n for n, k in said.items() if k in _ROTARY or (k is None and n[:1] in "ABC"))


def _page_value(raw: Any, at: str, context: object) -> Value:
    if not isinstance(raw, (int, Decimal)) or isinstance(raw, bool):
        return raw if isinstance(raw, (str, bool)) else None
    about = _about(at, context)
    number = _decimal(raw)
    factor = about.get("multiplier")
    if isinstance(factor, (int, Decimal)):
        number = number * _decimal(factor)
    unit = str(about.get("unit", ""))
    return _with_unit(number, unit) if unit else number


def _about(at: str, context: object) -> Mapping[str, Any]:
    """The mapping that tells a page value's unit: its own, or that of its column in a grid."""
    if not isinstance(context, Mapping):
        return {}
    columns = context.get("columns")
    if not isinstance(columns, Mapping):
        return context
    names, index = list(columns), at.rsplit("/", 1)[-1]
    column = columns.get(names[int(index)]) if index.isdigit() and int(index) < len(names) else None
    return column if isinstance(column, Mapping) else {}


def _with_unit(number: Decimal, unit: str) -> Value:
    quantity = parse_quantity(f"{number:f} {unit}")
    return quantity.length or quantity.angle or quantity


def _decimal(raw: int | Decimal) -> Decimal:
    return raw if isinstance(raw, Decimal) else Decimal(raw)
