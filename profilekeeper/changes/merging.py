"""The walk of a merge: three trees side by side, one tree out, every decision and dispute written down."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from profilekeeper.changes.coupled import coupled_keys, is_one_record, part_of
from profilekeeper.changes.decisions import Choice, Decision, Reading, Side, candidate_text
from profilekeeper.changes.numbering import Numbered, numbered, ordered
from profilekeeper.changes.sameness import Grade, Ruler, grade_of
from profilekeeper.changes.standing import Standing
from profilekeeper.changes.tree import POINTER_KEYED, Group, Node, Row, key_of, leaves
from profilekeeper.changes.values import json_text
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.disputes import Candidate, Disputes, united_disputes
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Angle, Length, LengthUnit

__all__ = ["Made", "Merger", "Three"]

_PAIRS = ("travel", "soft_limits", "hard_switches", "mechanical_stops", "cable_limit")
_SETS = ("pictured", "aliases")
_THINGS = ("/tools", "/no_go_zones", "/events")
_NOT_BY_CONVENTION = ("conventions", "events", "sources", "rules", "control_pages", "control_backups")
_MEASURED = ("length", "angle", "by axis")


@dataclass(frozen=True, slots=True)
class Made:
    """A branch made from several versions; `names` gives each item's key in the merged record."""

    path: tuple[str, ...]
    items: dict[str, Node | Made]
    names: Mapping[str, str]
    is_listed: bool


@dataclass(frozen=True, slots=True)
class Three:
    """One place in the three versions: what stands there in the base, in ours and in theirs; None for nothing."""

    base: Node | None
    ours: Node | None
    theirs: Node | None

    @property
    def all(self) -> tuple[Node | None, Node | None, Node | None]:
        return self.base, self.ours, self.theirs

    def items(self, key: str) -> Three:
        return Three(*(node.items.get(key) if isinstance(node, Group) else None for node in self.all))


