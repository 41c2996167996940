"""One text of a machine's profile becomes one snapshot: read, checked, compared with the one before, written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from profilekeeper.actions.files import write_file
from profilekeeper.actions.opened import SHORT, Opened, Person, profile_path, trailers
from profilekeeper.changes import Changes, changes_between
from profilekeeper.errors import InvalidProfile
from profilekeeper.formats import strict_yaml
from profilekeeper.model.identity import to_identity
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.rules import Finding, Standing, judge, level
from profilekeeper.store import BlobId, Change

if TYPE_CHECKING:
    from profilekeeper.model.disputes import Disputes

__all__ = ["Recorded", "Request", "counted", "first_profile", "record", "refuse_secret", "with_ids"]

_WITH_ID = ("tools", "no_go_zones", "events")


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is to be recorded: the profile's text and everything a snapshot says of itself.

    `read` holds the pointers that were really read at the control (they settle disputes); `expect` is the id of
    the recorded text on which the new one was worked out, so that nobody's newer snapshot is overwritten.
    `adopt_edit`: the text is what stands in the folder, edited by hand.
    """

    machine: str
    text: str
    kind: str
    person: Person
    why: str
    at: datetime
    new_id: Callable[[], str]
    read: frozenset[str] = frozenset()
    expect: BlobId | None = None
    adopt_edit: bool = False
    trailers: Mapping[str, str] = field(default_factory=dict)
    notices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What was recorded: the snapshot's id, what the rules say of it, what was done on the way."""

    machine: str
    snapshot: str
    kind: str
    before: Profile
    after: Profile
    findings: tuple[Finding, ...]
    standing: Standing
    settled: tuple[str, ...]
    notices: tuple[str, ...]

    def changes(self) -> Changes:
        """What the snapshot changed; worked out when it is asked for, a recording does not wait for it."""
        return changes_between(self.before, self.after)


def record(opened: Opened, request: Request) -> Recorded:
    """Record a snapshot; what the rules find is told with it but never refuses it: a snapshot is a fact.

    Raises:  InvalidProfile or FormatError, if the text is no profile of this machine; SecretRefused;
             StoreError, if the store cannot take it. In each case nothing was recorded.
    """
    refuse_secret("why", request.why)
    before = opened.profile(request.machine) if opened.is_recorded(request.machine) else None
    text, data, given = with_ids(request.text, request.new_id, source=request.machine)
    after = read_profile(data, source=request.machine)
    _refuse_another_machine(request.machine, before, after)
    ruleset = opened.ruleset(after)
    disputes, settled = _settled(opened, request, after)
    findings: list[Finding] = []

    def change() -> Iterator[Change]:
        """The rules are judged while git starts up to take the snapshot."""
        # Values put back come from a record that was looked at: that they jump is no news.
        previous = None if request.kind == "restored" else before
        findings.extend(judge(after, ruleset, previous=previous, on=request.at.date()))
        yield _change(request, text, tuple(findings), disputes, settled)

    if request.adopt_edit:  # the ids given go into the edited file first: the store takes a file that says the same
        write_file(opened.folder() / profile_path(request.machine), text.encode(), replace=True)
    revision = opened.store.write_history(change())[0]
    opened.remember(text.encode(), after)
    notices = (
        *request.notices,
        *after.notices,
        *((f"{given} {'id was' if given == 1 else 'ids were'} given",) if given else ()),
    )
    return Recorded(
        machine=request.machine,
        snapshot=revision[:SHORT],
        kind=request.kind,
        before=before or first_profile(after),
        after=after,
        findings=tuple(findings),
        standing=level(after),
        settled=settled,
        notices=notices,
    )


def refuse_secret(label: str, text: str) -> None:
    """Refuse a reason or remark that holds a password, PIN or access code. Raises: SecretRefused."""
    from profilekeeper.model.secrets import refuse_secrets

    refuse_secrets({label: text}, source="what you wrote")


