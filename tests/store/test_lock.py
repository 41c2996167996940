"""One writer at a time, by the system's lock and by filelock alike."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import filelock
import pytest

from profilekeeper.errors import StoreBusy
from profilekeeper.store import Change, Store
from profilekeeper.store import lock as lock_module
from profilekeeper.store.lock import store_lock

HOLD = """
import fcntl, sys, time
lock = open(sys.argv[1], "a")
fcntl.flock(lock, fcntl.LOCK_EX)
print("held", flush=True)
time.sleep(60)
"""


def test_a_writer_waits_and_then_says_the_store_is_busy(store: Store, change: Callable[..., Change]) -> None:
    with store_lock(store.parts[0]):
        began = time.monotonic()
        with pytest.raises(StoreBusy, match="is busy"):
            store.write(change(), patience_s=0.2)
        assert 0.2 <= time.monotonic() - began < 2


def test_reading_does_not_wait(store: Store) -> None:
    with store_lock(store.parts[0]), Store.open(store.folder) as other:
        assert other.read("store.yaml") == b"id: 7f3a\n"


def test_filelock_and_ours_exclude_each_other(store: Store, change: Callable[..., Change]) -> None:
    path = store.parts[0].own / "lock"
    with filelock.FileLock(path), pytest.raises(StoreBusy):
        store.write(change(), patience_s=0.1)
    with store_lock(store.parts[0]), pytest.raises(filelock.Timeout):
        filelock.FileLock(path, timeout=0.1).acquire()


def test_without_flock_filelock_takes_its_place(
    store: Store, change: Callable[..., Change], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lock_module, "fcntl", None)

    revision = store.write(change())
    with store_lock(store.parts[0]), pytest.raises(StoreBusy):
        store.write(change(b"2\n"), patience_s=0.1)

    assert store.head == revision


@pytest.mark.skipif(os.name == "nt", reason="uses flock")
def test_the_lock_of_a_killed_process_is_free_at_once(store: Store, change: Callable[..., Change]) -> None:
    path = store.parts[0].own / "lock"
    with subprocess.Popen([sys.executable, "-c", HOLD, str(path)], stdout=subprocess.PIPE) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(StoreBusy):
            store.write(change(), patience_s=0.1)
        holder.kill()
        holder.wait()

    store.write(change(), patience_s=0.1)


def test_nothing_slow_is_imported_for_a_write(tmp_path: Path) -> None:
    code = (
        "import sys; from datetime import UTC, datetime; from profilekeeper.store import *\n"
        "a = Author(name='a', email='b')\n"
        "Store.start(sys.argv[1], {'store.yaml': b''}, message='m', author=a, at=datetime.now(UTC)).close()\n"
        "print({'filelock', 'asyncio', 'sqlite3', 'git', 'tempfile'} & set(sys.modules))"
    )
    root = str(Path(__file__).parents[2])
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "f")],
        env={**os.environ, "PYTHONPATH": root}, capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert done.stdout.strip() == "set()"
