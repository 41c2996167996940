"""The only door to the program git, sealed: it obeys nothing but what we say.

No shell, no configuration of the user or of the system, no hooks, no prompts, no home folder, no
variable of the caller's environment that git reads, and only commands that start no program which a
repository could name (filters, text converters, drivers, helpers). Files in the folder are never read
or written by git: `files.py` does that. Talking to other computers needs the user's own configuration
and is another door, which must not share anything with this one.
"""

from __future__ import annotations

import errno
import os
import re
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from profilekeeper.errors import (
    DiskFailed,
    DiskFull,
    GitFailed,
    GitMissing,
    GitTooOld,
    StoreBusy,
    StoreError,
    StoreMoved,
    StoreReadOnly,
)

__all__ = [
    "OLDEST_GIT",
    "SEALED_COMMANDS",
    "Layout",
    "SealedGit",
    "config_list",
    "disk_error",
    "program",
    "require_git",
    "version",
]

OLDEST_GIT = (2, 34)
"""Older ones do not know GIT_CONFIG_GLOBAL (2.32) or the merge output wanted here; from 2.36 on
`core.fsync` makes every kind of write durable, before that `core.fsyncObjectFiles` does for objects."""

SEALED_COMMANDS = frozenset(
    [
        "bundle",
        "cat-file",
        "clone",
        "commit-graph",
        "commit-tree",
        "config",
        "diff-tree",
        "fast-import",
        "fetch",
        "for-each-ref",
        "fsck",
        "hash-object",
        "log",
        "ls-tree",
        "merge-base",
        "read-tree",
        "repack",
        "rev-list",
        "update-index",
        "update-ref",
        "version",
    ]
)
"""Measured to run nothing of the repository's, with the options used here."""

_OPTIONS = (
    "-c", "core.fsync=all",
    "-c", "core.fsyncObjectFiles=true",
    "-c", f"core.hooksPath={os.devnull}",
    "-c", f"core.attributesFile={os.devnull}",
    "-c", "core.fsmonitor=false",
    "-c", "core.filesRefLockTimeout=1000",
    "-c", "protocol.allow=never",
    "-c", "protocol.file.allow=always",
    "-c", "gc.auto=0",
    "-c", "maintenance.auto=false",
)  # fmt: skip

_KEPT_VARIABLES = ("PATH", "TMPDIR", "TEMP", "TMP", "SYSTEMROOT", "WINDIR", "COMSPEC", "LD_LIBRARY_PATH")
_NOISE = "core.fsyncObjectFiles is deprecated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where the parts of a store lie: the folder people see, git's folder, and our own part of that."""

    folder: Path
    git_dir: Path
    own: Path

    @classmethod
    def of(cls, folder: Path) -> Layout:
        """The layout of the store whose root is `folder`, whether or not it is there yet."""
        git_dir = folder / ".git"
        return cls(folder=folder, git_dir=git_dir, own=git_dir / "profilekeeper")


