"""What changed between two versions of a machine's settings, the change made again, and two versions made one."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.changes.as_json import merged_to_json, to_json
    from profilekeeper.changes.change import Change, ChangeKind, Changes, Edit, EditKind, Part
    from profilekeeper.changes.decisions import Choice, Decision, Merged, Reading, Side, candidate_data, candidate_text
    from profilekeeper.changes.diff import changes_between
    from profilekeeper.changes.flat import Differing, differing_settings
    from profilekeeper.changes.patch import REMOVED, apply, edits_between, edits_of
    from profilekeeper.changes.rewritten import Inside, inside
    from profilekeeper.changes.sameness import Grade
    from profilekeeper.changes.three_way import merge, merge_disputes
    from profilekeeper.changes.titles import GROUPS, group_of, is_geometry, title
    from profilekeeper.changes.values import delta_text, value_text

__all__ = [
    "GROUPS",
    "REMOVED",
    "Change",
    "ChangeKind",
    "Changes",
    "Choice",
    "Decision",
    "Differing",
    "Edit",
    "EditKind",
    "Grade",
    "Inside",
    "Merged",
    "Part",
    "Reading",
    "Side",
    "apply",
    "candidate_data",
    "candidate_text",
    "changes_between",
    "delta_text",
    "differing_settings",
    "edits_between",
    "edits_of",
    "group_of",
    "inside",
    "is_geometry",
    "merge",
    "merge_disputes",
    "merged_to_json",
    "title",
    "to_json",
    "value_text",
]

_HOME = {
    "merged_to_json": "as_json",
    "to_json": "as_json",
    "Change": "change",
    "ChangeKind": "change",
    "Changes": "change",
    "Edit": "change",
    "EditKind": "change",
    "Part": "change",
    "Choice": "decisions",
    "Decision": "decisions",
    "Merged": "decisions",
    "Reading": "decisions",
    "Side": "decisions",
    "candidate_data": "decisions",
    "candidate_text": "decisions",
    "changes_between": "diff",
    "Differing": "flat",
    "differing_settings": "flat",
    "Inside": "rewritten",
    "inside": "rewritten",
    "merge": "three_way",
    "merge_disputes": "three_way",
    "REMOVED": "patch",
    "apply": "patch",
    "edits_between": "patch",
    "edits_of": "patch",
    "Grade": "sameness",
    "GROUPS": "titles",
    "group_of": "titles",
    "is_geometry": "titles",
    "title": "titles",
    "delta_text": "values",
    "value_text": "values",
}


def __getattr__(name: str) -> object:
    """Each name is fetched when it is first used: start-up pays for none of them."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
