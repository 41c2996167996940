"""The history as git tells it, read as a stream: however long it is, one snapshot is held at a time."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta, timezone

from profilekeeper.errors import UnknownSnapshot
from profilekeeper.store.git import SealedGit
from profilekeeper.store.objects import ObjectReader
from profilekeeper.store.records import (
    MACHINE_TRAILER,
    Author,
    Changed,
    Entry,
    Revision,
    parse_message,
)

__all__ = ["belongs", "entry_of", "latest_from", "offset_minutes", "read_entry", "read_log", "selected", "time_of"]

_FIELDS = "%H%x00%P%x00%an%x00%ae%x00%ad%x00%B%x00"
_FIELD_COUNT = 6
_LOG = (
    "log", "-z", "-c", "--raw", "--no-abbrev", "--no-renames", "--no-ext-diff", "--no-textconv", "--no-mailmap",
    "--no-show-signature", "--no-decorate", "--date=raw", "--encoding=UTF-8", f"--format={_FIELDS}",
)  # fmt: skip
_NO_BLOB = "0" * 40


def read_log(
    door: SealedGit, tip: Revision, *, without: Iterable[Revision] = (), oldest_first: bool = False
) -> Iterator[Entry]:
    """Every snapshot up to `tip` but those up to `without`, a snapshot always apart from its parents.

    A snapshot with several parents lists only the files that differ from what each of them holds.
    Raises: GitFailed.
    """
    order = ["--date-order", "--reverse"] if oldest_first else ["--date-order"]
    limits = [f"^{revision}" for revision in without]
    return _entries(door.stream(*_LOG, *order, tip, *limits, "--"))


def selected(
    entries: Iterable[Entry], prefix: str, limit: int | None, since: datetime | None, until: datetime | None
) -> Iterator[Entry]:
    """The entries that concern a path or folder (`""`: all), in a span of time (both ends counted)."""
    left = limit
    for entry in entries:
        if left is not None and left <= 0:
            return
        if belongs(entry, prefix) and (not since or entry.at >= since) and (not until or entry.at <= until):
            yield entry
            left = None if left is None else left - 1


def read_entry(door: SealedGit, objects: ObjectReader, revision: Revision) -> Entry:
    """One snapshot. Raises: UnknownSnapshot."""
    stored = objects.get(revision)
    if stored is None or stored.kind != "commit":
        raise UnknownSnapshot(revision)
    parents = re.findall(rb"^parent ([0-9a-f]{40})$", stored.data.split(b"\n\n", 1)[0], re.MULTILINE)
    for entry in read_log(door, revision, without=[parent.decode() for parent in parents]):
        if entry.revision == revision:
            return entry
    raise UnknownSnapshot(revision)


def latest_from(entries: Iterable[Entry], wanted: Sequence[str]) -> dict[str, Entry]:
    """For each path or folder the first of the entries that concerns it."""
    found: dict[str, Entry] = {}
    left = set(wanted)
    for entry in entries:
        for prefix in [prefix for prefix in left if belongs(entry, prefix)]:
            found[prefix] = entry
            left.discard(prefix)
        if not left:
            break
    return found


def belongs(entry: Entry, prefix: str) -> bool:
    """Whether a snapshot concerns that path or folder.

    One that changes no byte concerns the machine it names: a reading that confirms everything.
    """
    if not prefix:
        return True
    inside = prefix + "/"
    if any(change.path == prefix or change.path.startswith(inside) for change in entry.changes):
        return True
    machine = entry.trailers.get(MACHINE_TRAILER, "")
    return not entry.changes and (machine == prefix or machine.startswith(inside))


def entry_of(
    revision: Revision,
    parents: Iterable[Revision],
    author: Author,
    at: datetime,
    text: str,
    changes: Iterable[Changed],
) -> Entry:
    """An entry from a snapshot's parts; `text` is the message with its trailers."""
    message, trailers = parse_message(text)
    return Entry(
        revision=revision,
        parents=tuple(parents),
        at=at,
        author=author,
        message=message,
        trailers=trailers,
        changes=tuple(changes),
    )


def time_of(seconds: int, offset_minutes: int) -> datetime:
    """The moment, with the time zone in which it was recorded."""
    return datetime.fromtimestamp(seconds, timezone(timedelta(minutes=offset_minutes)))


def offset_minutes(text: str) -> int:
    """Minutes east of Greenwich of a `+hhmm`; 0 for what no clock shows."""
    minutes = int(text[1:3]) * 60 + int(text[3:5]) if len(text) == 5 and text[1:].isdigit() else 0
    return 0 if minutes >= 24 * 60 else -minutes if text.startswith("-") else minutes


def _entries(tokens: Iterator[bytes]) -> Iterator[Entry]:
    """Cut the stream into snapshots: six fields, then pairs of (what changed, path), then the next."""
    fields: list[str] = []
    changes: list[Changed] = []
    for token in tokens:
        if len(fields) < _FIELD_COUNT:
            if fields or token:
                fields.append(token.decode("utf-8", "replace"))
            continue
        text = token.lstrip(b"\n")
        if text.startswith(b":"):
            path = next(tokens, b"").decode("utf-8", "surrogateescape")
            changes.append(_changed(text.decode("ascii"), path))
        elif text:
            yield _entry(fields, changes)
            fields, changes = [text.decode("ascii")], []
    if len(fields) == _FIELD_COUNT:
        yield _entry(fields, changes)


def _entry(fields: list[str], changes: list[Changed]) -> Entry:
    revision, parents, name, email, date, text = fields
    seconds, _, offset = date.partition(" ")
    return entry_of(
        revision,
        parents.split(),
        Author(name=name, email=email),
        time_of(int(seconds or 0), offset_minutes(offset)),
        text,
        changes,
    )


def _changed(raw: str, path: str) -> Changed:
    """One `:`-line: n colons, n+1 modes, n+1 ids, a letter for each; n > 1 for several parents."""
    words = raw.lstrip(":").split()
    parents = len(raw) - len(raw.lstrip(":"))
    ids = words[parents + 1 : 2 * parents + 2]
    old, new = ids[0], ids[-1]
    return Changed(path=path, old=None if old == _NO_BLOB else old, new=None if new == _NO_BLOB else new)