class SealedGit:
    """Runs git on one store. `Raises` of every method: a StoreError that names what went wrong."""

    __slots__ = ("_prefix", "layout")

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._prefix = (*_OPTIONS, f"--git-dir={layout.git_dir}")

    def run(self, *arguments: str, data: bytes | None = None, keep_open: Sequence[int] = ()) -> bytes:
        """What the command prints. `data` is its input; descriptors in `keep_open` stay open in it."""
        code, out, err = self.attempt(*arguments, data=data, keep_open=keep_open)
        if code:
            raise self.failure(arguments[0], code, err)
        return out

    def attempt(
        self, *arguments: str, data: bytes | None = None, keep_open: Sequence[int] = ()
    ) -> tuple[int, bytes, bytes]:
        """Exit code, output and complaints of a command whose failing is an answer."""
        process = self.start(*arguments, keep_open=keep_open)
        out, err = process.communicate(data)
        return process.returncode, out, err

    def start(
        self, *arguments: str, keep_open: Sequence[int] = (), stderr: int = subprocess.PIPE
    ) -> subprocess.Popen[bytes]:
        """The running command, with pipes to and from it."""
        if arguments[0] not in SEALED_COMMANDS:
            raise ValueError(f"{arguments[0]} is not a command of the sealed door")
        return _popen([program(), *self._prefix, *arguments], self.layout.folder, keep_open, stderr)

    def stream(self, *arguments: str) -> Iterator[bytes]:
        """The output of a command, split at NULs, without ever holding all of it."""
        with self.start(*arguments) as process:
            assert process.stdout is not None
            assert process.stderr is not None
            assert process.stdin is not None
            process.stdin.close()
            rest = b""
            try:
                while chunk := process.stdout.read1(1 << 16):  # type: ignore[attr-defined]  # a BufferedReader
                    *whole, rest = (rest + chunk).split(b"\0")
                    yield from whole
            except GeneratorExit:
                process.kill()
                raise
            said = process.stderr.read()  # a few lines at most, so the pipe never fills up meanwhile
        if process.returncode:
            raise self.failure(arguments[0], process.returncode, said)
        if rest:
            yield rest

    def branch(self) -> str:
        """The name of the branch new snapshots go to (`refs/heads/main`)."""
        try:
            text = (self.layout.git_dir / "HEAD").read_text("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise DiskFailed(str(self.layout.git_dir / "HEAD"), str(error)) from None
        name = text.removesuffix("\n").removeprefix("ref: ")
        if not text.startswith("ref: refs/heads/") or not name.isprintable() or ".." in name or " " in name:
            raise StoreMoved(
                f"{self.layout.folder} stands at a single old snapshot instead of at the head of its history"
            )
        return name

    def failure(self, command: str, code: int, stderr: bytes) -> StoreError:
        """The error that fits what git said; also looks whether git is simply too old."""
        lines = stderr.decode("utf-8", "replace").splitlines()
        said = "\n".join(line for line in lines if _NOISE not in line and line.strip())
        folder = str(self.layout.folder)
        if any(words in said for words in ("No space left", "Disk quota exceeded", "Out of diskspace")):
            return DiskFull(folder)
        if "Read-only file system" in said or "Permission denied" in said or "insufficient permission" in said:
            return StoreReadOnly(folder)
        held = re.search(r"'([^']*\.lock)': File exists", said)
        if held:
            mend = "if no other program is at work in it, delete that file"
            return StoreBusy(folder, f"{held.group(1)} exists", mend)
        if "Not updating refs/" in said or "but expected" in said:
            return StoreMoved("another snapshot was recorded at the same moment")
        found = version()
        if found < OLDEST_GIT:
            return GitTooOld(_dotted(found), _dotted(OLDEST_GIT))
        return GitFailed(command, code, said)


def disk_error(folder: Path, error: OSError) -> StoreError:
    """The error that fits a system call which failed on the store's own files."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return DiskFull(str(folder))
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return StoreReadOnly(str(folder))
    return DiskFailed(str(error.filename or folder), error.strerror or str(error))


def program() -> str:
    """The full path of git. Raises: GitMissing."""
    found = _search(os.environ.get("PATH", os.defpath))
    if not found:
        raise GitMissing
    return found


def require_git() -> None:
    """Nothing, if git is there and new enough. Raises: GitMissing, GitTooOld."""
    found = version()
    if found < OLDEST_GIT:
        raise GitTooOld(_dotted(found), _dotted(OLDEST_GIT))


def version() -> tuple[int, ...]:
    """The version of git, as numbers. Raises: GitMissing."""
    return _version_of(program())


def config_list(path: Path) -> bytes:
    """The raw `key NEWLINE value NUL` list of one configuration file; what it includes is not read."""
    root = Path(path.absolute().anchor)
    arguments = [program(), "config", "--file", str(path), "--no-includes", "--list", "-z"]
    process = _popen(arguments, root, (), subprocess.PIPE)
    out, err = process.communicate()
    if process.returncode:
        raise GitFailed("config", process.returncode, err.decode("utf-8", "replace"))
    return out


@lru_cache(maxsize=4)
def _search(path: str) -> str:
    """The first git among absolute folders only: never one that lies in the folder being worked in."""
    name = "git.exe" if os.name == "nt" else "git"
    for folder in path.split(os.pathsep):
        candidate = os.path.join(folder, name)
        if os.path.isabs(folder) and os.path.isfile(candidate) and os.access(candidate, os.X_OK):
            return candidate
    return ""


@lru_cache(maxsize=4)
def _version_of(git: str) -> tuple[int, ...]:
    out, _ = _popen([git, "version"], Path(Path(git).anchor), (), subprocess.PIPE).communicate()
    found = re.search(rb"(\d+)\.(\d+)(?:\.(\d+))?", out)
    return tuple(int(part) for part in found.groups() if part) if found else (0,)


def _dotted(numbers: tuple[int, ...]) -> str:
    return ".".join(str(number) for number in numbers)


def _environment() -> Mapping[str, str]:
    """Everything git may know of its surroundings."""
    kept = {name: os.environ[name] for name in _KEPT_VARIABLES if name in os.environ}
    return {
        **kept,
        "LC_ALL": "C",
        "HOME": os.devnull,
        "XDG_CONFIG_HOME": os.devnull,
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_ATTR_NOSYSTEM": "1",
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_ASKPASS": "",
        "GIT_NO_REPLACE_OBJECTS": "1",
        "GIT_NO_LAZY_FETCH": "1",
        "GIT_GRAFT_FILE": os.devnull,
        "GIT_OPTIONAL_LOCKS": "0",
        # the reference log wants a name; it says which program moved the branch, not which person
        "GIT_COMMITTER_NAME": "profilekeeper",
        "GIT_COMMITTER_EMAIL": "profilekeeper@localhost",
        "GIT_AUTHOR_NAME": "profilekeeper",
        "GIT_AUTHOR_EMAIL": "profilekeeper@localhost",
    }


def _popen(arguments: list[str], folder: Path, keep_open: Sequence[int], stderr: int) -> subprocess.Popen[bytes]:
    try:
        return subprocess.Popen(
            arguments,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=stderr,
            cwd=folder,
            env=dict(_environment()),
            pass_fds=tuple(keep_open),
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except FileNotFoundError:
        if folder.is_dir():
            raise GitMissing from None
        raise DiskFailed(str(folder), "the folder is gone") from None
    except OSError as error:
        raise disk_error(folder, error) from None
