"""Changes and decisions as plain JSON data: the form of every `--json`, described in docs/formats/changes.md."""

from __future__ import annotations

from typing import Any

from profilekeeper.changes.change import Change, Changes
from profilekeeper.changes.decisions import Merged
from profilekeeper.changes.values import value_text
from profilekeeper.model.disputes import disputes_data
from profilekeeper.model.settings import Value
from profilekeeper.quantities import Angle, Length, Quantity

__all__ = ["merged_to_json", "to_json"]

_KNOWN = {True: "yes", False: "no", None: "not known"}


def to_json(changes: Changes) -> dict[str, Any]:
    """The changes as data that any JSON writer can write; numbers are texts, so that no digit is lost."""
    return {
        "changes": 1,
        "unit": str(changes.unit),
        "notices": list(changes.notices),
        "lines": [_line(change) for change in changes.all],
    }


def merged_to_json(merged: Merged) -> dict[str, Any]:
    """What a merge decided and left disputed, as data that any JSON writer can write."""
    decided = [{"pointer": d.pointer, "choice": str(d.choice), "value": d.value} for d in merged.decisions]
    return {"decisions": 1, "decided": decided, "disputed": disputes_data(merged.disputes)["settings"]}


def _line(change: Change) -> dict[str, Any]:
    data: dict[str, Any] = {
        "kind": str(change.kind),
        "title": change.title,
        "group": change.group,
        "pointer_before": change.pointer_before,
        "pointer_after": change.pointer_after,
        "before": _value(change.before, change.before_text, is_there=change.pointer_before is not None),
        "after": _value(change.after, change.after_text, is_there=change.pointer_after is not None),
        "delta": change.delta_text or None,
        "geometry": _KNOWN[change.geometry],
        "agreement": change.agreement,
        "hangs_on": list(change.hangs_on),
    }
    if change.by:
        data["by"] = change.by
    if change.parts:
        data["parts"] = [
            {"pointer": p.pointer, "title": p.title, "value": _value(p.value, value_text(p.value), is_there=True)}
            for p in change.parts
        ]
    return data


def _value(value: Value, text: str, *, is_there: bool) -> dict[str, str] | None:
    """A value as text, and where it is a quantity its number and unit apart; None where there is nothing."""
    if not is_there:
        return None
    if isinstance(value, (Length, Angle, Quantity)):
        return {"text": text, "number": f"{value.number:f}", "unit": str(value.unit)}
    return {"text": text}
