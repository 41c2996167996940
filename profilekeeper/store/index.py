"""Keeping git's index up to date, so that plain git tools see a clean folder.

The store itself never reads the index. Bringing it up to date costs time in proportion to the fleet, so
a write only notes which files moved, and `settle` does it for all of them at once: when a store is
closed, or when a long-lived program has a quiet moment.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from profilekeeper.store.failpoints import reach
from profilekeeper.store.git import Layout, SealedGit
from profilekeeper.store.objects import ObjectReader
from profilekeeper.store.stray import remove_stray_index_lock

__all__ = ["has_notes", "note_for_index", "settle_index"]


def note_for_index(layout: Layout, paths: Iterable[str]) -> None:
    """Remember files that the index has not caught up with yet. Raises: OSError."""
    with open(_todo(layout), "ab") as todo:
        todo.write(b"".join(path.encode() + b"\0" for path in paths))


def has_notes(layout: Layout) -> bool:
    """Whether the index lags behind."""
    return _todo(layout).exists()


def settle_index(layout: Layout, door: SealedGit, objects: ObjectReader, keep_open: Sequence[int]) -> bool:
    """Bring the index up to date; False if another program holds it. Only under the store's lock.

    Best effort by design: nothing recorded depends on it, and what is left is done the next time.
    """
    todo, running = _todo(layout), layout.own / "index-running"
    try:
        if running.exists():
            if not remove_stray_index_lock(layout, os.lstat(running).st_mtime):
                return False
            running.unlink(missing_ok=True)
        if not todo.exists():
            return True
        if (layout.git_dir / "index.lock").exists():
            return False
        paths = dict.fromkeys(part for part in todo.read_bytes().decode().split("\0") if part)
        running.touch()
        reach("before-index")
        data = _index_lines(objects, list(paths))
        code, _, _ = door.attempt("update-index", "-z", "--index-info", data=data, keep_open=keep_open)
        reach("after-index")
        running.unlink(missing_ok=True)
        if code == 0:
            todo.unlink(missing_ok=True)
        return code == 0
    except OSError:
        return False


def _todo(layout: Layout) -> Path:
    return layout.own / "index-todo"


def _index_lines(objects: ObjectReader, paths: list[str]) -> bytes:
    """What the latest snapshot holds of each path, in the form update-index reads; mode 0 takes it out."""
    lines = []
    for path, stored in zip(paths, objects.get_many(f"HEAD:{path}" for path in paths), strict=True):
        here = stored is not None and stored.kind == "blob"
        lines.append(f"100644 {stored.id}\t{path}\0" if stored and here else f"0 {'0' * 40}\t{path}\0")
    return "".join(lines).encode()
