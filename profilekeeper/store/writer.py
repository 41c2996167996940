"""How a snapshot gets into the store: every step, and how a broken write is finished.

1. hold the lock; finish what an earlier write left; 2. look at each file in the folder: one edited by
hand, or deleted, stops the write; 3. hand the snapshot to `fast-import`; 4. the journal goes to disk;
5. `fast-import` makes the objects durable and moves the branch: from here on the snapshot is recorded;
6. the files in the folder follow; 7. what git's index must catch up with is noted; 8. the journal goes.
Broken off before 5, nothing has happened; after it, the next write (or opening) does 6 to 8.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from profilekeeper.errors import (
    BadName,
    FileBehind,
    FileMissing,
    HandEdit,
    StoreMoved,
    TouchesTooMuch,
)
from profilekeeper.store.failpoints import reach
from profilekeeper.store.files import put_file, remove_file, sweep_staged, sync_folder, work_blob
from profilekeeper.store.git import Layout, SealedGit, disk_error
from profilekeeper.store.importer import Importer
from profilekeeper.store.index import note_for_index
from profilekeeper.store.journal import Journal, drop_journal, journal_path, read_journal, write_journal
from profilekeeper.store.names import check_path, folded, machine_of
from profilekeeper.store.objects import ObjectReader, blob_id_of
from profilekeeper.store.records import BlobId, Change, Revision
from profilekeeper.store.seen import note_seen
from profilekeeper.store.stray import remove_stray_ref_locks

__all__ = ["Writer", "recover"]

_Contents = Mapping[str, bytes | BlobId | None]


class Writer:
    """One write under the store's lock. Made for it, used once."""

    def __init__(self, layout: Layout, door: SealedGit, objects: ObjectReader, keep_open: Sequence[int]) -> None:
        self._layout = layout
        self._door = door
        self._objects = objects
        self._keep_open = keep_open
        self._branch = door.branch()
        self._head = objects.head()
        self._files: dict[str, tuple[BlobId | None, BlobId | None]] = {}
        self._contents: dict[str, bytes | BlobId | None] = {}
        self._siblings: dict[str, dict[str, str]] = {}

    @property
    def head(self) -> Revision | None:
        """The latest snapshot when the write began."""
        return self._head

    def record(self, changes: Iterable[Change]) -> list[Revision]:
        """Record snapshots, each on top of the one before; their ids, oldest first."""

        def feed(importer: Importer) -> None:
            for change in changes:
                self._take(change)
                reach("after-check")
                importer.add(change)

        return self._through_importer(feed)

    def merge(
        self,
        change: Change,
        parents: Sequence[Revision],
        tree: Mapping[str, bytes | BlobId],
        contents: _Contents,
    ) -> Revision:
        """Record a snapshot of several parents holding exactly `tree`; `contents`: where it differs here."""
        self._take_contents(contents)
        return self._through_importer(lambda importer: importer.add_merge(change, parents, tree))[0]

    def advance(self, to: Revision, contents: _Contents) -> None:
        """Let the branch follow to a later snapshot that is here already; `contents` are what differs."""
        self._take_contents(contents)

        def move() -> None:
            expected = self._head or "0" * 40
            self._door.run("update-ref", "-m", "follow", self._branch, to, expected, keep_open=self._keep_open)

        self._commit_to(to, move)

    def _through_importer(self, feed: Callable[[Importer], None]) -> list[Revision]:
        importer = Importer(self._door, self._branch, self._head, self._keep_open)
        try:
            reach("after-spawn")
            feed(importer)
            revisions = importer.revisions()
            reach("after-feed")
        except BaseException as error:
            code, said = importer.abandon()
            raise self._told(error, importer, code, said) from None
        if not revisions:
            importer.abandon()
            return []
        self._commit_to(revisions[-1], lambda: self._finish(importer), importer.abandon)
        return revisions

    def _finish(self, importer: Importer) -> None:
        importer.send_done()
        reach("after-done")
        code, said = importer.finish()
        if code:
            raise importer.failure(self._door, code, said)

    def _commit_to(self, new: Revision, move: Callable[[], None], abandon: Callable[[], object] = lambda: None) -> None:
        """Journal, then move the branch, then let the files follow."""
        files = self._files
        try:
            write_journal(self._layout, Journal(branch=self._branch, old=self._head, new=new, files=files))
            reach("after-journal")
            move()
            reach("after-ref")
        except BaseException as error:
            abandon()
            if self._objects.head() != new:
                self._undo()
                raise (disk_error(self._layout.folder, error) if isinstance(error, OSError) else error) from None
            if not isinstance(error, Exception):
                raise
        self._follow(new)

    def _undo(self) -> None:
        """Nothing was recorded: leave no trace but what the next opening clears."""
        try:
            remove_stray_ref_locks(self._layout, self._branch)
            drop_journal(self._layout)
            sweep_staged(self._layout)
        except OSError:  # the disk that refused the write may refuse this; a journal left does no harm
            pass

    def _follow(self, new: Revision) -> None:
        """Make the branch's move durable, then bring the files in the folder to what is recorded now."""
        try:
            sync_folder((self._layout.git_dir / self._branch).parent)
            for path, data in self._contents.items():
                _bring(self._layout, self._objects, path, data)
            reach("after-files")
            note_for_index(self._layout, self._files)
            reach("after-todo")
            note_seen(self._layout, self._head, new)
            drop_journal(self._layout)
            reach("after-drop")
        except OSError as error:
            raise FileBehind(new, error.strerror or str(error)) from None

    def _take(self, change: Change) -> None:
        """Check one change against the names allowed, the latest snapshot and the files in the folder."""
        _check_machines(change)
        self._check_expected(change)
        self._take_contents(change.files)

    def _take_contents(self, contents: _Contents) -> None:
        edited, missing = [], []
        fresh = [check_path(path) for path in contents if path not in self._files]
        for path, old in zip(fresh, self._recorded(fresh), strict=True):
            if contents[path] is not None:
                self._check_new_name(path, old)
            self._files[path] = (old, None)
        for path, data in contents.items():
            old = self._files[path][0]
            new = blob_id_of(data) if isinstance(data, bytes) else data
            if path in fresh:
                now = work_blob(self._layout, path)
                if now is None and old is not None and new is not None:
                    missing.append(path)
                elif now not in (None, old, new):
                    edited.append(path)
            self._files[path] = (old, new)
            self._contents[path] = data
        if edited:
            raise HandEdit(tuple(edited))
        if missing:
            raise FileMissing(tuple(missing))

    def _recorded(self, paths: Iterable[str]) -> list[BlobId | None]:
        if self._head is None:
            return [None for _ in paths]
        found = self._objects.get_many(f"{self._head}:{path}" for path in paths)
        return [stored.id if stored and stored.kind == "blob" else None for stored in found]

    def _check_expected(self, change: Change) -> None:
        expected = {check_path(path): blob_id for path, blob_id in change.expect.items()}
        for path, found in zip(expected, self._recorded(expected), strict=True):
            if found != expected[path]:
                raise StoreMoved(f"{path} was recorded anew since it was read")

    def _check_new_name(self, path: str, old: BlobId | None) -> None:
        """Refuse a new name that some systems would take for one that is there already."""
        if old is not None:
            return
        folder = ""
        for part in path.split("/"):
            taken = self._names_in(folder)
            other = taken.setdefault(folded(part), part)
            if other != part:
                raise BadName(path, f"{other!r} is there already, and some systems hold both for the same name")
            folder = f"{folder}/{part}" if folder else part

    def _names_in(self, folder: str) -> dict[str, str]:
        if folder not in self._siblings:
            entries = self._objects.tree(self._head, folder) if self._head else None
            self._siblings[folder] = {folded(entry.name): entry.name for entry in entries or ()}
        return self._siblings[folder]

    def _told(self, error: BaseException, importer: Importer, code: int, said: bytes) -> BaseException:
        """The error to raise for one that broke off the handing-over."""
        sweep_staged(self._layout)
        if isinstance(error, EOFError | BrokenPipeError):
            return importer.failure(self._door, code, said)
        return disk_error(self._layout.folder, error) if isinstance(error, OSError) else error


