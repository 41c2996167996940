"""Whether a store is whole: what git can prove, and what only we know should be so.

Looks, and mends nothing (but that a history found whole becomes the new thing to compare with).
"""

from __future__ import annotations

import hashlib
import os
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import PurePosixPath

from profilekeeper.errors import BadName, StoreBusy, StoreError, UnknownSnapshot
from profilekeeper.store.files import NOT_A_PLAIN_FILE, work_blob
from profilekeeper.store.git import Layout, SealedGit
from profilekeeper.store.history import read_log
from profilekeeper.store.journal import journal_path
from profilekeeper.store.lock import store_lock
from profilekeeper.store.names import check_path, collisions, machine_of
from profilekeeper.store.objects import ObjectReader, blob_id_of
from profilekeeper.store.records import BlobId, Entry, Revision
from profilekeeper.store.seen import read_seen, write_seen
from profilekeeper.store.store import Store
from profilekeeper.store.stray import stray_locks

__all__ = ["KINDS", "Trouble", "check_integrity"]

KINDS = {
    "damaged": "an object of the store is missing, or is not what its id says",
    "rewritten": "snapshots that were here are no longer part of the history",
    "several-machines": "one snapshot touches more than one machine",
    "plain-merge": "two histories were joined by another program",
    "evidence": "a piece of evidence is not the one its name stands for",
    "name": "a name that some systems cannot keep, or cannot keep apart",
    "mode": "an entry that is no plain file",
    "unfinished": "a write was broken off; the next write or opening finishes it",
    "lock": "a lock of git that no program may hold any more",
    "edited": "a file was edited by hand since the latest snapshot",
    "missing": "a recorded file is not in the folder",
    "not-recorded": "a file in the folder is in no snapshot",
}
"""What can be found; all of it leaves the store readable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One thing that is not as it should be: its kind (of `KINDS`), where, and what was found."""

    kind: str
    where: str
    what: str


def check_integrity(store: Store) -> tuple[Trouble, ...]:
    """Everything wrong with the store, the most serious kinds first; empty if it is whole.

    Reads the whole history and every content once. Raises: StoreError, if git cannot run at all.
    """
    layout, door, objects = store.parts
    found = [*_damage(door), *_loose_ends(layout)]
    try:
        head = store.head
        found += _history_troubles(door, objects, head)
        found += _seen_troubles(store, head)
        found += _tree_troubles(door, head)
        found += _folder_troubles(layout, store.list_files())
    except UnknownSnapshot:
        found.append(Trouble(kind="damaged", where="history", what="there is no snapshot at its head"))
    except StoreError as error:
        found.append(Trouble(kind="damaged", where="history", what=str(error)))
    order = list(KINDS)
    return tuple(sorted(dict.fromkeys(found), key=lambda trouble: (order.index(trouble.kind), trouble.where)))


def _damage(door: SealedGit) -> Iterator[Trouble]:
    code, out, err = door.attempt("fsck", "--full", "--no-dangling", "--no-progress", "--no-reflogs")
    lines = [line for line in (out + err).decode("utf-8", "replace").splitlines() if line.strip()]
    lines = [line for line in lines if "is deprecated" not in line and not line.startswith("notice:")]
    for line in lines if code else ():
        yield Trouble(kind="damaged", where="history", what=line)
    if code and not lines:
        yield Trouble(kind="damaged", where="history", what=f"the check ended with code {code}")


def _loose_ends(layout: Layout) -> Iterator[Trouble]:
    """A journal or a git lock counts only if no write is going on that it belongs to."""
    try:
        with store_lock(layout, 1.0):
            yield from _leftovers(layout)
    except StoreBusy:
        return
    except StoreError:  # a folder that can only be read: nobody writes to it
        yield from _leftovers(layout)


def _leftovers(layout: Layout) -> list[Trouble]:
    found = []
    if journal_path(layout).exists():
        found.append(Trouble(kind="unfinished", where="the store", what="its journal is still there"))
    for name in stray_locks(layout):
        found.append(Trouble(kind="lock", where=f".git/{name}", what="it stops every later snapshot"))
    return found


