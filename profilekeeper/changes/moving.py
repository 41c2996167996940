"""Settings that moved from one place to another (from a control page to a modelled one): one line instead of two."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from profilekeeper.changes.change import Change, ChangeKind
from profilekeeper.changes.lines import Lines
from profilekeeper.changes.sameness import Grade, Ruler, leaf_grade
from profilekeeper.changes.tree import Leaf
from profilekeeper.changes.values import delta_between, delta_text, value_text
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import Match, Matching
from profilekeeper.model.kinds import FREE
from profilekeeper.model.profile import Profile

__all__ = ["with_moves"]


def with_moves(found: tuple[Change, ...], matching: Matching, lines: Lines) -> tuple[Change, ...]:
    """The lines with every pair of "gone there" and "new here" that is one moved setting told as one.

    Each such line carries the edits of both; a line that then has nothing left to tell is dropped.
    """
    moves = [match for match in matching.matches if match.by == "moved"]
    if not moves:
        return found
    told: list[Change] = []
    for match in moves:
        gone = _covering(found, match.before, ChangeKind.REMOVED)
        new = _covering(found, match.after, ChangeKind.ADDED)
        if gone is not None and new is not None:
            told.append(_moved(match, gone, new, lines))
    explained = {change.pointer_before for change in told} | {change.pointer_after for change in told}
    rest = tuple(change for change in found if not _is_explained(change, explained, lines))
    return (*rest, *told)


def _covering(found: tuple[Change, ...], pointer: str, kind: ChangeKind) -> Change | None:
    """The line that adds or removes the setting at a pointer, by itself or within a whole."""
    for change in found:
        if change.kind is kind and json_pointer.is_prefix(change.pointer, pointer):
            return change
    return None


def _moved(match: Match, gone: Change, new: Change, lines: Lines) -> Change:
    before, after = lines.before.value(match.before), lines.after.value(match.after)
    one, other = _leaf(lines.before, match.before), _leaf(lines.after, match.after)
    is_same = one and other and leaf_grade(one, other, Ruler.between(lines.before, lines.after)) < Grade.CHANGED
    kind = ChangeKind.MOVED if is_same or (one is None and other is None) else ChangeKind.CHANGED
    delta = delta_between(before, after)
    return replace(
        new if new.pointer_after == match.after else lines.named(new, match.after),
        kind=kind,
        pointer_before=match.before,
        before=before,
        after=after,
        before_text=value_text(before) if one else gone.before_text,
        after_text=value_text(after) if other else new.after_text,
        delta=delta,
        delta_text=delta_text(delta, lines.unit),
        by="moved",
        parts=(),
        edits=(*gone.edits, *new.edits),
    )


def _leaf(profile: Profile, pointer: str) -> Leaf | None:
    setting = profile.settings.get(pointer)
    if setting is None:
        return None
    raw = json_pointer.resolve(dict(profile.data), pointer)
    return None if isinstance(raw, (Mapping, list)) else Leaf(pointer, raw, setting.value, setting.kind)


def _is_explained(change: Change, explained: set[str | None], lines: Lines) -> bool:
    """Whether moved settings account for every value that a line tells; remarks need no account."""
    if change.kind not in (ChangeKind.ADDED, ChangeKind.REMOVED):
        return False
    profile = lines.after if change.kind is ChangeKind.ADDED else lines.before
    inner = [part.pointer for part in change.parts] or [change.pointer]
    covered = [any(e is not None and json_pointer.is_prefix(e, p) for e in explained) for p in inner]
    spoken = [c for c, p in zip(covered, inner, strict=True) if c or not _is_remark(profile, p)]
    return any(covered) and all(spoken)


def _is_remark(profile: Profile, pointer: str) -> bool:
    setting = profile.settings.get(pointer)
    return (setting.kind if setting else FREE).agreement == "note"
