"""How a store begins: nothing of a person's is overwritten, and a beginning that fails leaves nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from profilekeeper.errors import FileBehind, StoreExists
from profilekeeper.store.files import read_file, sync_folder
from profilekeeper.store.git import Layout, disk_error, require_git
from profilekeeper.store.guard import OUR_CONFIG, STORE_FILE
from profilekeeper.store.names import check_path

__all__ = ["begin"]


def begin(layout: Layout, files: Mapping[str, bytes], record: Callable[[], object]) -> None:
    """Lay out the git folder and `record` the first snapshot; if that fails, take the git folder away.

    Raises: StoreExists, GitMissing, GitTooOld, StoreReadOnly, DiskFull, and what `record` raises.
    """
    require_git()
    if STORE_FILE not in files:
        raise ValueError(f"a store starts with its {STORE_FILE}")
    _refuse_what_is_there(layout, files)
    try:
        layout.folder.mkdir(parents=True, exist_ok=True)
        layout.git_dir.mkdir()
    except OSError as error:
        raise disk_error(layout.folder, error) from None
    try:
        _lay_out(layout)
        record()
    except FileBehind:
        raise
    except BaseException as error:
        import shutil

        shutil.rmtree(layout.git_dir, ignore_errors=True)  # made just now, and holds no snapshot
        raise (disk_error(layout.folder, error) if isinstance(error, OSError) else error) from None


def _refuse_what_is_there(layout: Layout, files: Mapping[str, bytes]) -> None:
    if layout.git_dir.exists() or layout.git_dir.is_symlink():
        raise StoreExists(str(layout.folder), "a store or other git repository")
    for path, data in files.items():
        if read_file(layout, check_path(path)) not in (None, data):
            raise StoreExists(str(layout.folder), path)


def _lay_out(layout: Layout) -> None:
    """A git folder without a snapshot, as gitrepository-layout(5) describes it."""
    for part in ("objects/info", "objects/pack", "refs/heads", "refs/tags", "info", "profilekeeper"):
        (layout.git_dir / part).mkdir(parents=True, exist_ok=True)
    (layout.git_dir / "config").write_bytes(OUR_CONFIG)
    (layout.git_dir / "HEAD").write_bytes(b"ref: refs/heads/main\n")
    sync_folder(layout.git_dir)
    sync_folder(layout.folder)
