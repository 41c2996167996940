"""Where snapshots live: a git repository, its lock, journal, history and disposable cache.

Knows paths, bytes and revisions, not profiles.
"""

from profilekeeper.store.names import check_name, check_path, machine_of
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

__all__ = [
    "MACHINE_TRAILER",
    "MERGE_AUTHOR",
    "Author",
    "BlobId",
    "Change",
    "Changed",
    "Entry",
    "Revision",
    "Store",
    "WorkState",
    "check_name",
    "check_path",
    "machine_of",
]