def _history_troubles(door: SealedGit, objects: ObjectReader, head: Revision) -> Iterator[Trouble]:
    """What the snapshots say of themselves, and whether each content they name is there and right."""
    contents: dict[BlobId, str] = {}
    evidence: dict[str, BlobId] = {}
    for entry in read_log(door, head):
        yield from _entry_troubles(entry)
        for change in entry.changes:
            if change.new and change.new not in contents:
                contents[change.new] = f"{change.path} in {entry.revision[:12]}"
            if change.new and "evidence" in change.path.split("/")[:-1]:
                evidence[f"{change.new} {change.path}"] = change.new
    yield from _content_troubles(objects, contents)
    yield from _evidence_troubles(objects, [key.split(" ", 1) for key in evidence])


def _entry_troubles(entry: Entry) -> Iterator[Trouble]:
    where = entry.revision[:12]
    if len(entry.parents) > 1:
        if "Merge-rules" not in entry.trailers:
            yield Trouble(kind="plain-merge", where=where, what=entry.message.split("\n")[0])
        return
    machines = sorted({machine for change in entry.changes if (machine := machine_of(change.path))})
    if len(machines) > 1:
        yield Trouble(kind="several-machines", where=where, what=", ".join(machines))


def _content_troubles(objects: ObjectReader, contents: dict[BlobId, str]) -> Iterator[Trouble]:
    for (blob_id, where), stored in zip(contents.items(), objects.get_many(contents), strict=True):
        if stored is None:
            yield Trouble(kind="damaged", where=where, what=f"its content {blob_id[:12]} cannot be read")
        elif stored.kind == "blob" and blob_id_of(stored.data) != blob_id:
            yield Trouble(kind="damaged", where=where, what=f"its content is not what {blob_id[:12]} stands for")


def _evidence_troubles(objects: ObjectReader, pairs: Iterable[list[str]]) -> Iterator[Trouble]:
    pairs = list(pairs)
    for (_, path), stored in zip(pairs, objects.get_many(blob_id for blob_id, _ in pairs), strict=True):
        if stored and hashlib.sha256(stored.data).hexdigest() != PurePosixPath(path).name.split(".")[0]:
            yield Trouble(kind="evidence", where=path, what="its name is not the SHA-256 of what it holds")


def _seen_troubles(store: Store, head: Revision) -> list[Trouble]:
    layout = store.parts[0]
    lost = []
    for seen in read_seen(layout):
        try:
            gone = not store.is_ancestor(seen, head)
        except UnknownSnapshot:
            gone = True
        if gone:
            lost.append(Trouble(kind="rewritten", where=seen[:12], what="the latest snapshot does not build on it"))
    if not lost:
        with suppress(OSError):  # a store that can only be read is compared with the same head again
            write_seen(layout, (head,))
    return lost


def _tree_troubles(door: SealedGit, head: Revision) -> Iterator[Trouble]:
    names: dict[str, set[str]] = {}
    for line in door.run("ls-tree", "-r", "-t", "-z", "--full-tree", head).decode("utf-8", "replace").split("\0"):
        meta, _, path = line.partition("\t")
        if not path:
            continue
        if meta.split()[0] not in ("100644", "100755", "040000"):
            yield Trouble(kind="mode", where=path, what="it is a link or another repository")
        try:
            check_path(path)
        except BadName as error:
            yield Trouble(kind="name", where=path, what=error.why)
        folder, _, name = path.rpartition("/")
        names.setdefault(folder, set()).add(name)
    for folder, inside in names.items():
        for group in collisions(inside):
            yield Trouble(kind="name", where=folder or "/", what=f"{' and '.join(group)} are one name to some systems")


def _folder_troubles(layout: Layout, recorded: dict[str, BlobId]) -> Iterator[Trouble]:
    for path, blob_id in recorded.items():
        now = work_blob(layout, path)
        if now is None:
            yield Trouble(kind="missing", where=path, what="it was deleted outside this tool")
        elif now != blob_id:
            what = "a link or folder is in its place" if now == NOT_A_PLAIN_FILE else "its content differs"
            yield Trouble(kind="edited", where=path, what=what)
    for path in _files_in(layout):
        if path not in recorded:
            yield Trouble(kind="not-recorded", where=path, what="no snapshot holds it")


def _files_in(layout: Layout) -> Iterator[str]:
    """Files in folders of machines and in the store's own folders; loose files elsewhere are not ours."""
    root = str(layout.folder)
    for folder, folders, files in os.walk(root):
        inside = os.path.relpath(folder, root).replace(os.sep, "/")
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        if inside != ".":
            found = [f"{inside}/{name}" for name in sorted(files) if not name.startswith(".")]
            yield from (unicodedata.normalize("NFC", path) for path in found)  # some systems give names back as NFD