class Merger:
    """Merges three trees once; `whole` are the branches that turned out to be mergeable only as a whole."""

    def __init__(
        self,
        profiles: tuple[Profile | None, Profile, Profile],
        trees: tuple[Group | None, Group | None, Group | None],
        sides: tuple[Side, Side],
        standing: Standing,
        is_ancestor: Callable[[str, str], bool],
        whole: frozenset[tuple[str, ...]],
        *,
        unit: LengthUnit,
    ) -> None:
        base, ours, theirs = profiles
        self.profiles = profiles
        self.sides = sides
        self.standing = standing.disputes
        self.settlers = standing.settlers
        self.is_ancestor = is_ancestor
        self.whole = whole
        self.unit = unit
        self.to_ours = Ruler.between(base or ours, ours)
        self.to_theirs = Ruler.between(base or theirs, theirs)
        self.across = Ruler.between(ours, theirs)
        self.decisions: list[Decision] = []
        self.new: dict[str, list[Candidate]] = {}
        self.settled: set[str] = set()
        self.foreign = self._foreign(Three(*trees))
        made = self.merged(Three(*trees), "", ())
        assert isinstance(made, Made)
        self.root = made

    def decided(self) -> tuple[Decision, ...]:
        """Every decision by pointer; the same from both sides but for whose is whose."""
        return tuple(sorted(self.decisions, key=lambda d: (d.pointer, d.value)))

    def disputed(self) -> Disputes:
        """What is disputed after the merge."""
        old = {p: c for p, c in self.standing.settings.items() if p not in self.settled}
        fresh = {p: tuple(c) for p, c in self.new.items()}
        return united_disputes(Disputes(settings=old, extra=self.standing.extra), Disputes(settings=fresh))

    def merged(self, three: Three, where: str, path: tuple[str, ...]) -> Node | Made | None:
        """What stands at one place after the merge."""
        grades = grade_of(three.base, three.ours, self.to_ours), grade_of(three.base, three.theirs, self.to_theirs)
        if where in self.standing.settings:
            read = tuple(g is Grade.CHANGED or s for g, s in zip(grades, self.settlers[where], strict=True))
            if any(read):
                return self._still_open(three, where, grades, read)
        if path not in self.whole or not path:
            if self._is_branch(three, where, path, grades):
                return self._branch(three, where, path)
            if self._is_by_place(three, where, grades):
                return self._by_place(three, where, path)
        return self._settled(three, where, grades)

    # ---- one setting, or a branch that is taken as one

    def _settled(self, three: Three, where: str, grades: tuple[Grade, Grade]) -> Node | None:
        ours, theirs = three.ours, three.theirs
        is_new_ours, is_new_theirs = (grade is Grade.CHANGED for grade in grades)
        if self._is_foreign(three, where, is_new_ours, is_new_theirs):
            return self._disputed_across_conventions(three, where, is_new_ours, is_new_theirs)
        if is_new_ours and is_new_theirs:
            return self._both(three, where)
        if is_new_ours or is_new_theirs:
            node, choice = (ours, Choice.OURS) if is_new_ours else (theirs, Choice.THEIRS)
            self._note(where, choice, node)
            return node
        if Grade.SAME in grades:
            return theirs if grades[0] is Grade.SAME else ours
        return self._picked(three)

    def _both(self, three: Three, where: str) -> Node | None:
        ours, theirs = three.ours, three.theirs
        if ours is None and theirs is None:
            return None
        if grade_of(ours, theirs, self.across) is not Grade.CHANGED or where.endswith("/id"):
            node = self._picked(three)
            self._note(where, Choice.BOTH, node)
            return node
        if where.rpartition("/")[2] in _SETS and isinstance(ours, Row) and isinstance(theirs, Row):
            return _united(three.base, ours, theirs)
        self._dispute(where, three)
        return three.base

    def _picked(self, three: Three) -> Node | None:
        """Of one value written in two ways, the one in the merged record's unit, else the first by its text."""
        _, mine, its = self.profiles
        both = [(p, n) for p, n in ((mine, three.ours), (its, three.theirs)) if n is not None]
        return min(both, key=lambda pair: (pair[0].unit is not self.unit, json_text(pair[1].raw)))[1] if both else None

    def _dispute(self, where: str, three: Three) -> None:
        for side, node in zip(self.sides, (three.ours, three.theirs), strict=True):
            self._candidate(where, side, node)
        self._note(where, Choice.AGREED, three.base)

    def _candidate(self, where: str, side: Side, node: Node | None) -> None:
        self.new.setdefault(where, []).append(_candidate(candidate_text(node), side.wrote(where)))

    def _note(self, where: str, choice: Choice, node: Node | None) -> None:
        self.decisions.append(Decision(pointer=where, choice=choice, value=candidate_text(node) or ""))

    def _still_open(
        self, three: Three, where: str, grades: tuple[Grade, Grade], was_read: tuple[bool, ...]
    ) -> Node | None:
        """A disputed setting that a side read anew: its value replaces the candidates that it could know of."""
        found = list(self.standing.settings[where])
        self.settled.add(where)
        read: list[Candidate] = []
        for side, node, is_read in zip(self.sides, (three.ours, three.theirs), was_read, strict=True):
            if is_read:
                reading = side.wrote(where)
                found = [c for c in found if not self.is_ancestor(c.snapshot, reading.snapshot)]
                read.append(_candidate(candidate_text(node), reading))
        if found or len({c.value for c in read}) > 1:
            self.new.setdefault(where, []).extend([*found, *read])
            self._note(where, Choice.AGREED, three.base)
            return three.base
        return self._settled(three, where, grades)

    # ---- conventions: a length means another thing where the other side changed what lengths mean

    def _foreign(self, three: Three) -> tuple[bool, bool]:
        """Whether ours is foreign to theirs (theirs changed a convention that ours did not), and the reverse."""
        parts = three.items("conventions")
        if three.base is None:
            return False, False
        bare = [part_of(p, frozenset(p.items) - {"note"}) if isinstance(p, Group) else None for p in parts.all]
        ours, theirs = grade_of(bare[0], bare[1], self.to_ours), grade_of(bare[0], bare[2], self.to_theirs)
        is_alike = grade_of(bare[1], bare[2], self.across) is not Grade.CHANGED
        return theirs is Grade.CHANGED and not is_alike, ours is Grade.CHANGED and not is_alike

    def _is_foreign(self, three: Three, where: str, is_new_ours: bool, is_new_theirs: bool) -> bool:
        clash = (is_new_ours and self.foreign[0]) or (is_new_theirs and self.foreign[1])
        return clash and _is_measured(three, where)

    def _disputed_across_conventions(
        self, three: Three, where: str, is_new_ours: bool, is_new_theirs: bool
    ) -> Node | None:
        """No value is known to both in the convention now in force: an unchanged one stands, else none."""
        for side, node, is_new in zip(
            self.sides, (three.ours, three.theirs), (is_new_ours, is_new_theirs), strict=True
        ):
            if node is not None or is_new:
                self._candidate(where, side, node)
        kept = None if is_new_ours and is_new_theirs else three.theirs if is_new_ours else three.ours
        self._note(where, Choice.AGREED, kept)
        return kept

    # ---- branches

    def _is_branch(self, three: Three, where: str, path: tuple[str, ...], grades: tuple[Grade, Grade]) -> bool:
        there = [node for node in three.all if node is not None]
        if not all(isinstance(node, Group) for node in there) or is_one_record(where):
            return False
        is_whole_pair = three.ours is not None and three.theirs is not None
        is_open = is_whole_pair or any(isinstance(node, Group) and node.is_collection for node in there)
        if self._is_foreign(three, where, *(grade is Grade.CHANGED for grade in grades)):
            return is_open or three.base is None
        has_open_below = any(p.startswith(where + "/") for p in self.standing.settings)
        is_touched = grades != (Grade.SAME, Grade.SAME)
        return is_open and (len(path) < 2 or is_touched or has_open_below)

    def _branch(self, three: Three, where: str, path: tuple[str, ...]) -> Made | None:
        versions = tuple(node if isinstance(node, Group) else None for node in three.all)
        together = frozenset() if path == () or _is_things(versions) else coupled_keys(versions, self.across)
        items: dict[str, Node | Made] = {}
        if together:
            items |= self._coupled(versions, together, where)
        for key in _keys(versions):
            if key not in together:
                inner = three.items(key)
                made = self.merged(inner, _named(where, inner, path), (*path, key))
                if made is not None:
                    items[key] = made
        if not items and not _has_shell(three):
            return None
        return self._finished(versions, where, path, items)

    def _finished(
        self, versions: tuple[Group | None, ...], where: str, path: tuple[str, ...], items: dict[str, Node | Made]
    ) -> Made:
        if any(version is not None and version.is_listed for version in versions):
            order = ordered(versions, items)
            return Made(path, {token: items[token] for token in order}, {}, True)
        if where in POINTER_KEYED:
            return Made(path, items, {}, False)
        found = numbered(versions, items)
        self._note_numbers(found, versions, where)
        return Made(path, {token: items[token] for token in items if token in found.names}, found.names, False)

    def _note_numbers(self, found: Numbered, versions: tuple[Group | None, ...], where: str) -> None:
        for key in found.contested:
            at = json_pointer.join(where, key)
            for side, version in zip(self.sides, versions[1:], strict=True):
                node = next((n for n in version.items.values() if key_of(n) == key), None) if version else None
                if node is not None:
                    self._candidate(at, side, node)
            self.decisions.append(Decision(pointer=at, choice=Choice.AGREED, value=""))

    def _coupled(
        self, versions: tuple[Group | None, ...], together: frozenset[str], where: str
    ) -> dict[str, Node | Made]:
        """Settings that mean nothing without each other, from one version; whole things are the candidates."""
        parts = Three(*(part_of(version, together) for version in versions))
        grades = grade_of(parts.base, parts.ours, self.to_ours), grade_of(parts.base, parts.theirs, self.to_theirs)
        node = self._settled(parts, where, grades)
        return dict(node.items) if isinstance(node, Group) else {}

    def _is_by_place(self, three: Three, where: str, grades: tuple[Grade, Grade]) -> bool:
        rows = [node for node in three.all if isinstance(node, Row)]
        if len(rows) < 3 or Grade.SAME in grades or len({len(row.items) for row in rows}) > 1:
            return False
        parts = where.split("/")
        return parts[-1] in _PAIRS or (parts[1] == "control_pages" and "rows" in parts)

    def _by_place(self, three: Three, where: str, path: tuple[str, ...]) -> Node | Made | None:
        """The two ends of a travel, the cells of a row: each may be taken by itself."""
        rows = [node for node in three.all if isinstance(node, Row)]
        items: dict[str, Node | Made] = {}
        for place, nodes in enumerate(zip(*(row.items for row in rows), strict=True)):
            made = self.merged(Three(*nodes), f"{where}/{place}", (*path, str(place)))
            if made is not None:
                items[str(place)] = made
        return Made(path, items, {}, True)


