"""The lines of a change table, made from pairs of nodes: words, differences and the edits that each stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from profilekeeper.changes.change import Change, ChangeKind, Edit, EditKind, Part
from profilekeeper.changes.pairing import THINGS
from profilekeeper.changes.titles import group_of, is_geometry, thing_title, title
from profilekeeper.changes.tree import POINTER_KEYED, Group, Leaf, Node, key_of, leaves
from profilekeeper.changes.values import delta_between, delta_text, json_text, value_text
from profilekeeper.model.profile import Profile
from profilekeeper.model.settings import Value
from profilekeeper.quantities import LengthUnit

__all__ = ["Lines"]

_KEYED_AFRESH = (*(f"/{name}" for name in THINGS), "/control_backups", *POINTER_KEYED)
_LONGEST = 120


@dataclass(frozen=True, slots=True)
class Lines:
    """Makes lines for two versions, with differences in one unit."""

    before: Profile
    after: Profile
    unit: LengthUnit
    recognised: Mapping[str, str]

    def changed(self, one: Leaf, other: Leaf, kind: ChangeKind) -> Change:
        """A setting with another value, or with the same one written otherwise."""
        edit = Edit(kind=EditKind.PUT, at=one.at, raw=other.raw, was=one.raw)
        return self._line(kind, one, other, (edit,))

    def answered(self, one: Leaf, other: Leaf) -> Change:
        """A page value that became blank (not fitted, not readable ...), or the reverse."""
        above = one.at.rpartition("/")[0]
        edits = (
            Edit(kind=EditKind.PUT, at=f"{above}/{key_of(other)}", raw=other.raw),
            Edit(kind=EditKind.TAKE, at=one.at, was=one.raw),
        )
        return self._line(ChangeKind.CHANGED, one, other, edits)

    def rewritten(self, one: Node, other: Node) -> Change:
        """A list with more or fewer items, or something of another shape: told and put back as a whole."""
        edit = Edit(kind=EditKind.PUT, at=one.at, raw=other.raw, was=one.raw)
        return self._line(ChangeKind.CHANGED, one, other, (edit,))

    def emptied(self, one: Group, other: Group) -> Change:
        """A branch of which only the empty shell is left."""
        edits = (Edit(kind=EditKind.EMPTY, at=one.at, raw=other.raw),)
        return _with_texts(self._line(ChangeKind.NOTATION, one, other, edits), _counted(one), "empty")

    def added(self, node: Node, place: str) -> Change:
        """A setting or whole thing that was not there."""
        is_afresh = node.at.rpartition("/")[0] in _KEYED_AFRESH
        kind, at = (EditKind.ADD, node.at) if is_afresh else (EditKind.PUT, place)
        return self._line(ChangeKind.ADDED, None, node, (Edit(kind=kind, at=at, raw=node.raw),))

    def removed(self, node: Node) -> Change:
        """A setting or whole thing that is no longer there."""
        return self._line(ChangeKind.REMOVED, node, None, (Edit(kind=EditKind.TAKE, at=node.at, was=node.raw),))

    def carried(self, one: Node, other: Node, kind: ChangeKind) -> Change:
        """The same thing under another number, name or key."""
        edit = Edit(kind=EditKind.CARRY, at=one.at, to=other.at)
        line = self._line(kind, one, other, (edit,))
        return _with_texts(line, title(self.before, one.at), title(self.after, other.at))

    def reordered(self, one: Group, other: Group) -> Change:
        """The same things in another order."""
        edit = Edit(kind=EditKind.ORDER, at=other.at, raw=other.raw)
        line = self._line(ChangeKind.REORDERED, one, other, (edit,))
        return _with_texts(line, _counted(one), _counted(other))

    def named(self, line: Change, pointer: str) -> Change:
        """A line that tells of one setting inside what was added, with that setting's own words."""
        setting = self.after.settings.get(pointer)
        return replace(
            line,
            pointer_after=pointer,
            title=title(self.after, pointer),
            group=group_of(self.after, pointer),
            geometry=is_geometry(pointer),
            agreement=setting.kind.agreement if setting else line.agreement,
            hangs_on=setting.kind.hangs_on if setting else line.hangs_on,
        )

    def _line(self, kind: ChangeKind, one: Node | None, other: Node | None, edits: tuple[Edit, ...]) -> Change:
        node = other if other is not None else one
        assert node is not None
        profile = self.after if other is not None else self.before
        before, after = _value(one), _value(other)
        has_delta = one is not None and other is not None and kind is not ChangeKind.NOTATION
        delta = delta_between(before, after) if has_delta else None
        whole = kind in (ChangeKind.ADDED, ChangeKind.REMOVED) and not isinstance(node, Leaf)
        return Change(
            kind=kind,
            pointer_before=None if one is None else one.at,
            pointer_after=None if other is None else other.at,
            before=before,
            after=after,
            before_text=_text(self.before, one),
            after_text=_text(self.after, other),
            delta=delta,
            delta_text=delta_text(delta, self.unit),
            title=title(profile, node.at),
            group=group_of(profile, node.at),
            geometry=is_geometry(node.at),
            agreement=node.kind.agreement,
            hangs_on=node.kind.hangs_on,
            by=self.recognised.get(node.at, ""),
            parts=_parts(profile, node) if whole else (),
            edits=edits,
        )


def _with_texts(line: Change, before: str, after: str) -> Change:
    return replace(line, before_text=before, after_text=after)


def _value(node: Node | None) -> Value:
    return node.value if isinstance(node, Leaf) else None


def _text(profile: Profile, node: Node | None) -> str:
    """One line for a value; for a whole thing or list how much it holds, in full where that is short."""
    if node is None:
        return ""
    if isinstance(node, Leaf):
        return thing_title(profile, "tools", str(node.raw)) if node.refers else value_text(node.value)
    text = json_text(node.raw)
    return text if len(text) <= _LONGEST else _counted(node)


def _counted(node: Node) -> str:
    count = len(node.items) if not isinstance(node, Leaf) else 1
    return f"{count} item{'' if count == 1 else 's'}"


def _parts(profile: Profile, node: Node) -> tuple[Part, ...]:
    return tuple(Part(pointer=leaf.at, title=title(profile, leaf.at), value=leaf.value) for leaf in leaves(node))
