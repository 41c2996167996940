"""How machines of a fleet compare, and where their settings are heading."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.fleet.columns import (
        Cell,
        Column,
        Columns,
        Copying,
        cell,
        columns_of,
        columns_version,
        dumps,
        is_wanted,
        loads,
    )
    from profilekeeper.fleet.compare import MachineColumns, compare_columns
    from profilekeeper.fleet.rows import JUDGED, ClassComparison, Comparison, Held, Row, Since, State, Verdict

__all__ = [
    "JUDGED",
    "Cell",
    "ClassComparison",
    "Column",
    "Columns",
    "Comparison",
    "Copying",
    "Held",
    "MachineColumns",
    "Row",
    "Since",
    "State",
    "Verdict",
    "cell",
    "columns_of",
    "columns_version",
    "compare_columns",
    "dumps",
    "is_wanted",
    "loads",
]

_HOME = {
    "Cell": "columns", "Column": "columns", "Columns": "columns", "Copying": "columns", "cell": "columns",
    "columns_of": "columns", "columns_version": "columns", "dumps": "columns", "is_wanted": "columns",
    "loads": "columns", "MachineColumns": "compare", "compare_columns": "compare", "JUDGED": "rows",
    "ClassComparison": "rows", "Comparison": "rows", "Held": "rows", "Row": "rows", "Since": "rows",
    "State": "rows", "Verdict": "rows",
}  # fmt: skip


def __getattr__(name: str) -> object:
    """Names are loaded when first asked for: a command that compares nothing does not wait for this room."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
