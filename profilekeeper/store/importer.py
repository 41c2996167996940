"""The one writer of snapshots: `fast-import`, which needs no index and refuses to lose history."""

from __future__ import annotations

import subprocess
from collections.abc import Mapping, Sequence
from contextlib import suppress

from profilekeeper.errors import GitFailed
from profilekeeper.store.git import SealedGit
from profilekeeper.store.records import (
    BlobId,
    Change,
    Revision,
    compose_message,
    git_person,
    git_time,
)

__all__ = ["Importer"]

_MOST_UNHEARD = 200  # answers of 41 bytes that wait in the pipe, far from filling its 64 KB


class Importer:
    """One run: any number of snapshots, which all become visible at `finish` or not at all."""

    __slots__ = ("_branch", "_count", "_process", "_revisions", "_tip")

    _COMMAND = "fast-import"

    def __init__(self, door: SealedGit, branch: str, tip: Revision | None, keep_open: Sequence[int]) -> None:
        self._process = door.start(self._COMMAND, "--quiet", "--done", "--date-format=raw", keep_open=keep_open)
        self._branch = branch
        self._tip = tip
        self._count = 0
        self._revisions: list[Revision] = []

    def add(self, change: Change) -> None:
        """Hand over one snapshot on top of the one before. Raises: OSError, EOFError."""
        parts = self._header(change, [self._tip] if self._tip else [])
        parts += [_file_line(path, data) for path, data in change.files.items()]
        self._commit(parts)

    def add_merge(self, change: Change, parents: Sequence[Revision], tree: Mapping[str, bytes | BlobId]) -> None:
        """Hand over a snapshot of several parents that holds exactly `tree`. Raises: OSError, EOFError."""
        parts = [*self._header(change, parents), b"deleteall\n"]
        parts += [_file_line(path, data) for path, data in tree.items()]
        self._commit(parts)

    def revisions(self) -> list[Revision]:
        """The ids of all that was handed over, in order. Raises: OSError, EOFError."""
        self._hear(self._count)
        return self._revisions

    def send_done(self) -> None:
        """From here on git moves the branch, whatever becomes of this process."""
        assert self._process.stdin is not None
        self._process.stdin.write(b"done\n")
        self._process.stdin.flush()

    def finish(self) -> tuple[int, bytes]:
        """Wait until the branch has moved: exit code (0: it has) and complaints."""
        _, err = self._process.communicate()
        return self._process.returncode, err

    def abandon(self) -> tuple[int, bytes]:
        """End the run; unless `send_done` came before, nothing of it remains visible."""
        ended = self._process.poll()
        if ended is not None and self._process.stdout and self._process.stdout.closed:
            return ended, b""
        if self._process.stdin and not self._process.stdin.closed:
            with suppress(OSError):
                self._process.stdin.close()  # an end without "done" makes it discard everything
            self._process.stdin = None
        try:
            _, err = self._process.communicate(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            _, err = self._process.communicate()
        return self._process.returncode, err

    def _header(self, change: Change, parents: Sequence[Revision]) -> list[bytes]:
        self._count += 1
        person = f"{git_person(change.author)} {git_time(change.at)}".encode()
        message = compose_message(change.message, change.trailers).encode()
        lines = [
            b"commit %s\nmark :%d\n" % (self._branch.encode(), self._count),
            b"author %s\ncommitter %s\n" % (person, person),
            b"data %d\n%s\n" % (len(message), message),
        ]
        keywords = [b"from", *[b"merge"] * len(parents)]
        lines += [b"%s %s\n" % (word, parent.encode()) for word, parent in zip(keywords, parents, strict=False)]
        return lines

    def _commit(self, parts: list[bytes]) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(b"".join(parts) + b"\nget-mark :%d\n" % self._count)
        self._tip = f":{self._count}"  # the id would be looked for on the disk, where it is not yet
        if self._count - len(self._revisions) >= _MOST_UNHEARD:
            self._hear(self._count)

    def _hear(self, count: int) -> None:
        """Read the answers up to the snapshot of that number."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.flush()
        while len(self._revisions) < count:
            answer = self._process.stdout.readline().strip().decode()
            if len(answer) != 40:
                raise EOFError(self._COMMAND)
            self._revisions.append(answer)

    def failure(self, door: SealedGit, code: int, said: bytes) -> Exception:
        """The error that fits how the run ended."""
        return door.failure(self._COMMAND, code, said) if code else GitFailed(self._COMMAND, code, "")


def _file_line(path: str, data: bytes | BlobId | None) -> bytes:
    """One line of the stream; paths hold no quotes and no line breaks (`names.check_path`)."""
    name = path.encode()
    if data is None:
        return b"D %s\n" % name
    if isinstance(data, str):
        return b"M 100644 %s %s\n" % (data.encode(), name)
    return b"M 100644 inline %s\ndata %d\n%s\n" % (name, len(data), data)
