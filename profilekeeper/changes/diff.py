"""What changed between two versions of a machine's settings, as a technician would say it.

The comparison walks two trees in which the same things have the same keys (`tree.py`) and compares values, not
texts (`sameness.py`). It needs no library beyond our own, so a fleet can be compared pair by pair; what differs
inside a list that was rewritten is told by `rewritten.py` where somebody asks.
"""

from __future__ import annotations

from collections.abc import Iterator

from profilekeeper.changes.change import Change, ChangeKind, Changes
from profilekeeper.changes.lines import Lines
from profilekeeper.changes.moving import with_moves
from profilekeeper.changes.pairing import recognised, tokens_of_two
from profilekeeper.changes.sameness import Grade, Ruler, leaf_grade
from profilekeeper.changes.tree import POINTER_KEYED, Group, Leaf, Node, Row, key_of, tree_of
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import Matching, match_over_time
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import LengthUnit

__all__ = ["changes_between"]

_KINDS = {Grade.NOTATION: ChangeKind.NOTATION, Grade.ROUNDED: ChangeKind.ROUNDED, Grade.CHANGED: ChangeKind.CHANGED}
_WORDS = {LengthUnit.MM: "millimetres", LengthUnit.IN: "inches"}


def changes_between(
    before: Profile, after: Profile, *, matching: Matching | None = None, unit: LengthUnit | None = None
) -> Changes:
    """What differs between two versions, in the order of the later one; empty if nothing does.

    `matching` says which thing is which; by default the same machine at two moments. `unit` is that of the
    differences shown, by default what the later control displays.
    """
    matching = matching or match_over_time(before, after)
    lines = Lines(before, after, unit or after.unit, recognised(matching))
    ours, theirs = tokens_of_two(before, after, matching)
    walk = _Walk(lines, Ruler.between(before, after))
    found = with_moves(tuple(walk.groups(tree_of(before, ours), tree_of(after, theirs))), matching, lines)
    notices = tuple(_notices(before, after, found))
    return Changes(all=found, notices=notices, unit=lines.unit, data_before=before.data)


class _Walk:
    """Goes down two trees side by side and gives a line for whatever differs."""

    def __init__(self, lines: Lines, ruler: Ruler) -> None:
        self.lines = lines
        self.ruler = ruler

    def pair(self, one: Node | None, other: Node | None, place: str) -> Iterator[Change]:
        """The lines for two nodes with one key; `place` is where the earlier data have or would have it."""
        if one is None:
            assert other is not None
            yield from self._added(other, place)
        elif other is None:
            yield from self._removed(one)
        elif isinstance(one, Leaf) and isinstance(other, Leaf):
            yield from self._leaves(one, other)
        elif isinstance(one, Group) and isinstance(other, Group):
            yield from self.groups(one, other)
        elif isinstance(one, Row) and isinstance(other, Row) and _is_parallel(one, other):
            for a, b in zip(one.items, other.items, strict=True):
                yield from self.pair(a, b, a.at)
        else:
            yield self.lines.rewritten(one, other)

    def groups(self, one: Group, other: Group) -> Iterator[Change]:
        """The lines for two mappings, or two lists of things."""
        if _is_regridded(one, other):
            yield self.lines.rewritten(one, other)
            return
        answered = _answered_otherwise(one, other)
        if answered:
            yield self.lines.answered(*answered)
        skipped = {"value", "state"} if answered else ()
        for key in _keys(one, other):
            if key not in skipped and not _is_untouched(one.items.get(key), other.items.get(key)):
                yield from self._item(one, other, key)
        if one.is_listed:
            yield from self._order(one, other)
        if one.items and not other.items:
            yield self.lines.emptied(one, other)

    def _item(self, one: Group, other: Group, key: str) -> Iterator[Change]:
        a, b = one.items.get(key), other.items.get(key)
        if a is None:
            assert b is not None
            yield from self._added(b, json_pointer.join(one.at, key_of(b)))
            return
        if b is not None and a.at != b.at and not one.is_listed and key_of(a) != key_of(b):
            yield self.lines.carried(a, b, _renaming(one.at))
        yield from self.pair(a, b, a.at)

    def _order(self, one: Group, other: Group) -> Iterator[Change]:
        kept = [key for key in one.items if key in other.items]
        if kept != [key for key in other.items if key in one.items]:
            yield self.lines.reordered(one, other)

    def _leaves(self, one: Leaf, other: Leaf) -> Iterator[Change]:
        grade = leaf_grade(one, other, self.ruler)
        if grade is not Grade.SAME:
            yield self.lines.changed(one, other, _KINDS[grade])

    def _added(self, node: Node, place: str) -> Iterator[Change]:
        if isinstance(node, Group) and node.is_collection and node.items:
            for item in node.items.values():
                yield from self._added(item, item.at)
        else:
            yield self.lines.added(node, place)

    def _removed(self, node: Node) -> Iterator[Change]:
        if isinstance(node, Group) and node.is_collection and node.items:
            for item in node.items.values():
                yield self.lines.removed(item)
        else:
            yield self.lines.removed(node)


