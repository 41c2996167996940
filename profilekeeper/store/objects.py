"""Reading what is recorded: one kept `cat-file` process that answers by revision and path."""

from __future__ import annotations

import hashlib
import subprocess
import threading
import weakref
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass

from profilekeeper.errors import GitFailed
from profilekeeper.store.git import SealedGit
from profilekeeper.store.records import BlobId, Revision

__all__ = ["ObjectReader", "Stored", "TreeEntry", "blob_id_of", "differing", "list_tree"]

_BURST_BYTES = 16_000  # well below the 64 KB a pipe holds: asking never blocks while answers wait


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """One object: its id, its kind (`blob`, `tree`, `commit`, `tag`) and its bytes."""

    id: BlobId
    kind: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeEntry:
    """One name in a recorded folder; `mode` is `100644` for a file and `40000` for a folder."""

    mode: str
    name: str
    id: str


def blob_id_of(data: bytes) -> BlobId:
    """The id under which git keeps these bytes."""
    digest = hashlib.sha1(b"blob %d\0" % len(data), usedforsecurity=False)
    digest.update(data)
    return digest.hexdigest()


def list_tree(door: SealedGit, revision: Revision, prefix: str) -> dict[str, BlobId]:
    """Every file of a snapshot at or below `prefix` (`""`: all) with its blob id, sorted by path."""
    found = {}
    limits = ["--", prefix] if prefix else []
    out = door.run("ls-tree", "-r", "-z", "--full-tree", revision, *limits)
    for line in out.decode("utf-8", "surrogateescape").split("\0"):
        meta, _, path = line.partition("\t")
        if path and meta.split()[1] == "blob":
            found[path] = meta.split()[2]
    return found


def differing(now: Mapping[str, BlobId], then: Mapping[str, bytes | BlobId]) -> dict[str, bytes | BlobId | None]:
    """What has to happen to the files in the folder to get from one tree to the other."""
    changed: dict[str, bytes | BlobId | None] = {path: None for path in now if path not in then}
    for path, data in then.items():
        if now.get(path) != (blob_id_of(data) if isinstance(data, bytes) else data):
            changed[path] = data
    return changed


class ObjectReader:
    """Answers by name; started at the first question, restarted if it was killed, safe among threads."""

    __slots__ = ("__weakref__", "_door", "_finalizer", "_guard", "_process")

    def __init__(self, door: SealedGit) -> None:
        self._door = door
        self._guard = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._finalizer: weakref.finalize[..., ObjectReader] | None = None

    def start(self) -> None:
        """Start the process ahead of the first question, so that it comes up meanwhile."""
        with self._guard:
            self._running()

    def get(self, name: str) -> Stored | None:
        """The object of that name (`<revision>:<path>`, an id, `HEAD`); None if there is none."""
        return next(self.get_many([name]))

    def get_many(self, names: Iterable[str]) -> Iterator[Stored | None]:
        """The objects in the order asked for; asks in bursts, so a thousand cost one round of waiting."""
        burst: list[bytes] = []
        size = 0
        for name in names:
            line = name.encode("utf-8", "surrogateescape")
            if b"\n" in line or b"\0" in line:
                raise ValueError("a name with a line break cannot be asked for")
            burst.append(line)
            size += len(line) + 1
            if size > _BURST_BYTES:
                yield from self._ask(burst)
                burst, size = [], 0
        if burst:
            yield from self._ask(burst)

    def head(self) -> Revision | None:
        """The latest snapshot; None in a store without one."""
        found = self.get("HEAD")
        return found.id if found else None

    def tree(self, revision: Revision, folder: str) -> tuple[TreeEntry, ...] | None:
        """The names in a recorded folder (`""` is the root); None if there is no such folder."""
        found = self.get(f"{revision}:{folder}")
        return tuple(_tree_entries(found.data)) if found and found.kind == "tree" else None

    def close(self) -> None:
        """End the process; a later question starts a new one."""
        with self._guard:
            if self._finalizer:
                self._finalizer()
            self._process = self._finalizer = None

    def _ask(self, burst: list[bytes]) -> list[Stored | None]:
        with self._guard:
            try:
                return self._exchange(self._running(), burst)
            except (EOFError, OSError):
                self._drop()
                try:
                    return self._exchange(self._running(), burst)
                except (EOFError, OSError):
                    self._drop()
                    code, _, err = self._door.attempt("cat-file", "--batch", data=burst[0] + b"\n")
                    raise self._door.failure("cat-file", code, err) from None

    def _exchange(self, process: subprocess.Popen[bytes], burst: list[bytes]) -> list[Stored | None]:
        assert process.stdin is not None
        process.stdin.write(b"\n".join(burst) + b"\n")
        process.stdin.flush()
        return [self._answer(process, line) for line in burst]

    def _answer(self, process: subprocess.Popen[bytes], asked: bytes) -> Stored | None:
        assert process.stdout is not None
        header = process.stdout.readline()
        if not header.endswith(b"\n"):
            raise EOFError
        if header in (asked + b" missing\n", asked + b" ambiguous\n"):
            return None
        words = header.split()
        if len(words) != 3 or not words[2].isdigit():
            raise GitFailed("cat-file", 0, header.decode("utf-8", "replace"))
        size = int(words[2])
        data = process.stdout.read(size + 1)
        if len(data) != size + 1:
            raise EOFError
        return Stored(id=words[0].decode(), kind=words[1].decode(), data=data[:-1])

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            self._process = self._door.start("cat-file", "--batch", stderr=subprocess.DEVNULL)
            self._finalizer = weakref.finalize(self, _end, self._process)
        return self._process

    def _drop(self) -> None:
        if self._finalizer:
            self._finalizer()
        self._process = self._finalizer = None


def _end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe:
            with suppress(OSError):  # what was still to be written has no reader any more
                pipe.close()


def _tree_entries(data: bytes) -> Iterator[TreeEntry]:
    at = 0
    while at < len(data):
        space = data.index(b" ", at)
        end = data.index(b"\0", space)
        yield TreeEntry(
            mode=data[at:space].decode(),
            name=data[space + 1 : end].decode("utf-8", "surrogateescape"),
            id=data[end + 1 : end + 21].hex(),
        )
        at = end + 21
