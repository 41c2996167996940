"""Whether the store is whole: its history, every recorded text, every mark and every picture."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from profilekeeper.actions.opened import Opened
from profilekeeper.errors import ProfileKeeperError
from profilekeeper.formats import strict_yaml
from profilekeeper.model.disputes import read_disputes
from profilekeeper.model.profile import read_profile
from profilekeeper.model.proven import read_proven
from profilekeeper.model.ruleset import read_rules
from profilekeeper.model.schema import refuse
from profilekeeper.store.integrity import check_integrity

__all__ = ["Audited", "Flaw", "audit"]

_UNTIDY = ("unfinished", "lock", "edited", "missing", "not-recorded")
"""Troubles of the folder that endanger no record."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """One thing that is not as it should be: where, what, and whether records are in danger or it is only untidy."""

    where: str
    what: str
    is_damage: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Audited:
    """The result of an audit: how much was looked at, and what was found."""

    snapshots: int
    texts: int
    flaws: tuple[Flaw, ...]


def audit(opened: Opened, *, tell: Callable[[str, int], None] = lambda _what, _done: None) -> Audited:
    """Look through the whole store; `tell` is called now and then with what is looked at and how far it is.

    Raises:  StoreError, if the store cannot be read at all.
    """
    troubles = check_integrity(opened.store)
    flaws = [Flaw(where=t.where, what=t.what, is_damage=t.kind not in _UNTIDY) for t in troubles]
    snapshots, texts = 0, 0
    seen: set[str] = set()
    for entry in opened.store.history(""):
        snapshots += 1
        for change in entry.changes:
            if change.new and change.new not in seen:
                seen.add(change.new)
                texts += 1
                flaws.extend(_text_flaws(opened, entry.revision, change.path))
        if snapshots % 50 == 0:
            tell("snapshots", snapshots)
    flaws.extend(_mark_flaws(opened))
    return Audited(snapshots=snapshots, texts=texts, flaws=tuple(flaws))


def _text_flaws(opened: Opened, revision: str, path: str) -> Iterator[Flaw]:
    """Whether one recorded text parses and satisfies the schema of its time."""
    reader = _reader(path)
    if reader is None:
        return
    try:
        reader(strict_yaml.loads(opened.store.read(path, revision), source=path))
    except ProfileKeeperError as error:
        yield Flaw(where=f"{path} in snapshot {revision[:8]}", what=str(error), is_damage=True)


def _reader(path: str) -> Callable[[object], object] | None:
    if path.endswith("/profile.yaml"):
        return lambda data: read_profile(data, source=path)
    if path.endswith("/disputes.yaml"):
        return lambda data: read_disputes(data, source=path)
    if path.endswith("/proven.yaml"):
        return lambda data: read_proven(data, source=path)
    if path.startswith("rules/") and path.endswith(".yaml"):
        return lambda data: read_rules(data, source=path)
    if path.startswith("reading_orders/") and path.endswith(".yaml"):
        return lambda data: refuse("reading-order", data, path)
    if path == "store.yaml":
        return lambda data: refuse("store", data, path)
    return None


def _mark_flaws(opened: Opened) -> Iterator[Flaw]:
    """Marks that name a snapshot which is not one of that machine, and ids that two machines share."""
    owners: dict[str, str] = {}
    for machine in opened.machines():
        known = {e.revision for e in opened.snapshots(machine)}
        for entry in opened.proven(machine).entries:
            if entry.snapshot not in known:
                what = f"a mark names snapshot {entry.snapshot[:8]}, which is not one of {machine}"
                yield Flaw(where=f"{machine}/proven.yaml", what=what, is_damage=True)
        its_id = opened.profile(machine).id
        if its_id and its_id in owners:
            what = f"its id {its_id} is also that of {owners[its_id]}"
            yield Flaw(where=f"{machine}/profile.yaml", what=what, is_damage=True)
        owners.setdefault(its_id, machine)
