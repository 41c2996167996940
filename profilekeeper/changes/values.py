"""Values as text that a person reads and that reads back as the same value; differences in the reader's unit."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from profilekeeper.errors import InvalidQuantity
from profilekeeper.model.settings import Value
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity, format_delta, round_to
from profilekeeper.quantities.exact import EXACT

__all__ = ["Delta", "delta_between", "delta_text", "json_text", "value_text"]

Delta = Length | Angle | Quantity | Decimal | None
# One thousandth of a millimetre and ten times finer than the usual inch display: common practice, no source.
_SHOWN_TO = {LengthUnit.MM: Decimal("0.001"), LengthUnit.IN: Decimal("0.00001")}


def value_text(value: Value) -> str:
    """The value with its unit as it was written: `212.730 mm`, `45.50°`, `true`, `blank`.

    >>> value_text(Length(Decimal("21.700"), LengthUnit.MM))
    '21.700 mm'
    """
    if isinstance(value, (Length, Angle, Quantity)):
        return str(value)
    if value is None:
        return "blank"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:f}" if isinstance(value, Decimal) else value


def delta_between(before: Value, after: Value) -> Delta:
    """By how much a value grew, exactly; None where the two have no difference that is a number."""
    if isinstance(before, Decimal) and isinstance(after, Decimal):
        return EXACT.subtract(after, before)
    measures = (Length, Angle, Quantity)
    if not isinstance(before, measures) or not isinstance(after, measures) or not before.is_like(after):
        return None
    try:
        return after - before  # type: ignore[operator]  # two measures of one kind
    except InvalidQuantity:
        return None


def delta_text(delta: Delta, unit: LengthUnit) -> str:
    """A difference with its sign in the reader's unit, `≈` before one that rounding changed; empty without one."""
    if delta is None:
        return ""
    if isinstance(delta, Decimal):
        return f"{delta:+f}"
    if not isinstance(delta, Length):
        return format_delta(delta)
    try:
        return format_delta(delta.to(unit))
    except InvalidQuantity:
        rounded = round_to(delta, Length(_SHOWN_TO.get(unit, Decimal("0.001")), unit))
        return f"≈ {format_delta(rounded.value)}"


def json_text(raw: Any) -> str:
    """Plain data as one line of JSON in which every number keeps its digits and keys stand in order."""
    if isinstance(raw, Mapping):
        inner = ", ".join(f"{json.dumps(str(k), ensure_ascii=False)}: {json_text(raw[k])}" for k in sorted(raw))
        return "{" + inner + "}"
    if isinstance(raw, (list, tuple)):
        return "[" + ", ".join(json_text(item) for item in raw) + "]"
    if isinstance(raw, Decimal):
        return f"{raw:f}"
    return json.dumps(raw, ensure_ascii=False)
