"""Settings that mean nothing without each other, so that a merge may not take one from each side.

A height without its frame, a number without its unit, a table height without what it was taken with: where the
one that gives the meaning differs between versions, all of them are taken from one side or disputed together.
"""

from __future__ import annotations

from collections.abc import Mapping

from profilekeeper.changes.sameness import Grade, Ruler, grade_of
from profilekeeper.changes.tree import POINTER_KEYED, Group, Node

__all__ = ["coupled_keys", "is_one_record", "part_of"]

_REMARKS = frozenset(("note", "id", "name", "aliases", "label", "witnessed"))
_MEANING = frozenset(
    ("frame", "tool_length_active", "taken_with", "reference_blade_diameter", "fixed_to", "state", "unit", "multiplier",
     "columns", "length_kind", "master_tool")
)  # fmt: skip


def coupled_keys(versions: tuple[Group | None, ...], ruler: Ruler) -> frozenset[str]:
    """The keys of a mapping that must come from one version; empty where each may be taken by itself."""
    there = [version for version in versions if version is not None]
    keys = {key for version in there for key in version.items}
    meaning = keys & (_MEANING | ({"kind"} if _is_axis(there) else set()))
    if not any(_differs(key, there, ruler) for key in meaning):
        return frozenset()
    return frozenset(keys - _REMARKS)


def is_one_record(where: str) -> bool:
    """Whether a branch is one act of one day (a touch-off, how a value came): never mixed from two."""
    parts = where.split("/")
    if len(parts) == 3 and f"/{parts[1]}" in POINTER_KEYED:
        return True
    return parts[-1] in ("touch_off", "witnessed", "pivot_check") or (len(parts) == 3 and parts[1] == "control_backups")


def part_of(group: Group | None, keys: frozenset[str]) -> Group | None:
    """Some keys of a mapping as a mapping of their own; None where it has none of them."""
    if group is None:
        return None
    items: Mapping[str, Node] = {key: node for key, node in group.items.items() if key in keys}
    if not items:
        return None
    raw = {key: node.raw for key, node in items.items()}
    return Group(group.at, raw, dict(items), group.kind, False, False)


def _differs(key: str, versions: list[Group], ruler: Ruler) -> bool:
    first = versions[0].items.get(key)
    return any(grade_of(first, version.items.get(key), ruler) is not Grade.SAME for version in versions[1:])


def _is_axis(versions: list[Group]) -> bool:
    return any(version.at.startswith("/axes/") and version.at.count("/") == 2 for version in versions)
