"""An opened store seen as machines and their snapshots: where bytes and revisions become profiles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from profilekeeper.errors import NotAStore, StoreError, UnknownName, UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.ruleset import RuleSet, read_rules, rules_for
from profilekeeper.model.schema import CURRENT_VERSION
from profilekeeper.store import Author, Entry, Revision, Store
from profilekeeper.store.housekeeping import tidy, wants_tidying

if TYPE_CHECKING:
    from profilekeeper.model.disputes import Disputes
    from profilekeeper.model.proven import Proven, ProvenEntry

__all__ = ["KINDS", "Opened", "Person", "open_store", "profile_path"]

KINDS = ("as-found", "as-left", "restored", "added", "event")
"""Kinds of snapshot that hold a machine's settings; `proven` is a mark set on one of them."""

_MOST_KEPT = 512
SHORT = 8
"""How many digits of a snapshot's id are shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """By whom something is recorded."""

    name: str
    email: str = ""

    @property
    def author(self) -> Author:
        """The same as the store keeps it."""
        return Author(name=self.name, email=self.email or "not given")


@dataclass(slots=True)
class Opened:
    """A store with its machines; what was parsed once is kept by content."""

    store: Store
    _profiles: dict[bytes, Profile] = field(default_factory=dict)
    _rules: dict[frozenset[tuple[str, str]], tuple[RuleSet, ...]] = field(default_factory=dict)

    def machines(self) -> tuple[str, ...]:
        """The names of all recorded machines, `shop/machine`, in order of name."""
        paths = self.store.list_files("")
        return tuple(sorted(p.removesuffix("/profile.yaml") for p in paths if p.endswith("/profile.yaml")))

    def chosen(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """The machines meant by some names, each a machine or a whole shop; all of them if none is named.

        Raises:  UnknownName, for a name that is neither.
        """
        known = self.machines()
        if not names:
            return known
        result: dict[str, None] = {}
        for name in names:
            found = [m for m in known if m == name or m.startswith(name + "/")]
            if not found:
                raise UnknownName(f"{name} is no machine or shop of this store; {_near(name, known)}")
            result.update(dict.fromkeys(found))
        return tuple(result)

    def known(self, machine: str) -> str:
        """The machine's name, if it is recorded. Raises: UnknownName."""
        if self.is_recorded(machine):
            return machine
        found = self.chosen((machine,))
        if found != (machine,):
            raise UnknownName(f"{machine} is a shop; name one of its machines: {', '.join(found)}")
        return machine

    def bytes_of(self, path: str, revision: Revision | None = None) -> bytes | None:
        """The recorded bytes of a file, or None where it is not recorded."""
        return next(self.store.read_many([(revision, path)]))

    def text(self, machine: str, revision: Revision | None = None) -> str:
        """The recorded text of a machine's profile, exactly as it stands."""
        return self.store.read(profile_path(machine), revision).decode("utf-8")

    def text_to_edit(self, machine: str) -> str:
        """The recorded text in the present format, to be changed and recorded anew by a person's act."""
        profile = self.profile(machine)
        text = self.text(machine)
        if profile.version[0] == CURRENT_VERSION:
            return text
        from profilekeeper.changes import edits_between
        from profilekeeper.formats.edit_yaml import edit

        data = strict_yaml.loads(text, source=profile.source)
        return edit(text, edits_between(data, profile.data), source=profile.source)

    def profile(self, machine: str, revision: Revision | None = None) -> Profile:
        """A machine's profile as recorded in a snapshot, or in the latest one."""
        path = profile_path(machine)
        text = self.store.read(path, revision)
        known = self._profiles.get(text)
        if known is None:
            known = read_profile(strict_yaml.loads(text, source=path), source=path)
            self.remember(text, known)
        return known

    def remember(self, text: bytes, profile: Profile) -> None:
        """Keep what a text was read as; the oldest of many is let go."""
        self._profiles[text] = profile
        while len(self._profiles) > _MOST_KEPT:
            del self._profiles[next(iter(self._profiles))]

    def is_recorded(self, machine: str) -> bool:
        """Whether there is a machine of that name; asks for one file, however large the fleet is."""
        return machine.count("/") == 1 and self.store.blob_id(profile_path(machine)) is not None

    def ruleset(self, profile: Profile, revision: Revision | None = None) -> RuleSet:
        """The rules in force for a profile: built in, shared by its class, its own."""
        return rules_for(profile, self._shared(revision))

    def _shared(self, revision: Revision | None) -> tuple[RuleSet, ...]:
        names = self.store.list_names("rules", revision)
        key = frozenset(names.items())
        if key not in self._rules:
            self._rules[key] = tuple(self._read_rules(name, revision) for name in names if name.endswith(".yaml"))
        return self._rules[key]

    def _read_rules(self, name: str, revision: Revision | None) -> RuleSet:
        path = f"rules/{name}"
        return read_rules(strict_yaml.loads(self.store.read(path, revision), source=path), source=path)

    def disputes(self, machine: str) -> Disputes:
        """What is disputed of a machine."""
        from profilekeeper.model.disputes import read_disputes

        path = f"{machine}/disputes.yaml"
        data = self.bytes_of(path)
        return read_disputes(strict_yaml.loads(data, source=path) if data else None, source=path)

    def proven(self, machine: str) -> Proven:
        """What has been marked proven of a machine."""
        from profilekeeper.model.proven import read_proven

        path = f"{machine}/proven.yaml"
        data = self.bytes_of(path)
        return read_proven(strict_yaml.loads(data, source=path) if data else None, source=path)

    def entries(self, machine: str) -> Iterator[Entry]:
        """Everything recorded of a machine, newest first."""
        return iter(self.store.history(machine))

    def snapshots(self, machine: str) -> Iterator[Entry]:
        """The machine's snapshots, newest first, without the marks set on them."""
        return (e for e in self.entries(machine) if e.trailers.get("Kind", "as-found") in KINDS)

    def find(self, machine: str, name: str) -> Entry:
        """The snapshot of a machine meant by a name: a short id, a day, latest, previous, proven or a kind.

        Raises:  UnknownName, if there is none.
        """
        wanted = name.strip().lower()
        if wanted == "proven":
            return self._by_id(machine, self._proven_id(machine))
        found = self._by_word(machine, wanted)
        if found is not None:
            return found
        if len(wanted) >= 4 and all(c in "0123456789abcdef" for c in wanted):
            return self._by_id(machine, self.store.resolve(wanted))
        raise UnknownName(
            f"{name} names no snapshot of {machine}; give a short id from `profilekeeper history {machine}`, "
            "a day such as 2026-03-04, or latest, previous, proven, as-found, as-left"
        )

    def _by_word(self, machine: str, wanted: str) -> Entry | None:
        if wanted in ("latest", "previous"):
            skip = 1 if wanted == "previous" else 0
            return next((e for i, e in enumerate(self.snapshots(machine)) if i == skip), None)
        if wanted in KINDS:
            return next((e for e in self.snapshots(machine) if e.trailers.get("Kind") == wanted), None)
        day = _day(wanted)
        if day is None:
            return None
        return next((e for e in self.snapshots(machine) if e.at <= datetime.combine(day, time.max, e.at.tzinfo)), None)

    def _by_id(self, machine: str, revision: Revision) -> Entry:
        for entry in self.snapshots(machine):
            if entry.revision == revision:
                return entry
        raise UnknownName(f"snapshot {revision[:SHORT]} is not one of {machine}; see `profilekeeper history {machine}`")

    def _proven_id(self, machine: str) -> Revision:
        latest = next((e for e in reversed(self.proven(machine).entries) if self._stands(machine, e)), None)
        if latest is None:
            raise UnknownName(f"nothing of {machine} is proven yet; mark it with `profilekeeper prove {machine}`")
        return latest.snapshot

    def _stands(self, machine: str, entry: ProvenEntry) -> bool:
        """Whether an entry marks something proven that was not withdrawn since."""
        proven = self.proven(machine)
        return entry.act == "proven" and any(proven.last_proven(part) == entry for part in entry.parts)

    def folder(self) -> Path:
        """Where the store lies."""
        return self.store.folder

    def close(self) -> None:
        """Let go of the store; plain git tools then see a clean folder, and loose ends are packed now and then."""
        if wants_tidying(self.store):
            with suppress(StoreError):  # somebody else is at work: it waits for another day
                tidy(self.store, patience_s=0)
        self.store.close()

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_store(folder: Path | None, here: Path) -> Opened:
    """The store in a folder, or the one around the present folder where none is named.

    Raises:  UsageError, if there is none.
    """
    if folder is not None:
        return Opened(store=Store.open(folder))
    try:
        return Opened(store=Store.find(here))
    except NotAStore:
        raise UsageError(
            f"{here} is not inside a store; go to one, name it with --store, or begin one with `profilekeeper start`"
        ) from None


def profile_path(machine: str) -> str:
    """Where a machine's profile lies in the store."""
    return f"{machine}/profile.yaml"


def trailers(kind: str, machine: str, person: Person, more: Mapping[str, str]) -> dict[str, str]:
    """What every snapshot says of itself: kind, machine, by whom, and more."""
    return {"Kind": kind, "Machine": machine, "By": person.name, **{k: v for k, v in more.items() if v}}


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _near(name: str, known: tuple[str, ...]) -> str:
    import difflib

    shops = sorted({m.split("/")[0] for m in known})
    near = difflib.get_close_matches(name, [*known, *shops], n=1, cutoff=0.5)
    if near:
        return f"did you mean {near[0]}?"
    return f"its shops are {', '.join(shops)}" if shops else "it holds no machine yet: `profilekeeper add-machine`"
