"""Git's index follows, and a lock on it that a killed update left does not stay for ever."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

from profilekeeper.store import Change, Store

PROFILE = "quayside/saw-2/profile.yaml"


def leave_lock(store: Store, seconds_later: float) -> Path:
    """As an update leaves it that was killed; or another program that began some time later."""
    lock = store.folder / ".git/index.lock"
    lock.touch()
    (store.parts[0].own / "index-running").touch()
    began = time.time() - 60
    os.utime(store.parts[0].own / "index-running", (began, began))
    os.utime(lock, (began + seconds_later,) * 2)
    return lock


def test_a_lock_left_by_a_killed_update_is_removed(
    store: Store, change: Callable[..., Change], plain_git: Callable[..., str]
) -> None:
    store.write(change())
    lock = leave_lock(store, 0.1)

    assert store.settle()

    assert not lock.exists()
    assert plain_git(store.folder, "status", "--porcelain") == ""


def test_a_lock_of_another_program_stays(store: Store, change: Callable[..., Change]) -> None:
    store.write(change())
    lock = leave_lock(store, 30)

    assert not store.settle()

    assert lock.exists()
    lock.unlink()
    assert store.settle()


def test_what_a_person_staged_for_other_files_stays_staged(
    store: Store, change: Callable[..., Change], plain_git: Callable[..., str]
) -> None:
    (store.folder / "notes.txt").write_bytes(b"mine")
    store.settle()
    plain_git(store.folder, "add", "notes.txt")
    store.write(change())

    assert store.settle()

    assert plain_git(store.folder, "status", "--porcelain") == "A  notes.txt\n"