def _is_untouched(one: Node | None, other: Node | None) -> bool:
    """Whether two settings are plainly the same: the short cut of nearly all of them."""
    if not isinstance(one, Leaf) or not isinstance(other, Leaf) or one.refers is not other.refers or one.at != other.at:
        return False
    if type(one.raw) is not type(other.raw) or one.raw != other.raw:
        return False
    return one.value == other.value and str(one.raw) == str(other.raw)


def _keys(one: Group, other: Group) -> list[str]:
    """Keys in the order of the later version, then those that are gone."""
    return [*other.items, *(key for key in one.items if key not in other.items)]


def _is_parallel(one: Row, other: Row) -> bool:
    """Whether two lists can be compared place by place: as many items, each of the same shape."""
    return len(one.items) == len(other.items) and all(
        type(a) is type(b) for a, b in zip(one.items, other.items, strict=True)
    )


def _is_regridded(one: Group, other: Group) -> bool:
    """Whether a grid has other columns, or the same in another order: then no cell is where it was."""
    a, b = one.items.get("columns"), other.items.get("columns")
    return (
        one.at.startswith("/control_pages/")
        and isinstance(a, Group)
        and isinstance(b, Group)
        and list(a.items) != list(b.items)
    )


def _answered_otherwise(one: Group, other: Group) -> tuple[Leaf, Leaf] | None:
    """A page value that turned from a value into a state (blank, not fitted ...) or back: one change, not two."""
    if not one.at.startswith("/control_pages/"):
        return None
    for before, after in (("value", "state"), ("state", "value")):
        a, b = one.items.get(before), other.items.get(after)
        if after not in one.items and before not in other.items and isinstance(a, Leaf) and isinstance(b, Leaf):
            return a, b
    return None


def _renaming(at: str) -> ChangeKind:
    if at == "/tools":
        return ChangeKind.RENUMBERED
    return ChangeKind.MOVED if at in POINTER_KEYED else ChangeKind.RENAMED


def _notices(before: Profile, after: Profile, found: tuple[Change, ...]) -> Iterator[str]:
    """Sentences that stand for many lines, and how things were recognised."""
    counts = {kind: sum(change.kind is kind for change in found) for kind in ChangeKind}
    rounded = counts[ChangeKind.ROUNDED]
    if before.unit is not after.unit:
        old, new = _WORDS.get(before.unit, before.unit), _WORDS.get(after.unit, after.unit)
        also = f", {rounded} of them rounded as the control shows them" if rounded else ""
        total = counts[ChangeKind.NOTATION] + rounded
        yield f"lengths are now shown in {new} instead of {old}: {total} written otherwise{also}"
    for change in found:
        if change.kind in (ChangeKind.RENUMBERED, ChangeKind.RENAMED):
            yield f"{change.before_text} is now {change.after_text} (recognised by {change.by})"