def _has_shell(three: Three) -> bool:
    """Whether a branch with nothing in it stays as an empty one: that too is decided by who changed it."""
    base, ours, theirs = (node is not None for node in three.all)
    return theirs if ours == base else ours


def _candidate(value: str | None, reading: Reading) -> Candidate:
    return Candidate(value=value, snapshot=reading.snapshot, by=reading.by, at=reading.at)


def _united(base: Node | None, ours: Row, theirs: Row) -> Row:
    """A list in which order means nothing: what either side added, without what either side took out."""
    old = [str(node.raw) for node in base.items] if isinstance(base, Row) else []
    mine, its = {str(n.raw): n for n in ours.items}, {str(n.raw): n for n in theirs.items}
    kept = [text for text in old if text in mine and text in its]
    new = sorted(text for text in {**mine, **its} if text not in old)
    nodes = tuple({**mine, **its}[text] for text in (*kept, *new))
    return Row(ours.at, [node.raw for node in nodes], nodes, ours.kind)


def _keys(versions: tuple[Group | None, ...]) -> list[str]:
    """Keys in the order of the base, then new ones by their names: the same whichever side is whose."""
    base = versions[0]
    old = list(base.items) if base else []
    new = {key: key_of(node) for version in versions[1:] if version for key, node in version.items.items()}
    fresh = sorted((name, key) for key, name in new.items() if base is None or key not in base.items)
    return [*old, *(key for _, key in _by_name(fresh))]


def _by_name(fresh: list[tuple[str, str]]) -> list[tuple[str, str]]:
    return sorted(fresh, key=lambda pair: (not pair[0].isdigit(), int(pair[0]) if pair[0].isdigit() else 0, pair[0]))


def _named(where: str, three: Three, path: tuple[str, ...]) -> str:
    """The pointer by which records of disputes and decisions name a place: things by id where they have one."""
    nodes = [node for node in three.all if node is not None]
    if where in _THINGS:
        ids = [str(n.items["id"].raw) for n in nodes if isinstance(n, Group) and "id" in n.items]
        if ids:
            return f"{where}/@{min(ids)}"
    first = three.base or min(nodes, key=lambda node: key_of(node))
    return json_pointer.join(where, key_of(first))


def _is_things(versions: tuple[Group | None, ...]) -> bool:
    return any(version is not None and version.is_collection for version in versions)


def _is_measured(three: Three, where: str) -> bool:
    if where.split("/")[1:2] and where.split("/")[1] in _NOT_BY_CONVENTION:
        return False
    return any(
        isinstance(leaf.value, (Length, Angle)) and leaf.kind.quantity in _MEASURED
        for node in (three.ours, three.theirs)
        if node is not None
        for leaf in leaves(node)
    )
