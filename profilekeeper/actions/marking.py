"""Marks and events: what has proven itself at the machine, and what happened to its hardware."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from profilekeeper.actions.opened import SHORT, Opened, Person, trailers
from profilekeeper.actions.recording import Recorded, Request, record, refuse_secret
from profilekeeper.errors import UnknownName
from profilekeeper.formats.edit_yaml import dumps, edit
from profilekeeper.model.identity import to_identity
from profilekeeper.model.kinds import root
from profilekeeper.model.profile import Profile
from profilekeeper.model.proven import ProvenEntry, proven_data
from profilekeeper.store import Change

__all__ = ["Marked", "event_kinds", "note_event", "prove"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A mark that was set on a snapshot: which parts ran, or no longer count as proven."""

    machine: str
    snapshot: str
    parts: tuple[str, ...]
    act: str
    mark: str


def prove(
    opened: Opened,
    machine: str,
    *,
    snapshot: str,
    parts: tuple[str, ...],
    withdraw: bool,
    why: str,
    person: Person,
    at: datetime,
) -> Marked:
    """Mark what ran at the machine with a snapshot's values as proven, or withdraw such a mark.

    `parts` are pointers to what ran (a tool, a position, the slab); none means all of the machine.
    Raises:  UnknownName, if a part is not in that snapshot.
    """
    refuse_secret("why", why)
    entry = opened.find(opened.known(machine), snapshot)
    profile = opened.profile(machine, entry.revision)
    for part in parts:
        if part and not profile.branch(part):
            raise UnknownName(f"{part} is not in snapshot {entry.revision[:SHORT]} of {machine}")
    act = "withdrawn" if withdraw else "proven"
    mark = ProvenEntry(
        snapshot=entry.revision,
        parts=tuple(to_identity(profile, p) for p in parts) or ("",),
        act=act,
        by=person.name,
        at=at.isoformat(timespec="seconds"),
        why=why,
    )
    path = f"{machine}/proven.yaml"
    more = {"Snapshot": entry.revision, "Parts": " ".join(parts), "Why": why}
    change = Change(
        files={path: dumps(proven_data(opened.proven(machine).with_entry(mark))).encode()},
        message=f"{machine}: {act}" + (f", {why}" if why else ""),
        author=person.author,
        at=at,
        trailers=trailers(act, machine, person, more),
    )
    revision = opened.store.write(change)
    return Marked(
        machine=machine, snapshot=entry.revision[:SHORT], parts=parts or ("",), act=act, mark=revision[:SHORT]
    )


def _refuse_unknown(profile: Profile, event: dict[str, Any]) -> None:
    """Refuse a kind of event that is none, and hardware that the machine's record does not have."""
    kinds = event_kinds()
    if event["kind"] not in kinds:
        raise UnknownName(f"{event['kind']!r} is no hardware event; say one of: {', '.join(kinds)}")
    for word, group in (("axis", "axes"), ("table", "tables"), ("spindle", "spindles"), ("tool", "tools")):
        name = event.get(word)
        known = [each for each, _ in profile.root.each(group)]
        if name and name not in known:
            there = ", ".join(known) or "none"
            raise UnknownName(f"{profile.name} has no {word} {name}; its record has {there}")


def event_kinds() -> tuple[str, ...]:
    """The words for hardware events, as the schema knows them."""
    node = root().child("events")
    for step in ("0", "kind"):
        node = node.child(step) if node else None
    return tuple(str(word) for word in node.part["enum"]) if node else ()


def note_event(
    opened: Opened,
    machine: str,
    event: dict[str, Any],
    *,
    person: Person,
    why: str,
    at: datetime,
    new_id: Callable[[], str],
) -> Recorded:
    """Record a hardware event; what hangs on that hardware is invalid from then on until it is set anew."""
    profile = opened.profile(opened.known(machine))
    _refuse_unknown(profile, event)
    events = list(profile.data.get("events") or [])
    whole = {"id": new_id(), **event}
    text = edit(
        opened.text_to_edit(machine), {"/events": [*events, whole]} if not events else {f"/events/{len(events)}": whole}
    )
    request = Request(
        machine=machine,
        text=text,
        kind="event",
        person=person,
        why=why or str(event["kind"]),
        at=at,
        new_id=new_id,
    )
    return record(opened, request)
