"""One writer at a time.

The lock is the system's own (`flock`) on one file in the store's git folder: it is freed the moment the
last process that holds it is gone, however that ended, and a git process started for the write holds it
too, so nobody steps in while an orphan of a killed writer still runs. Where the system has no `flock`,
the package filelock takes its place; importing that costs several times what a whole write does, so it
is not used where it need not be. Both exclude each other.

Not reliable on network shares (NFS, SMB): there two computers may both believe that they hold it. What
then still holds is git's own check that history only grows; the loser is told so (StoreMoved).
"""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from profilekeeper.errors import StoreBusy
from profilekeeper.store.git import Layout, disk_error

try:
    import fcntl
except ImportError:  # not a POSIX system
    fcntl = None  # type: ignore[assignment]

__all__ = ["PATIENCE_S", "store_lock"]

PATIENCE_S = 30.0
"""How long a writer waits for another one: a snapshot takes milliseconds, a long import some seconds."""

_HELD_ELSEWHERE = (errno.EAGAIN, errno.EACCES)
_NO_FLOCK = (errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOLCK, errno.EINVAL)


@contextmanager
def store_lock(layout: Layout, patience_s: float = PATIENCE_S) -> Iterator[tuple[int, ...]]:
    """Hold the store's lock; gives the descriptors which a child process must inherit to hold it too.

    Raises: StoreBusy, StoreReadOnly, DiskFull.
    """
    path = layout.own / "lock"
    try:
        layout.own.mkdir(exist_ok=True)
        take = _flock(path, patience_s) if fcntl else None
    except TimeoutError:
        raise StoreBusy(str(layout.folder), f"another program was still writing after {patience_s:g} s") from None
    except OSError as error:
        if error.errno not in _NO_FLOCK:
            raise disk_error(layout.folder, error) from None
        take = None
    if take is None:
        take = _filelock(layout, path, patience_s)
    descriptors, release = take
    try:
        yield descriptors
    finally:
        release()


def _flock(path: Path, patience_s: float) -> tuple[tuple[int, ...], Callable[[], None]]:
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o666)
    try:
        _wait_for(descriptor, patience_s)
    except BaseException:
        os.close(descriptor)
        raise
    return (descriptor,), lambda: os.close(descriptor)


def _wait_for(descriptor: int, patience_s: float) -> None:
    """Ask again in growing steps up to 20 ms: long enough to cost nothing, too short to be noticed."""
    end = time.monotonic() + patience_s
    pause_s = 0.001
    while True:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except OSError as error:
            if error.errno not in _HELD_ELSEWHERE:
                raise
        if time.monotonic() >= end:
            raise TimeoutError
        time.sleep(pause_s)
        pause_s = min(pause_s * 2, 0.02)


def _filelock(layout: Layout, path: Path, patience_s: float) -> tuple[tuple[int, ...], Callable[[], None]]:
    import filelock

    lock = filelock.FileLock(path, timeout=patience_s)
    try:
        lock.acquire(poll_interval=0.02)
    except filelock.Timeout:
        raise StoreBusy(str(layout.folder), f"another program was still writing after {patience_s:g} s") from None
    except OSError as error:
        raise disk_error(layout.folder, error) from None
    return (), lock.release
