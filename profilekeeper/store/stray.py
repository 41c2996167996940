"""Locks of git that outlive the git that made them, and when one may be removed.

A killed git leaves `.lock` files that stop every later one. They may go only if they are certainly
nobody's: under the store's lock (which git processes of ours inherit, so none of them is alive), after a
write of ours was broken off, and if the file has stayed the same for a second; git itself holds such
a lock for milliseconds.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from profilekeeper.store.git import Layout

__all__ = ["remove_stray_index_lock", "remove_stray_ref_locks", "stray_locks"]

_STALE_AFTER_S = 1.0


def remove_stray_ref_locks(layout: Layout, branch: str) -> None:
    """Remove the locks a broken-off write left on the branch, waiting up to a second for live ones."""
    for name in ("HEAD.lock", f"{branch}.lock"):
        _remove_when_stale(layout.git_dir / name)


def remove_stray_index_lock(layout: Layout, since: float) -> bool:
    """Remove index.lock if our broken-off update made it (at most 5 s after `since`); whether it is gone."""
    lock = layout.git_dir / "index.lock"
    stamp = _stamp(lock)
    if stamp is None:
        return True
    if not -1.0 <= stamp[1] / 1e9 - since <= 5.0:
        return False
    _remove_when_stale(lock)
    return _stamp(lock) is None


def stray_locks(layout: Layout) -> tuple[str, ...]:
    """Every lock file of git that lies in the store now, relative to its git folder."""
    found = [layout.git_dir / name for name in ("HEAD.lock", "index.lock", "packed-refs.lock", "config.lock")]
    found += sorted((layout.git_dir / "refs").rglob("*.lock"))
    return tuple(path.relative_to(layout.git_dir).as_posix() for path in found if path.exists())


def _remove_when_stale(lock: Path) -> None:
    first = _stamp(lock)
    if first is None:
        return
    age_s = time.time() - first[1] / 1e9
    if 0 <= age_s < _STALE_AFTER_S:
        time.sleep(_STALE_AFTER_S - age_s)
    if _stamp(lock) == first:
        lock.unlink(missing_ok=True)


def _stamp(lock: Path) -> tuple[int, int] | None:
    try:
        found = os.lstat(lock)
    except FileNotFoundError:
        return None
    return found.st_ino, found.st_mtime_ns
