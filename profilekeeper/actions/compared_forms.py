"""A comparison as plain data for other programs, and as a table for a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from profilekeeper.fleet.rows import ClassComparison, Comparison, Held, Row, Since

__all__ = ["to_csv", "to_json"]

# What a spreadsheet takes for a formula. Source: OWASP, "CSV Injection" (from memory).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
# A signed number with at most a unit behind it is no formula, and must stay a number.
_NUMBER = re.compile(r"[+-][0-9]+(?:\.[0-9]+)?(?: ?[A-Za-z°µ%][A-Za-z/²]{0,7})?")
_ABOUT = ("class", "group", "setting", "title", "relation", "verdict", "shared", "tied", "copying", "summary", "slips")


def to_json(comparison: Comparison) -> dict[str, Any]:
    """The comparison as plain data: texts, lists and mappings; every number exact, as a text with its unit."""
    return {
        "unit": str(comparison.unit or ""),
        "classes": [_class_data(c) for c in comparison.classes],
        "unclassed": list(comparison.unclassed),
        "unreadable": dict(comparison.unreadable),
        "notes": list(comparison.notes),
    }


def to_csv(comparison: Comparison) -> str:
    """A line for each setting of each class, a column for each machine; values as the machine shows them.

    Texts that a spreadsheet would run as a formula get an apostrophe in front.
    """
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")  # Source: RFC 4180 section 2.1
    machines = sorted({m for c in comparison.classes for m in c.machines})
    writer.writerow([*_ABOUT, *(_safe(m) for m in machines)])
    for line in _lines(comparison, machines):
        writer.writerow([_safe(text) for text in line])
    return out.getvalue()


def _lines(comparison: Comparison, machines: list[str]) -> Iterator[list[str]]:
    for sisters in comparison.classes:
        inside = set(sisters.machines)
        for row in sisters.rows:
            held = {m: h.shown for h in row.held for m in h.machines}
            absent = dict.fromkeys(row.missing, "not recorded") | dict.fromkeys(row.without, "not there")
            values = [held.get(m, absent.get(m, "")) if m in inside else "" for m in machines]
            yield [*_about(sisters, row), *values]


def _about(sisters: ClassComparison, row: Row) -> list[str]:
    slips = "; ".join(f"{', '.join(h.machines)}: {h.hint}" for h in row.held if h.hint)
    relation = f"{row.agreement} {row.within}".strip()
    return [
        sisters.machine_class, row.group, row.setting, row.title, relation, str(row.verdict), row.shared,
        "; ".join(row.tied), str(row.copying), row.sentence, slips,
    ]  # fmt: skip


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text) else text


def _class_data(sisters: ClassComparison) -> dict[str, Any]:
    return {
        "class": sisters.machine_class,
        "summary": sisters.sentence,
        "machines": list(sisters.machines),
        "never_recorded": list(sisters.never_recorded),
        "settings": [_row_data(row) for row in sisters.rows],
        "hidden": dict(sisters.hidden),
        "notes": list(sisters.notes),
    }


def _row_data(row: Row) -> dict[str, Any]:
    return {
        "setting": row.setting,
        "title": row.title,
        "group": row.group,
        "relation": row.agreement,
        "within": row.within,
        "copying": str(row.copying),
        "verdict": str(row.verdict),
        "summary": row.sentence,
        "shared": row.shared,
        "tied": list(row.tied),
        "values": [_held_data(held) for held in row.held],
        "missing": list(row.missing),
        "without": list(row.without),
        "pointers": dict(row.pointers),
        "since": {machine: _since_data(since) for machine, since in row.since.items()},
    }


def _held_data(held: Held) -> dict[str, Any]:
    return {
        "value": held.shown,
        "machines": list(held.machines),
        "state": str(held.state),
        "difference": held.delta_shown,
        "hint": held.hint,
    }


def _since_data(since: Since) -> dict[str, Any]:
    return {
        "snapshot": since.snapshot,
        "at": since.at.isoformat(),
        "by": since.by,
        "kind": since.kind,
        "at_least": since.at_least,
    }