def recover(layout: Layout, door: SealedGit, objects: ObjectReader) -> tuple[str, ...]:
    """Finish, or clear away, a write that was broken off; the files left alone because edited by hand.

    Only under the store's lock, which no part of that write can hold any more. Raises: StoreError.
    """
    if not journal_path(layout).exists():
        return ()
    try:
        journal = read_journal(layout)
        head = objects.head()
        left = _bring_all(layout, objects, journal, head) if journal else ()
        remove_stray_ref_locks(layout, journal.branch if journal else door.branch())
        sweep_staged(layout)
        if journal:
            note_for_index(layout, journal.files)
            if head == journal.new:
                note_seen(layout, journal.old, journal.new)
        drop_journal(layout)
    except OSError as error:
        raise disk_error(layout.folder, error) from None
    return left


def _bring_all(layout: Layout, objects: ObjectReader, journal: Journal, head: Revision | None) -> tuple[str, ...]:
    left = []
    for path, (old, new) in journal.files.items():
        stored = objects.get(f"{head}:{path}") if head else None
        want = stored.id if stored and stored.kind == "blob" else None
        now = work_blob(layout, path)
        if now == want:
            continue
        if now not in (old, new):
            left.append(path)
        else:
            _bring(layout, objects, path, stored.data if stored and want else None)
    return tuple(left)


def _bring(layout: Layout, objects: ObjectReader, path: str, data: bytes | BlobId | None) -> None:
    """One file in the folder to what is recorded, unless it is that already."""
    if isinstance(data, str):
        stored = objects.get(data)
        if stored is None:
            raise OSError(f"the content of {path} is not in the store")
        data = stored.data
    if data is None:
        remove_file(layout, path)
    elif work_blob(layout, path) != blob_id_of(data):
        put_file(layout, path, data)


def _check_machines(change: Change) -> None:
    machines = {machine for machine in map(machine_of, change.files) if machine}
    if len(machines) > 1:
        raise TouchesTooMuch(tuple(sorted(machines)))
