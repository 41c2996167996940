"""Where snapshots live: a git repository, its lock, journal, history and disposable cache.

Knows paths, bytes and revisions, not profiles.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from profilekeeper.store.names import check_name, check_path, machine_of
from profilekeeper.store.objects import blob_id_of
from profilekeeper.store.records import (
    MACHINE_TRAILER,
    Author,
    BlobId,
    Change,
    Changed,
    Entry,
    Revision,
    WorkState,
)
from profilekeeper.store.store import MERGE_AUTHOR, Store

if TYPE_CHECKING:
    from profilekeeper.store.housekeeping import tidy, wants_tidying
    from profilekeeper.store.integrity import KINDS, Trouble, check_integrity

__all__ = [
    "KINDS",
    "MACHINE_TRAILER",
    "MERGE_AUTHOR",
    "Author",
    "BlobId",
    "Change",
    "Changed",
    "Entry",
    "Revision",
    "Store",
    "Trouble",
    "WorkState",
    "blob_id_of",
    "check_integrity",
    "check_name",
    "check_path",
    "machine_of",
    "tidy",
    "wants_tidying",
]

_SELDOM = {
    "KINDS": "integrity",
    "Trouble": "integrity",
    "check_integrity": "integrity",
    "tidy": "housekeeping",
    "wants_tidying": "housekeeping",
}


def __getattr__(name: str) -> object:
    """What few commands need, imported by the first who asks."""
    if name in _SELDOM:
        return getattr(import_module(f"profilekeeper.store.{_SELDOM[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
