"""The files people see: read, written whole or not at all, never through a link.

A new content is staged inside the git folder, made durable, and moved over the old file in one step;
the old file's mode is kept. A file that lies behind a link, or is one, counts as edited by hand.
"""

from __future__ import annotations

import os
import stat
import sys
import time
from collections.abc import Iterable
from pathlib import Path

from profilekeeper.store.failpoints import reach
from profilekeeper.store.git import Layout
from profilekeeper.store.objects import blob_id_of
from profilekeeper.store.records import BlobId

__all__ = [
    "NOT_A_PLAIN_FILE",
    "keep_copy",
    "put_file",
    "read_file",
    "remove_file",
    "sweep_staged",
    "sync",
    "sync_folder",
    "work_blob",
    "write_all",
]

NOT_A_PLAIN_FILE = "not a plain file"
"""Stands for the blob id of a link, a folder or a device: it equals no id."""

_STAGED = "staged-"
_WINDOWS_PATIENCE_S = 1.0  # virus scanners and editors hold a file open for moments; a second is enough


def work_blob(layout: Layout, path: str) -> BlobId | None:
    """The id of what the file in the folder holds now; None if it is not there."""
    data = read_file(layout, path)
    return data if data is None or isinstance(data, str) else blob_id_of(data)


def read_file(layout: Layout, path: str) -> bytes | str | None:
    """The bytes of a file in the folder; None if there is none, `NOT_A_PLAIN_FILE` for anything else."""
    if _linked_parent(layout, path):
        return NOT_A_PLAIN_FILE
    target = layout.folder / path
    try:
        if not stat.S_ISREG(os.lstat(target).st_mode):
            return NOT_A_PLAIN_FILE
        return target.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None


def put_file(layout: Layout, path: str, data: bytes) -> None:
    """Bring the file in the folder to these bytes, durably. Raises: OSError."""
    target = layout.folder / path
    _make_parents(layout, path)
    staged = layout.own / f"{_STAGED}{os.getpid()}-{target.name[:40]}"
    try:
        _write_durably(staged, data, _mode_of(target))
        reach("after-stage")
        _replace(staged, target)
    except BaseException:
        staged.unlink(missing_ok=True)
        raise
    reach("after-replace")
    sync_folder(target.parent)


def remove_file(layout: Layout, path: str) -> None:
    """Take the file out of the folder, and folders that are empty then. Raises: OSError."""
    target = layout.folder / path
    if _linked_parent(layout, path):
        raise OSError(f"{path} lies behind a link")
    target.unlink(missing_ok=True)
    for parent in target.parents:
        if parent == layout.folder:
            break
        try:
            parent.rmdir()
        except OSError:  # not empty, or in use: it may stay
            break


def keep_copy(layout: Layout, path: str, data: bytes) -> Path:
    """A copy of what a hand-edited file held."""
    kept = layout.own / "kept" / f"{blob_id_of(data)[:12]}-{path.replace('/', '-')[-100:]}"
    kept.parent.mkdir(exist_ok=True)
    kept.write_bytes(data)
    return kept


def sweep_staged(layout: Layout) -> None:
    """Remove what a killed writer had staged. Only under the store's lock."""
    for left in layout.own.glob(f"{_STAGED}*"):
        left.unlink(missing_ok=True)
    for report in layout.git_dir.glob("fast_import_crash_*"):
        report.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable, where the system can do that."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        sync(descriptor)
    finally:
        os.close(descriptor)


def sync(descriptor: int) -> None:
    """Have the disk itself keep what was written; macOS needs more than fsync for that (fsync(2) there)."""
    if sys.platform == "darwin":
        import fcntl

        fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
    else:
        os.fsync(descriptor)


def write_all(descriptor: int, data: bytes) -> None:
    """All the bytes, or an OSError: a full disk may take only some of them at first."""
    view = memoryview(data)
    while view:
        view = view[os.write(descriptor, view) :]


def _write_durably(path: Path, data: bytes, mode: int) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    descriptor = os.open(path, flags, mode)
    try:
        write_all(descriptor, data)
        if os.name != "nt" and stat.S_IMODE(os.fstat(descriptor).st_mode) != mode and mode != 0o666:
            os.fchmod(descriptor, mode)
        sync(descriptor)
    finally:
        os.close(descriptor)


def _mode_of(target: Path) -> int:
    """The mode of the file to be replaced; for a new one what the user's mask leaves of 0666."""
    try:
        return stat.S_IMODE(os.lstat(target).st_mode)
    except FileNotFoundError:
        return 0o666


def _replace(staged: Path, target: Path) -> None:
    end = time.monotonic() + _WINDOWS_PATIENCE_S
    while True:
        try:
            os.replace(staged, target)
            return
        except PermissionError:
            if os.name != "nt" or time.monotonic() > end:
                raise
            time.sleep(0.02)


def _make_parents(layout: Layout, path: str) -> None:
    """The folders down to the file; a new one's name is made durable in its parent."""
    if _linked_parent(layout, path):
        raise OSError(f"{path} lies behind a link")
    folder = layout.folder
    for part in _parents(path):
        parent, folder = folder, folder / part
        try:
            folder.mkdir()
        except FileExistsError:
            continue
        sync_folder(parent)


def _linked_parent(layout: Layout, path: str) -> bool:
    """Whether a folder on the way to the file is a link, or no folder at all."""
    folder = layout.folder
    for part in _parents(path):
        folder = folder / part
        try:
            if not stat.S_ISDIR(os.lstat(folder).st_mode):
                return True
        except FileNotFoundError:
            return False
    return False


def _parents(path: str) -> Iterable[str]:
    return path.split("/")[:-1]
