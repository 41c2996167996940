"""Results as JSON: records become objects, exact quantities keep their number, unit and notation."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from enum import Enum

from profilekeeper.quantities import Measure

__all__ = ["plain", "print_json", "print_json_lines"]


def plain(value: object) -> object:
    """A result as plain JSON data.

    A quantity is `{"number": "212.730", "unit": "mm"}`: the number is text, so that no reader rounds it.
    """
    if isinstance(value, Measure):
        return {"number": f"{value.number:f}", "unit": str(value.unit)}
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in value]
    return value if isinstance(value, (str, int, float, bool)) or value is None else str(value)


def print_json(value: object) -> None:
    """Print one result as JSON, readable and in any script."""
    print(json.dumps(plain(value), ensure_ascii=False, indent=2))


def print_json_lines(values: Iterable[object]) -> None:
    """Print many results as one JSON list, without holding them all."""
    first = True
    print("[", end="")
    for value in values:
        print(("\n" if first else ",\n") + json.dumps(plain(value), ensure_ascii=False), end="")
        first = False
    print("\n]" if not first else "]")