def with_ids(text: str, new_id: Callable[[], str], *, source: str) -> tuple[str, object, int]:
    """The text with an id for the machine and for every tool, zone and event that has none; its data; how many."""
    data = strict_yaml.loads(text, source=source)
    edits: dict[str, object] = {}
    if isinstance(data, dict):
        machine = data.get("machine")
        if isinstance(machine, dict) and "id" not in machine:
            edits["/machine/id"] = new_id()
        for group in _WITH_ID:
            edits.update(_missing_ids(data.get(group), group, new_id))
    if not edits:
        return text, data, 0
    from profilekeeper.formats.edit_yaml import edit

    text = edit(text, edits, source=source)
    return text, strict_yaml.loads(text, source=source), len(edits)


def _missing_ids(items: object, group: str, new_id: Callable[[], str]) -> dict[str, object]:
    from profilekeeper.model import pointer as json_pointer

    named = items.items() if isinstance(items, dict) else enumerate(items) if isinstance(items, list) else ()
    return {
        json_pointer.format((group, str(name), "id")): new_id()
        for name, item in named
        if isinstance(item, dict) and item and "id" not in item
    }


def first_profile(after: Profile) -> Profile:
    """The bare machine that a first snapshot is compared with: its identity and units, nothing else."""
    bare = {key: after.data[key] for key in ("profile", "machine", "units")}
    return read_profile(bare, source="before the first snapshot")


def _refuse_another_machine(machine: str, before: Profile | None, after: Profile) -> None:
    if after.name != machine:
        raise InvalidProfile(
            f"the record says it is of {after.name}, not of {machine}; check /machine/shop and /machine/name"
        )
    if before is not None and before.id and after.id != before.id:
        raise InvalidProfile(
            f"/machine/id is {after.id or 'missing'}, that of {machine} is {before.id}: is it the record of "
            "another machine? An id is never changed"
        )


def _settled(opened: Opened, request: Request, after: Profile) -> tuple[Disputes | None, tuple[str, ...]]:
    """What remains disputed once some settings were read at the control; None where nothing changes."""
    if opened.bytes_of(f"{request.machine}/disputes.yaml") is None:
        return None, ()
    disputes = opened.disputes(request.machine)
    read = {to_identity(after, pointer) for pointer in request.read}
    wanted = tuple(p for p in disputes.settings if p in read)
    left, head = disputes, opened.store.head
    for pointer in wanted:
        left = left.settled(pointer, reading=head, is_ancestor=opened.store.is_ancestor)
    settled = tuple(p for p in wanted if p not in left.settings)
    return (left, settled) if left is not disputes else (None, ())


def _change(
    request: Request,
    text: str,
    findings: tuple[Finding, ...],
    disputes: Disputes | None,
    settled: tuple[str, ...],
) -> Change:
    """The snapshot as the store takes it."""
    path = profile_path(request.machine)
    files: dict[str, bytes | None] = {path: text.encode()}
    if disputes is not None:
        from profilekeeper.formats.edit_yaml import dumps
        from profilekeeper.model.disputes import disputes_data

        files[f"{request.machine}/disputes.yaml"] = dumps(disputes_data(disputes)).encode()
    more = {"Why": request.why, "Findings": counted(findings), "Settled": " ".join(settled), **request.trailers}
    return Change(
        files=files,
        message=f"{request.machine}: {request.kind}" + (f", {request.why}" if request.why else ""),
        author=request.person.author,
        at=request.at,
        trailers=trailers(request.kind, request.machine, request.person, more),
        expect={path: request.expect} if request.expect else {},
    )


def counted(findings: tuple[Finding, ...]) -> str:
    """How many findings there are of each verdict, worst first; empty if no rule judged anything."""
    counts = Counter(str(f.verdict) for f in findings)
    return ", ".join(f"{counts[v]} {v}" for v in ("hits", "fails", "short", "unknown", "tight", "clear") if counts[v])
