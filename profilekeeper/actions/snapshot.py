"""A snapshot as found or as left: from a file, from keyed values, from a hand edit, or down the reading order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from profilekeeper.actions.entered import Entered, entries_from
from profilekeeper.actions.opened import Opened, Person, profile_path
from profilekeeper.actions.placing import placed
from profilekeeper.actions.recording import Recorded, Request, record
from profilekeeper.errors import FileMissing, UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import REMOVED, edit
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.sources import with_sources

__all__ = ["Act", "snapshot_from_edit", "snapshot_from_text", "snapshot_from_values", "with_values"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """What every recording is told: kind, by whom, why, when, and where new ids come from."""

    kind: str
    person: Person
    why: str
    at: datetime
    new_id: Callable[[], str]
    how: str = "read"
    new_things: bool = False


def snapshot_from_text(opened: Opened, machine: str, text: str, act: Act) -> Recorded:
    """Record a whole profile given as text."""
    opened.known(machine)
    return record(opened, _request(opened, machine, text, act))


def snapshot_from_edit(opened: Opened, machine: str, act: Act) -> Recorded:
    """Record what somebody wrote into the machine's file by hand.

    Raises:  UsageError, if the file is as it was recorded.
    """
    path = profile_path(opened.known(machine))
    data = opened.store.work_file(path)
    if data is None:
        raise FileMissing((path,))
    if data == opened.store.read(path):
        raise UsageError(f"{path} is as it was recorded; there is no hand edit to take over")
    strict_yaml.loads(data, source=path)
    text = data.decode("utf-8")
    return record(opened, _request(opened, machine, text, act, adopt_edit=True))


def snapshot_from_values(
    opened: Opened, machine: str, keyed: tuple[str, ...], removed: tuple[str, ...], act: Act
) -> Recorded:
    """Record the latest profile with some values keyed anew (`POINTER=VALUE`) and some taken out."""
    profile = opened.profile(opened.known(machine))
    entries = entries_from(profile, keyed)
    text = with_values(opened.text_to_edit(machine), profile, entries, removed, act)
    request = _request(opened, machine, text, act, entries=entries)
    return record(opened, request)


def with_values(text: str, profile: Profile, entries: tuple[Entered, ...], removed: tuple[str, ...], act: Act) -> str:
    """A profile's text with values changed in place; `sources` says how and when they came."""
    keyed = {e.pointer: e.value for e in entries}
    changed: dict[str, object] = placed(profile.data, keyed, new_things=act.new_things, name=profile.name)
    changed.update(dict.fromkeys(removed, REMOVED))
    new = edit(text, changed) if changed else text
    read = [e.pointer for e in entries]
    return _with_sources(new, profile, read, act) if read else new


def _with_sources(text: str, before: Profile, read: list[str], act: Act) -> str:
    """The text with `sources` brought up to date for what was read now."""
    profile = read_profile(strict_yaml.loads(text, source=before.source), source=before.source)
    today = act.at.date().isoformat()
    now = {"how": act.how, "date": today, "by": act.person.name}
    events = [e for e in before.data.get("events") or () if e.get("date") == today and "id" in e]
    if events:
        now["after"] = events[-1]["id"]  # on one day only this tells which came first
    wanted = with_sources(profile, dict.fromkeys(read, now))
    said = profile.data.get("sources") or {}
    edits: dict[str, object] = {}
    for pointer in {**said, **wanted}:
        if pointer not in wanted:
            edits[json_pointer.format(("sources", pointer))] = REMOVED
        elif wanted[pointer] != said.get(pointer):
            edits[json_pointer.format(("sources", pointer))] = dict(wanted[pointer])
    if not said and wanted:
        edits = {"/sources": {p: dict(s) for p, s in wanted.items()}}
    return edit(text, edits) if edits else text


def _request(
    opened: Opened,
    machine: str,
    text: str,
    act: Act,
    *,
    entries: tuple[Entered, ...] = (),
    adopt_edit: bool = False,
) -> Request:
    return Request(
        machine=machine,
        text=text,
        kind=act.kind,
        person=act.person,
        why=act.why,
        at=act.at,
        new_id=act.new_id,
        read=frozenset(e.pointer for e in entries),
        expect=opened.store.blob_id(profile_path(machine)),
        adopt_edit=adopt_edit,
        notices=tuple(e.notice for e in entries if e.notice),
    )
