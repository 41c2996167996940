"""Housekeeping that changes nothing anyone can see: fewer files, quicker walks."""

from __future__ import annotations

import time
from contextlib import suppress

from profilekeeper.store.git import Layout
from profilekeeper.store.lock import PATIENCE_S, store_lock
from profilekeeper.store.store import Store

__all__ = ["loose_objects", "tidy", "wants_tidying"]

_MANY_LOOSE = 5000  # a thousand snapshots; git's own housekeeping begins at 6,700 (git-config(1), gc.auto)
_ABANDONED_AFTER_S = 3600.0


def wants_tidying(store: Store) -> bool:
    """Whether so many single objects have gathered that packing them is worth a second."""
    return loose_objects(store.parts[0]) > _MANY_LOOSE


def tidy(store: Store, *, patience_s: float = PATIENCE_S) -> None:
    """Pack the objects, and index the history for walks. Raises: StoreBusy, DiskFull, GitFailed."""
    layout, door, _ = store.parts
    with store_lock(layout, patience_s) as keep_open:
        _sweep_abandoned(layout)
        door.run("repack", "-d", "-q", keep_open=keep_open)
        door.run(
            "commit-graph", "write", "--reachable", "--changed-paths", "--split", "--no-progress", keep_open=keep_open
        )


def loose_objects(layout: Layout) -> int:
    """About how many single objects there are: ids are evenly spread, so one folder of 256 is counted."""
    sample = layout.git_dir / "objects" / "17"
    return 256 * sum(1 for _ in sample.iterdir()) if sample.is_dir() else 0


def _sweep_abandoned(layout: Layout) -> None:
    """Remove what killed git processes had begun to write, an hour later."""
    objects = layout.git_dir / "objects"
    for left in (*objects.glob("pack/tmp_*"), *objects.glob("??/tmp_obj_*")):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > _ABANDONED_AFTER_S:
                left.unlink()
