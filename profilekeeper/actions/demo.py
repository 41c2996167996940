"""The demo fleet as a store: thirteen invented machines with about two years of history, every text of it real."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from profilekeeper.actions.demo_history import DemoSnapshot, DemoStorm, shipped_files, snapshots, storm
from profilekeeper.actions.opened import Opened, Person, profile_path, trailers
from profilekeeper.actions.recording import counted
from profilekeeper.actions.starting import first_files, with_modeline
from profilekeeper.errors import UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import dumps
from profilekeeper.model.identity import to_identity
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.proven import NOTHING_PROVEN, Proven, ProvenEntry, proven_data
from profilekeeper.model.ruleset import RuleSet, read_rules, rules_for
from profilekeeper.rules import judge
from profilekeeper.store import Change, Store

__all__ = ["Demo", "build_demo", "storm_text"]

_SHARED = ("rules/", "reading_orders/")


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """The demo store: where it lies, how much it holds, and what the storm will do to it."""

    folder: str
    machines: int
    recorded: int
    storm: DemoStorm


@dataclass(slots=True)
class _Builder:
    """Records the history in order; marks wait for the ids of what they mark."""

    store: Store
    shared: tuple[RuleSet, ...]
    waiting: list[tuple[DemoSnapshot, Change]] = field(default_factory=list)
    latest: dict[str, tuple[str, Profile]] = field(default_factory=dict)
    proven: dict[str, Proven] = field(default_factory=dict)
    before: dict[str, Profile] = field(default_factory=dict)
    recorded: int = 0

    def take(self, snapshot: DemoSnapshot) -> None:
        """Record one act, or note it to be recorded with those after it."""
        if snapshot.kind == "proposal":
            return
        if snapshot.kind == "proven":
            self.write()
            self._mark(snapshot)
            return
        self.waiting.append((snapshot, self._change(snapshot)))

    def write(self) -> None:
        """Record all that waits, in one go."""
        if not self.waiting:
            return
        revisions = self.store.write_history(change for _, change in self.waiting)
        for (snapshot, _), revision in zip(self.waiting, revisions, strict=True):
            self.latest[snapshot.machine] = (revision, self.before[snapshot.machine])
        self.recorded += len(revisions)
        self.waiting.clear()

    def _change(self, snapshot: DemoSnapshot) -> Change:
        text = with_modeline(snapshot.text)
        profile = read_profile(strict_yaml.loads(text, source=snapshot.machine), source=snapshot.machine)
        known = self.before.get(snapshot.machine)
        findings = judge(profile, rules_for(profile, self.shared), previous=known, on=snapshot.at.date())
        self.before[snapshot.machine] = profile
        gap = str(snapshot.measured) if snapshot.measured is not None else ""
        more = {"Why": snapshot.why, "Findings": counted(findings), "Measured-gap": gap}
        return _change(snapshot, {profile_path(snapshot.machine): text.encode()}, more)

    def _mark(self, snapshot: DemoSnapshot) -> None:
        revision, profile = self.latest[snapshot.machine]
        entry = ProvenEntry(
            snapshot=revision,
            parts=tuple(to_identity(profile, part) for part in snapshot.parts) or ("",),
            act="proven",
            by=snapshot.by,
            at=snapshot.at.isoformat(timespec="seconds"),
            why=snapshot.why,
        )
        proven = self.proven.get(snapshot.machine, NOTHING_PROVEN).with_entry(entry)
        self.proven[snapshot.machine] = proven
        more = {"Snapshot": revision, "Parts": " ".join(snapshot.parts), "Why": snapshot.why}
        files = {f"{snapshot.machine}/proven.yaml": dumps(proven_data(proven)).encode()}
        self.store.write(_change(snapshot, files, more))
        self.recorded += 1


def build_demo(folder: Path, *, tell: Callable[[str, int], None] = lambda _what, _done: None) -> Demo:
    """Build the demo store in a new or empty folder.

    Raises:  UsageError, if something is there already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise UsageError(f"{folder} is not empty; name another folder, or remove it if it is an old demo")
    files = shipped_files()
    history = list(snapshots(files))
    store = _begun(folder, files, history[0])
    with store:
        builder = _Builder(store=store, shared=tuple(_shared_rules(files)))
        for number, snapshot in enumerate(history):
            builder.take(snapshot)
            tell("snapshots", number)
        builder.write()
        machines = len(Opened(store=store).machines())
    return Demo(folder=str(folder), machines=machines, recorded=builder.recorded, storm=storm(files))


def storm_text(demo: Demo) -> str:
    """What the control of the struck machine holds on the morning after, as the text of its profile."""
    return with_modeline(demo.storm.found.text)


def _begun(folder: Path, files: Mapping[str, str], first: DemoSnapshot) -> Store:
    kept = {path: text.encode() for path, text in files.items() if path == "store.yaml" or path.startswith(_SHARED)}
    kept = {path: _in_store(data) for path, data in kept.items()}
    person = Person(name=first.by)
    return Store.start(
        folder,
        {**kept, **first_files()},
        message="the store is begun",
        author=person.author,
        at=first.at - timedelta(hours=1),
        trailers={"Kind": "store begun", "By": first.by},
    )


def _in_store(data: bytes) -> bytes:
    """Schemas lie beside the records of a store, one step nearer than in the shipped folder."""
    return data.replace(b"$schema=../../schemas/", b"$schema=../schemas/", 1)


def _shared_rules(files: Mapping[str, str]) -> Iterable[RuleSet]:
    for path, text in files.items():
        if path.startswith("rules/"):
            yield read_rules(strict_yaml.loads(text, source=path), source=path)


def _change(snapshot: DemoSnapshot, files: Mapping[str, bytes | None], more: Mapping[str, str]) -> Change:
    person = Person(name=snapshot.by)
    return Change(
        files=files,
        message=f"{snapshot.machine}: {snapshot.kind}, {snapshot.why}",
        author=person.author,
        at=snapshot.at,
        trailers=trailers(snapshot.kind, snapshot.machine, person, more),
    )
