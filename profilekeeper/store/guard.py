"""Looking at a folder before anything of git runs in it: is it a store, and a harmless one?

A git repository can name programs, other folders and other computers in its set-up. A store needs none
of that, so only keys that merely switch or describe are let through; everything else is refused by name.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

from profilekeeper.errors import GitFailed, NotAStore, UnsafeStore
from profilekeeper.store.git import Layout, config_list, disk_error

__all__ = ["OUR_CONFIG", "STORE_FILE", "find_root", "inspect"]

STORE_FILE = "store.yaml"

OUR_CONFIG = b"""[core]
\trepositoryformatversion = 0
\tfilemode = false
\tbare = false
\tlogallrefupdates = true
\tautocrlf = false
\tsymlinks = false
[gc]
\tauto = 0
"""
"""What `start` writes: found again byte for byte, it need not be asked of git what it says."""

_HARMLESS = (
    r"core\.(filemode|logallrefupdates|ignorecase|precomposeunicode|symlinks|autocrlf|safecrlf|eol|longpaths"
    r"|protectntfs|protecthfs|fsync|fsyncmethod|fsyncobjectfiles|compression|loosecompression|bigfilethreshold"
    r"|sharedrepository|trustctime|checkstat|quotepath|abbrev|preloadindex|untrackedcache|commitgraph"
    r"|multipackindex|deltabasecachelimit|packedgitlimit|packedgitwindowsize|whitespace|commentchar)"
    r"|user\.(name|email|useconfigonly)|author\.(name|email)|committer\.(name|email)"
    r"|(gc|pack|repack|index|transfer|receive|color(\..*)?|advice|init|push|pull|fetch|merge|rebase|status"
    r"|commitgraph|feature|maintenance(\..*)?|i18n)\.[a-z]+"
    r"|branch\..*\.(remote|merge|rebase|description|pushremote)"
    r"|remote\..*\.(url|pushurl|fetch|push|prune|prunetags|tagopt|skipdefaultupdate|skipfetchall|mirror)"
    r"|remote\.pushdefault"
)
_NEVER = (r"gc\.recentobjectshook|pack\.packsizelimit|merge\.(tool|guitool)|index\.sparse|init\.templatedir"
                    r"|receive\.(procreceiverefs|certnonceseed)|push\.gpgsign")  # fmt: skip
_FIXED = {"core.repositoryformatversion": ("0", "1"), "core.bare": ("false",), "extensions.objectformat": ("sha1",)}

_FOREIGN_PARTS = {
    "commondir": "its history lies in another folder",
    "config.worktree": "it carries a second set-up (config.worktree)",
    "objects/info/alternates": "it borrows its history from another folder (alternates)",
    "objects/info/http-alternates": "it borrows its history from another computer (http-alternates)",
    "shallow": "it holds only the newest part of its history",
}
_OWN_PARTS = ("", "HEAD", "config", "objects", "objects/pack", "objects/info", "refs", "refs/heads", "info", "index",
              "packed-refs", "logs", "logs/HEAD", "logs/refs", "profilekeeper")  # fmt: skip


def inspect(folder: Path) -> Layout:
    """The layout of the store at `folder`. Raises: NotAStore; UnsafeStore, naming what is refused."""
    layout = Layout.of(folder)
    try:
        _check_parts(layout)
        _check_config(layout)
    except OSError as error:
        raise disk_error(folder, error) from None
    return layout


def find_root(folder: Path) -> Path:
    """The nearest folder upwards, itself included, that holds a `store.yaml` beside a git folder.

    Raises: NotAStore.
    """
    start = folder.absolute()
    for candidate in (start, *start.parents):
        if (candidate / STORE_FILE).is_file() and (candidate / ".git").exists():
            return candidate
    raise NotAStore(str(folder), "neither it nor a folder above it is a store", "name a store's folder, or start one")


def _check_parts(layout: Layout) -> None:
    """Everything that must be a plain file or folder is one, and nothing points elsewhere."""
    for part in _OWN_PARTS:
        mode = _mode(layout.git_dir / part)
        if mode is None and part in ("", "HEAD", "config", "objects", "refs"):
            raise NotAStore(str(layout.folder), "no store is there", "name a store's folder, or start one")
        if mode is not None and stat.S_ISLNK(mode):
            raise UnsafeStore(str(layout.folder), f".git/{part} is a link to somewhere else".replace("/ ", " "))
        if part == "" and mode is not None and not stat.S_ISDIR(mode):
            raise UnsafeStore(str(layout.folder), "its .git is a file that points to another folder")
    for part, why in _FOREIGN_PARTS.items():
        if _mode(layout.git_dir / part) is not None:
            raise UnsafeStore(str(layout.folder), why)


def _check_config(layout: Layout) -> None:
    path = layout.git_dir / "config"
    if path.read_bytes() == OUR_CONFIG:
        return
    try:
        listed = config_list(path).decode("utf-8", "replace")
    except GitFailed as error:
        raise UnsafeStore(str(layout.folder), f"its .git/config cannot be read ({error.stderr.strip()})") from None
    for line in listed.split("\0"):
        key, _, value = line.partition("\n")
        if key and not _is_harmless(key, value):
            mend = f"remove {key} from its .git/config, if you know why it is there"
            raise UnsafeStore(str(layout.folder), f"its .git/config sets {key}", mend)


def _is_harmless(key: str, value: str) -> bool:
    if key in _FIXED:
        return value.lower() in _FIXED[key]
    if re.fullmatch(_NEVER, key):
        return False
    if key.startswith("remote.") and key.endswith("url"):
        return "::" not in value and not value.startswith("-")
    return bool(re.fullmatch(_HARMLESS, key, re.DOTALL))


def _mode(path: Path) -> int | None:
    try:
        return os.lstat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
