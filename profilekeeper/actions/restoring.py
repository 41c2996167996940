"""Known-good values put back: a new snapshot made of an earlier one's values, never an invented one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from profilekeeper.actions.opened import SHORT, Opened, Person
from profilekeeper.actions.recording import Recorded, Request, record
from profilekeeper.changes import Change, Changes, changes_between, edits_of
from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.formats.edit_yaml import edit
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import to_identity
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.proven import Proven, ProvenEntry
from profilekeeper.model.settings import pointers_like
from profilekeeper.rules import is_met, judge

__all__ = ["Plan", "Reestablish", "plan_restore", "restore"]

_NOT_IN_THE_CONTROL = (
    "profile", "machine", "sources", "events", "notes", "rules", "agreement", "moved", "control_backups",
)  # fmt: skip
_COUNTED_IN = "h"
"""Hours run are counted by the machine itself; they are never keyed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reestablish:
    """A setting that is not keyed back, because the hardware it hangs on changed since: where, and why."""

    pointer: str
    title: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a restore would key back (`changes`, from now to then), and what must be established anew instead."""

    machine: str
    snapshot: str
    at: datetime
    changes: Changes
    reestablish: tuple[Reestablish, ...]


def plan_restore(opened: Opened, machine: str, *, snapshot: str, only: tuple[str, ...] = ()) -> Plan:
    """What differs now from an earlier snapshot, as what would be keyed back; nothing is recorded.

    The snapshot `proven` stands for the last proven one of each part: a setting that no mark covers stays as it
    is. `only` limits it to settings at or below some pointers.
    Raises:  UnknownName, if the snapshot or a pointer is not there.
    """
    entry = opened.find(opened.known(machine), snapshot)
    now = opened.profile(machine)
    sources = (
        _proven_sources(opened, machine, now) if snapshot.strip().lower() == "proven" else [(entry.revision, None)]
    )
    then = opened.profile(machine, entry.revision)
    chosen = _chosen(now, then, only)
    wanted: list[Change] = []
    held: dict[str, str] = {}
    proven = opened.proven(machine)
    for revision, act in sources:
        then = opened.profile(machine, revision)
        here = [c for c in changes_between(now, then) if _is_setting(c, now) and _is_of(act, c, now, proven)]
        wanted += [c for c in here if chosen is None or _touches(c, chosen)]
        held |= {p: why for p, why in _held(opened, now, then).items() if any(c.pointer == p for c in here)}
    back = tuple(c for c in wanted if c.pointer not in held)
    anew = tuple(
        Reestablish(pointer=c.pointer, title=c.title, why=held[c.pointer]) for c in wanted if c.pointer in held
    )
    return Plan(
        machine=machine,
        snapshot=entry.revision[:SHORT],
        at=entry.at,
        changes=Changes(all=back, notices=(), unit=now.unit, data_before=now.data),
        reestablish=anew,
    )


def _proven_sources(opened: Opened, machine: str, now: Profile) -> list[tuple[str, ProvenEntry | None]]:
    """The proven snapshots to take values from, each with the act that says for which parts."""
    proven = opened.proven(machine)
    acts = (proven.last_proven(to_identity(now, pointer)) for pointer in now.settings)
    found = {(act.snapshot, act.at, act.parts): act for act in acts if act is not None}
    return [(act.snapshot, act) for act in found.values()]


def _is_of(act: ProvenEntry | None, change: Change, now: Profile, proven: Proven) -> bool:
    """Whether a line is of a part that this act, and no later one, has proven; every line where there is no act."""
    if act is None:
        return True
    return proven.last_proven(to_identity(now, change.pointer_before or change.pointer)) == act


def restore(
    opened: Opened,
    machine: str,
    *,
    snapshot: str,
    only: tuple[str, ...] = (),
    person: Person,
    why: str,
    at: datetime,
    new_id: Callable[[], str],
) -> tuple[Plan, Recorded]:
    """Record a new snapshot with the values of an earlier one; what must be established anew stays as it is.

    Raises:  UsageError, if nothing would change.
    """
    plan = plan_restore(opened, machine, snapshot=snapshot, only=only)
    if not plan.changes.all:
        held = f" ({len(plan.reestablish)} are to be established anew, not keyed back)" if plan.reestablish else ""
        raise UsageError(f"{machine} holds the values of snapshot {plan.snapshot} already{held}; nothing was recorded")
    text = opened.text_to_edit(machine)
    request = Request(
        machine=machine,
        text=edit(text, edits_of(plan.changes)),
        kind="restored",
        person=person,
        why=why or f"values of snapshot {plan.snapshot}",
        at=at,
        new_id=new_id,
        trailers={"Snapshot": opened.find(machine, snapshot).revision, "Only": " ".join(only)},
    )
    return plan, record(opened, request)


def _held(opened: Opened, now: Profile, then: Profile) -> dict[str, str]:
    """Settings of the earlier snapshot that a hardware event since has made invalid, each with the reason.

    Judged is the earlier record with today's events: what was set after an event, as its sources say, is valid.
    """
    data = {key: value for key, value in then.data.items() if key != "events"}
    if "events" in now.data:
        data["events"] = now.data["events"]
    candidate = read_profile(data, source=then.source)
    findings = judge(candidate, opened.ruleset(candidate))
    return {f.subject: f.sentence for f in findings if f.kind == "invalid" and not is_met(f.verdict)}


def _is_setting(change: Change, now: Profile) -> bool:
    """Whether a line is of something to key back: no remark, no counter, nothing that can only be read."""
    if json_pointer.parse(change.pointer)[0] in _NOT_IN_THE_CONTROL or change.agreement in ("daily", "note"):
        return False
    setting = now.settings.get(change.pointer_before or "")
    if setting is not None and setting.kind.unit == _COUNTED_IN:
        return False
    above = change.pointer.rpartition("/")[0]
    return now.value(f"{above}/read_only") is not True


def _touches(change: Change, chosen: frozenset[str]) -> bool:
    """Whether a line of the comparison is of a chosen setting, or of a whole thing that holds one."""
    if change.pointer in chosen or change.pointer_before in chosen:
        return True
    return any(json_pointer.is_prefix(change.pointer, pointer) for pointer in chosen)


def _chosen(now: Profile, then: Profile, only: tuple[str, ...]) -> frozenset[str] | None:
    if not only:
        return None
    found: set[str] = set()
    for pattern in only:
        here = set(pointers_like(now.settings, pattern)) | set(pointers_like(then.settings, pattern))
        if not here:
            raise UnknownName(f"{pattern} is neither in the machine's settings now nor in that snapshot")
        found |= here
    return frozenset(found)
