"""What changed between two versions of a machine's settings, the change made again, and two versions made one."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.changes.change import Change, ChangeKind, Changes, Edit, EditKind, Part
    from profilekeeper.changes.diff import changes_between
    from profilekeeper.changes.patch import REMOVED, apply, edits_between, edits_of
    from profilekeeper.changes.sameness import Grade
    from profilekeeper.changes.titles import GROUPS, group_of, is_geometry, title
    from profilekeeper.changes.values import delta_text, value_text

__all__ = [
    "GROUPS",
    "REMOVED",
    "Change",
    "ChangeKind",
    "Changes",
    "Edit",
    "EditKind",
    "Grade",
    "Part",
    "apply",
    "changes_between",
    "delta_text",
    "edits_between",
    "edits_of",
    "group_of",
    "is_geometry",
    "title",
    "value_text",
]

_HOME = {
    "Change": "change", "ChangeKind": "change", "Changes": "change", "Edit": "change", "EditKind": "change",
    "Part": "change", "changes_between": "diff", "REMOVED": "patch", "apply": "patch", "edits_between": "patch",
    "edits_of": "patch", "Grade": "sameness", "GROUPS": "titles", "group_of": "titles", "is_geometry": "titles",
    "title": "titles", "delta_text": "values", "value_text": "values",
}  # fmt: skip


def __getattr__(name: str) -> object:
    """Each name is fetched when it is first used: start-up pays for none of them."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
