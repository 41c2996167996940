"""What a write is about to do, kept on disk while it does it, so that a broken one can be finished.

The branch is the only truth about what is recorded. The journal only says which files in the folder may
still lag behind it: such a file holds either its old or its new content, and is then brought to what the
branch says; one that holds anything else was edited by hand and is left alone.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from profilekeeper.store.failpoints import reach
from profilekeeper.store.files import sync, sync_folder, write_all
from profilekeeper.store.git import Layout
from profilekeeper.store.records import BlobId, Revision

__all__ = ["Journal", "drop_journal", "is_being_written", "journal_path", "read_journal", "write_journal"]

_NONE = "-"  # where there is no id


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """One write in progress: the branch before and after, and for each file its old and new blob id."""

    branch: str
    old: Revision | None
    new: Revision
    files: Mapping[str, tuple[BlobId | None, BlobId | None]]


def journal_path(layout: Layout) -> Path:
    """Where the journal lies while a write is going on."""
    return layout.own / "journal"


def write_journal(layout: Layout, journal: Journal) -> None:
    """Put the journal on disk, durably. Raises: OSError."""
    lines = [f"branch {journal.branch}", f"old {journal.old or _NONE}", f"new {journal.new}"]
    lines += [f"file {old or _NONE} {new or _NONE} {path}" for path, (old, new) in journal.files.items()]
    body = "\n".join(lines).encode()
    data = body + b"\n" + _seal(body) + b"\n"
    descriptor = os.open(journal_path(layout), os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    try:
        write_all(descriptor, data[: len(data) // 2])
        reach("inside-journal")
        write_all(descriptor, data[len(data) // 2 :])
        sync(descriptor)
    finally:
        os.close(descriptor)
    sync_folder(layout.own)


def read_journal(layout: Layout) -> Journal | None:
    """The write that was going on; None if there is no journal, or one cut short before it counted.

    A journal is whole on disk before the branch moves, so one cut short belongs to a write that did not
    happen.
    """
    try:
        data = journal_path(layout).read_bytes()
    except FileNotFoundError:
        return None
    body, _, seal = data.removesuffix(b"\n").rpartition(b"\n")
    if seal != _seal(body):
        return None
    (_, branch), (_, old), (_, new), *files = [line.split(" ", 1) for line in body.decode().split("\n")]
    return Journal(branch=branch, old=_id(old), new=new, files=dict(_file(line) for _, line in files))


def is_being_written(layout: Layout, path: str, now: BlobId | None) -> bool:
    """Whether a write in progress accounts for a file that holds the content `now`."""
    try:
        journal = read_journal(layout)
    except OSError:
        return False
    return journal is not None and now in journal.files.get(path, ())


def drop_journal(layout: Layout) -> None:
    """The write is finished, or never happened."""
    journal_path(layout).unlink(missing_ok=True)


def _file(line: str) -> tuple[str, tuple[BlobId | None, BlobId | None]]:
    old, new, path = line.split(" ", 2)
    return path, (_id(old), _id(new))


def _id(text: str) -> str | None:
    return None if text == _NONE else text


def _seal(body: bytes) -> bytes:
    """What only a journal that is whole ends with."""
    return hashlib.sha256(body).hexdigest().encode()
