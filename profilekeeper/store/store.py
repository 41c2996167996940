"""A store: the folder that holds a fleet, and everything that may be done with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Self

from profilekeeper.errors import (
    HandEdit,
    NotRecorded,
    SnapshotAmbiguous,
    StoreError,
    StoreMoved,
    UnknownSnapshot,
)
from profilekeeper.store.failpoints import reach
from profilekeeper.store.files import keep_copy, put_file, read_file, work_blob
from profilekeeper.store.git import Layout, SealedGit, disk_error
from profilekeeper.store.guard import find_root, inspect
from profilekeeper.store.history import latest_from, read_entry, read_log, selected
from profilekeeper.store.index import has_notes, settle_index
from profilekeeper.store.journal import is_being_written, journal_path
from profilekeeper.store.lock import PATIENCE_S, store_lock
from profilekeeper.store.names import check_path
from profilekeeper.store.objects import ObjectReader, Stored, differing, list_tree
from profilekeeper.store.records import Author, BlobId, Change, Entry, Revision, WorkState
from profilekeeper.store.starting import begin
from profilekeeper.store.writer import Writer, recover

if TYPE_CHECKING:
    from profilekeeper.store.cache import Cache

__all__ = ["MERGE_AUTHOR", "Store"]

MERGE_AUTHOR = Author(name="profilekeeper merge", email="merge@profilekeeper.invalid")
"""Who signs a merge: nobody in person, so that two stores that merge the same make the same snapshot."""

_MERGE_RULES = {"Merge-rules": "1"}
_HEXADECIMAL = frozenset("0123456789abcdef")
_REST_BEFORE_SETTLING_S = 2.0


class Store:
    """An open store. Use it in a `with`, or call `close`: that also lets plain git tools see it clean.

    Reading needs no lock and sees the latest snapshot at every call. Writing takes the store's lock.
    One instance may be shared among threads.
    """

    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._door = SealedGit(layout)
        self._objects = ObjectReader(self._door)
        self._cache: Cache | None = None

    # -- starting, opening, closing

    @classmethod
    def start(
        cls, folder: str | Path, files: Mapping[str, bytes], *, message: str, author: Author, at: datetime,
        trailers: Mapping[str, str] | None = None,
    ) -> Self:  # fmt: skip
        """A new store whose first snapshot holds `files`; one of them is `store.yaml`.

        The folder may be there already, and may hold files, but none that `files` would overwrite.
        Raises: StoreExists, GitMissing, GitTooOld, StoreReadOnly, DiskFull.
        """
        layout = Layout.of(Path(folder).absolute())
        store = cls(layout)
        change = Change(files=files, message=message, author=author, at=at, trailers=trailers or {})
        try:
            begin(layout, files, lambda: store.write(change))
        except BaseException:
            store.close()
            raise
        return store

    @classmethod
    def open(cls, folder: str | Path) -> Self:
        """The store whose root is `folder`. A write that was broken off is finished, if nothing hinders.

        Raises: NotAStore; UnsafeStore, if its set-up could run programs or lead elsewhere.
        """
        store = cls(inspect(Path(folder).absolute()))
        if journal_path(store._layout).exists():
            store._try_to_recover()
        return store

    @classmethod
    def find(cls, folder: str | Path) -> Self:
        """The store that `folder` lies in. Raises: NotAStore, UnsafeStore."""
        return cls.open(find_root(Path(folder)))

    def close(self) -> None:
        """Bring git's index up to date if that is open work, and end what runs in the background."""
        try:
            if has_notes(self._layout):
                self.settle(patience_s=0.0)  # whoever is writing now will do it when done
        finally:
            self._objects.close()
            if self._cache:
                self._cache.close()
                self._cache = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def folder(self) -> Path:
        """The store's root folder."""
        return self._layout.folder

    @property
    def parts(self) -> tuple[Layout, SealedGit, ObjectReader]:
        """Where it lies, the door to git, the reader of objects: for the other modules of this room."""
        return self._layout, self._door, self._objects

    @property
    def cache(self) -> Cache:
        """The disposable index of this store: history by path, and values worked out from contents."""
        if self._cache is None:
            from profilekeeper.store.cache import Cache

            self._cache = Cache(self._layout, self._door)
        return self._cache

    # -- reading

    @property
    def head(self) -> Revision:
        """The latest snapshot. Raises: UnknownSnapshot, in a store whose first one was never recorded."""
        found = self._objects.head()
        if found is None:
            raise UnknownSnapshot("latest")
        return found

    def read(self, path: str, revision: Revision | None = None) -> bytes:
        """What a file held in a snapshot (None: the latest). Raises: NotRecorded, UnknownSnapshot."""
        return self._stored(path, revision).data

    def read_many(self, wanted: Iterable[tuple[Revision | None, str]]) -> Iterator[bytes | None]:
        """What files held, in the order asked for; None where a snapshot has no such file."""
        names = (f"{_full(revision)}:{check_path(path)}" for revision, path in wanted)
        for stored in self._objects.get_many(names):
            yield stored.data if stored and stored.kind == "blob" else None

    def read_blobs(self, blob_ids: Iterable[BlobId]) -> Iterator[bytes]:
        """The contents with these ids, in order. Raises: NotRecorded."""
        ids = [_full(blob_id) for blob_id in blob_ids]
        for blob_id, stored in zip(ids, self._objects.get_many(ids), strict=True):
            if stored is None or stored.kind != "blob":
                raise NotRecorded(f"content {blob_id[:12]}", "")
            yield stored.data

    def blob_id(self, path: str, revision: Revision | None = None) -> BlobId | None:
        """The id of what a file held; None if the snapshot has no such file. Raises: UnknownSnapshot."""
        try:
            return self._stored(path, revision).id
        except NotRecorded:
            return None

    def list_files(self, prefix: str = "", revision: Revision | None = None) -> dict[str, BlobId]:
        """Every file of a snapshot at or below `prefix` with its blob id, sorted by path."""
        return list_tree(self._door, _full(revision) if revision else self.head, check_path(prefix) if prefix else "")

    def list_folders(self, folder: str = "", revision: Revision | None = None) -> tuple[str, ...]:
        """The names of the folders directly in a folder of a snapshot (`""`: the shops)."""
        entries = self._objects.tree(_full(revision), check_path(folder) if folder else "")
        return tuple(entry.name for entry in entries or () if entry.mode == "40000")

    def list_names(self, folder: str, revision: Revision | None = None) -> dict[str, BlobId]:
        """The files directly in a folder of a snapshot, by name, with their blob ids; without a new process."""
        entries = self._objects.tree(_full(revision), check_path(folder))
        return {entry.name: entry.id for entry in entries or () if entry.mode != "40000"}

    def resolve(self, short: str) -> Revision:
        """The full id of the snapshot that `short` (4 or more letters of it) stands for.

        Raises: UnknownSnapshot; SnapshotAmbiguous, with the candidates.
        """
        text = short.strip().lower()
        if not 4 <= len(text) <= 40 or not _HEXADECIMAL.issuperset(text):
            raise UnknownSnapshot(short)
        found = self.cache.ids_with_prefix(text, self.head)
        if found is None:
            out = self._door.run("rev-list", self.head).decode().split()
            found = tuple(revision for revision in out if revision.startswith(text))
        if not found:
            raise UnknownSnapshot(short)
        if len(found) > 1:
            raise SnapshotAmbiguous(short, found)
        return found[0]

    def is_ancestor(self, older: Revision, newer: Revision) -> bool:
        """Whether `newer` was recorded knowing of `older` (or is the same). Raises: UnknownSnapshot."""
        for revision in (older, newer):
            stored = self._objects.get(_full(revision))
            if stored is None or stored.kind != "commit":
                raise UnknownSnapshot(revision)
        if older == newer:
            return True
        code, _, err = self._door.attempt("merge-base", "--is-ancestor", older, newer)
        if code not in (0, 1):
            raise self._door.failure("merge-base", code, err)
        return code == 0

    def merge_bases(self, one: Revision, other: Revision) -> tuple[Revision, ...]:
        """The latest snapshots that both know of; several after merges that crossed; sorted."""
        code, out, err = self._door.attempt("merge-base", "--all", _full(one), _full(other))
        if code not in (0, 1):
            raise self._door.failure("merge-base", code, err)
        return tuple(sorted(out.decode().split()))

    def entry(self, revision: Revision) -> Entry:
        """One snapshot. Raises: UnknownSnapshot."""
        return read_entry(self._door, self._objects, _full(revision))

    def history(
        self, prefix: str = "", *, limit: int | None = None, since: datetime | None = None,
        until: datetime | None = None, revision: Revision | None = None,
    ) -> Iterator[Entry]:  # fmt: skip
        """The snapshots that concern a file or folder (`""`: all), latest first, read as a stream.

        `since` and `until` are both counted in. A snapshot of a folder that changed nothing in it is
        there too if its trailer `Machine` names the folder or one in it.
        """
        if prefix:
            check_path(prefix)
        tip = _full(revision) if revision else self.head

        def by_git() -> Iterator[Entry]:
            return selected(read_log(self._door, tip), prefix, limit, since, until)

        cached = self.cache.history(prefix, tip, limit, since, until, by_git) if revision is None else None
        return cached or by_git()

    def latest_of(self, prefixes: Iterable[str]) -> dict[str, Entry]:
        """For each file or folder the latest snapshot that concerns it; those without any are left out."""
        wanted = [check_path(prefix) for prefix in prefixes]
        cached = self.cache.latest_of(wanted, self.head)
        return cached if cached is not None else latest_from(read_log(self._door, self.head), wanted)

    # -- the folder

    def work_file(self, path: str) -> bytes | None:
        """What the file in the folder holds now; None if it is not there.

        Raises: HandEdit, if a link or folder is in its place.
        """
        data = read_file(self._layout, check_path(path))
        if isinstance(data, str):
            raise HandEdit((path,))
        return data

    def work_state(self, path: str) -> WorkState:
        """How the file in the folder stands to the latest snapshot."""
        now, recorded = work_blob(self._layout, check_path(path)), self.blob_id(path)
        if now == recorded:
            return WorkState.RECORDED if recorded else WorkState.ABSENT
        if is_being_written(self._layout, path, now):
            return WorkState.RECORDED
        if now is None:
            return WorkState.MISSING
        return WorkState.EDITED if recorded else WorkState.NOT_RECORDED

    def work_states(self, prefix: str = "") -> dict[str, WorkState]:
        """Every recorded file at or below `prefix` whose file in the folder is not as recorded."""
        return {
            path: state
            for path in self.list_files(prefix)
            if (state := self.work_state(path)) is not WorkState.RECORDED
        }

    def put_back(self, paths: Iterable[str]) -> tuple[Path, ...]:
        """Bring files in the folder back to what is recorded; copies of what an edited one held.

        Nothing is lost: a file that differs is first copied into the store's git folder, under `kept/`.
        Raises: NotRecorded, StoreReadOnly, DiskFull.
        """
        kept = []
        with self._writing(PATIENCE_S):
            for path in paths:
                data, recorded = read_file(self._layout, check_path(path)), self.read(path)
                if data == recorded:
                    continue
                try:
                    if isinstance(data, bytes):
                        kept.append(keep_copy(self._layout, path, data))
                    put_file(self._layout, path, recorded)
                except OSError as error:
                    raise disk_error(self.folder, error) from None
        return tuple(kept)

    # -- writing

    def write(self, change: Change, *, patience_s: float = PATIENCE_S) -> Revision:
        """Record one snapshot; when this returns it is on the disk for good. Returns its id.

        Raises: HandEdit, FileMissing, StoreMoved, StoreBusy, StoreReadOnly, DiskFull, BadName,
        TouchesTooMuch: nothing was recorded. FileBehind: it is recorded, but the file in the folder lags.
        """
        return self.write_history([change], patience_s=patience_s)[0]

    def write_history(self, changes: Iterable[Change], *, patience_s: float = PATIENCE_S) -> list[Revision]:
        """Record many snapshots, each on top of the one before, all of them or none; their ids in order."""
        with self._writing(patience_s) as keep_open:
            return Writer(self._layout, self._door, self._objects, keep_open).record(changes)

    def write_merge(
        self, other: Revision, tree: Mapping[str, bytes | BlobId], *,
        trailers: Mapping[str, str] | None = None, expect_head: Revision | None = None,
        patience_s: float = PATIENCE_S,
    ) -> Revision:  # fmt: skip
        """Record the union of the latest snapshot and `other`: its parents, and exactly `tree` as its files.

        Everything about it follows from the two parents, `tree` and `trailers`, so that two stores that
        merge the same come out with the same id: parents sorted, the later of their dates in UTC, a fixed
        author and message, the trailer `Merge-rules: 1`. `tree` maps every path to its bytes or blob id.
        Raises: as `write`; StoreMoved, if the latest snapshot is no longer `expect_head`.
        """
        with self._writing(patience_s) as keep_open:
            writer = Writer(self._layout, self._door, self._objects, keep_open)
            head = writer.head
            if head is None or (expect_head and head != expect_head):
                raise StoreMoved("another snapshot was recorded since the merge was worked out")
            parents = sorted([head, _full(other)])
            at = max(self.entry(parent).at for parent in parents).astimezone(UTC)
            for path in tree:
                check_path(path)
            change = Change(
                files={}, message="Two stores met", author=MERGE_AUTHOR, at=at,
                trailers={**(trailers or {}), **_MERGE_RULES},
            )  # fmt: skip
            ordered = dict(sorted(tree.items()))
            return writer.merge(change, parents, ordered, differing(self.list_files(revision=head), ordered))

    def advance(self, to: Revision, *, patience_s: float = PATIENCE_S) -> None:
        """Let the store follow to a later snapshot that its git folder holds already.

        Raises: StoreMoved, if `to` was not recorded on top of the latest snapshot; HandEdit, FileMissing.
        """
        with self._writing(patience_s) as keep_open:
            writer = Writer(self._layout, self._door, self._objects, keep_open)
            if writer.head and not self.is_ancestor(writer.head, to):
                raise StoreMoved(f"snapshot {to[:12]} does not build on the latest one")
            now = self.list_files(revision=writer.head) if writer.head else {}
            writer.advance(to, differing(now, self.list_files(revision=to)))

    def settle(self, *, patience_s: float = _REST_BEFORE_SETTLING_S) -> bool:
        """Bring git's index up to date with what was written, so that plain git tools see a clean folder.

        Costs time in proportion to the fleet; `close` does it. False: not now, another program is at work.
        """
        try:
            with store_lock(self._layout, patience_s) as keep_open:
                recover(self._layout, self._door, self._objects)
                return settle_index(self._layout, self._door, self._objects, keep_open)
        except StoreError:
            return False

    # -- within

    @contextmanager
    def _writing(self, patience_s: float) -> Iterator[Sequence[int]]:
        self._objects.start()  # comes up while the lock is waited for
        with store_lock(self._layout, patience_s) as keep_open:
            try:
                reach("after-lock")
            except OSError as error:
                raise disk_error(self.folder, error) from None
            recover(self._layout, self._door, self._objects)
            yield keep_open

    def _try_to_recover(self) -> None:
        """Finish a broken write if no one is at it; a store that can only be read stays readable."""
        try:
            with store_lock(self._layout, 0.0):
                recover(self._layout, self._door, self._objects)
        except StoreError:
            return

    def _stored(self, path: str, revision: Revision | None) -> Stored:
        name = _full(revision)
        stored = self._objects.get(f"{name}:{check_path(path)}")
        if stored is None or stored.kind != "blob":
            found = self._objects.get(name)
            if found is None or found.kind != "commit":
                raise UnknownSnapshot(revision or "latest")
            raise NotRecorded(path, revision or "")
        return stored


def _full(revision: Revision | None) -> str:
    """A name git reads as exactly one thing: `HEAD` or a full id. Raises: UnknownSnapshot."""
    if revision is None:
        return "HEAD"
    if len(revision) != 40 or not _HEXADECIMAL.issuperset(revision):
        raise UnknownSnapshot(revision)
    return revision
