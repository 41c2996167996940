"""The disposable index of a store: an SQLite file in the git folder, rebuilt from git at any time.

It answers what would cost git a walk through the whole fleet's history (the history of one machine), and
keeps values that a caller worked out from contents (by blob id, so they never go out of date). It is never
trusted over git: it answers only for the very head it was filled to; of another form, damaged, locked or
on a disk that cannot be written, it is thrown away and made anew, kept in memory, or done without.
"""

from __future__ import annotations

import threading
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, TypeVar

from profilekeeper.errors import StoreError
from profilekeeper.store.git import Layout, SealedGit
from profilekeeper.store.history import entry_of, read_log, time_of
from profilekeeper.store.records import (
    MACHINE_TRAILER,
    Author,
    BlobId,
    Changed,
    Entry,
    Revision,
    compose_message,
)

if TYPE_CHECKING:
    import sqlite3

__all__ = ["Cache"]

_SCHEMA = (
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL)",
    "CREATE TABLE entries (n INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE, rank INTEGER NOT NULL,"
    " parents BLOB NOT NULL, at INTEGER NOT NULL, zone INTEGER NOT NULL, name TEXT NOT NULL, email TEXT NOT NULL,"
    " text TEXT NOT NULL)",
    "CREATE TABLE paths (p INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE)",
    "CREATE TABLE changes (n INTEGER NOT NULL, p INTEGER NOT NULL, rank INTEGER NOT NULL, old BLOB, new BLOB,"
    " PRIMARY KEY (n, p)) WITHOUT ROWID",
    "CREATE TABLE contents (kind TEXT NOT NULL, blob BLOB NOT NULL, data BLOB NOT NULL, sum INTEGER NOT NULL,"
    " PRIMARY KEY (kind, blob))",
    "CREATE INDEX entries_by_rank ON entries (rank, n)",
    "CREATE INDEX changes_by_path ON changes (p, rank, n)",
)
_WAIT_S = 5.0
_PAGE = 200
_Answer = TypeVar("_Answer")


class Cache:
    """The index of one store. Every answer may be None: then ask git instead."""

    def __init__(self, layout: Layout, door: SealedGit) -> None:
        self._layout = layout
        self._door = door
        self._guard = threading.RLock()
        self._base: sqlite3.Connection | None = None
        self._filled_to: Revision | None = None

    def close(self) -> None:
        """Let go of the file."""
        with self._guard:
            if self._base:
                self._base.close()
            self._base = self._filled_to = None

    def history(
        self,
        prefix: str,
        head: Revision,
        limit: int | None,
        since: datetime | None,
        until: datetime | None,
        by_git: Callable[[], Iterator[Entry]],
    ) -> Iterator[Entry] | None:
        """The snapshots that concern a path or folder up to `head`, latest first; None: ask git.

        `by_git` gives the same; it goes on where the index turns out damaged in the middle.
        """
        if not self._answer(lambda base: self._fill(base, head)):
            return None
        return self._pages_or(by_git, prefix, limit, since, until)

    def latest_of(self, prefixes: Sequence[str], head: Revision) -> dict[str, Entry] | None:
        """The latest snapshot of each path or folder; None: ask git."""

        def look(base: sqlite3.Connection) -> dict[str, Entry]:
            self._fill(base, head)
            found = {}
            for prefix in prefixes:
                rows = _rows(base, prefix, None, None, None, 1)
                if rows:
                    found[prefix] = _entry(base, rows[0])
            return found

        return self._answer(look)

    def ids_with_prefix(self, prefix: str, head: Revision) -> tuple[Revision, ...] | None:
        """Every snapshot up to `head` whose id starts so; None: ask git."""
        low, high = bytes.fromhex(prefix.ljust(40, "0")), bytes.fromhex(prefix.ljust(40, "f"))

        def look(base: sqlite3.Connection) -> tuple[Revision, ...]:
            self._fill(base, head)
            rows = base.execute("SELECT id FROM entries WHERE id BETWEEN ? AND ? ORDER BY id", (low, high))
            return tuple(row[0].hex() for row in rows)

        return self._answer(look)

    def get_values(self, blob_ids: Iterable[BlobId], version: str) -> dict[BlobId, bytes]:
        """Values kept for contents, by blob id; what is not there, or damaged, is left out."""
        wanted = list(dict.fromkeys(blob_ids))

        def look(base: sqlite3.Connection) -> dict[BlobId, bytes]:
            found = {}
            for blob_id in wanted:
                row = base.execute(
                    "SELECT data, sum FROM contents WHERE kind = ? AND blob = ?", (version, bytes.fromhex(blob_id))
                ).fetchone()
                if row and zlib.crc32(row[0]) == row[1]:
                    found[blob_id] = row[0]
            return found

        return self._answer(look) or {}

    def put_values(self, values: Mapping[BlobId, bytes], version: str) -> None:
        """Keep values worked out from contents; `version` names how, and by which program."""

        def keep(base: sqlite3.Connection) -> bool:
            with base:
                base.executemany(
                    "INSERT OR REPLACE INTO contents VALUES (?, ?, ?, ?)",
                    [(version, bytes.fromhex(blob), data, zlib.crc32(data)) for blob, data in values.items()],
                )
            return True

        self._answer(keep)

    def drop_values(self, version: str) -> None:
        """Forget values of a version that is no longer in use."""

        def drop(base: sqlite3.Connection) -> bool:
            with base:
                base.execute("DELETE FROM contents WHERE kind = ?", (version,))
            return True

        self._answer(drop)

    def _answer(self, look: Callable[[sqlite3.Connection], _Answer]) -> _Answer | None:
        """What `look` finds; a damaged index is made anew once, and then done without."""
        import sqlite3

        with self._guard:
            for _ in range(2):
                try:
                    return look(self._opened())
                except sqlite3.OperationalError as error:
                    if "locked" in str(error) or "busy" in str(error):
                        return None
                    self._throw_away()
                except sqlite3.DatabaseError:
                    self._throw_away()
                except StoreError:
                    self.close()
                    return None
            return None

    def _opened(self) -> sqlite3.Connection:
        if self._base is None:
            self._base = self._connect()
        return self._base

    def _connect(self) -> sqlite3.Connection:
        import sqlite3

        path = self._layout.own / "cache.sqlite"
        try:
            self._layout.own.mkdir(exist_ok=True)
            if path.is_symlink():
                path.unlink()
            base = sqlite3.connect(path, timeout=_WAIT_S, check_same_thread=False)
            try:
                _prepare(base)
            except BaseException:
                base.close()
                raise
            return base
        except (OSError, sqlite3.OperationalError) as error:
            if "locked" in str(error):
                raise
        base = sqlite3.connect(":memory:", check_same_thread=False)
        _prepare(base)
        return base

    def _throw_away(self) -> None:
        self.close()
        for end in ("", "-journal", "-wal", "-shm"):
            with suppress(OSError):
                (self._layout.own / f"cache.sqlite{end}").unlink(missing_ok=True)

    def _fill(self, base: sqlite3.Connection, head: Revision) -> bool:
        """Bring the index up to `head`; from the beginning, if `head` does not build on what it holds."""
        if self._filled_to == head and _filled_to(base) == head:
            return True
        with base:
            base.execute("BEGIN IMMEDIATE")
            known = _filled_to(base)
            if known != head:
                if known and not self._builds_on(known, head):
                    for table in ("entries", "paths", "changes"):
                        base.execute(f"DELETE FROM {table}")
                    known = None
                entries = read_log(self._door, head, without=[known] if known else [], oldest_first=True)
                _insert(base, entries)
                base.execute("INSERT OR REPLACE INTO meta VALUES ('head', ?)", (head,))
        self._filled_to = head
        return True

    def _builds_on(self, known: Revision, head: Revision) -> bool:
        code, _, _ = self._door.attempt("merge-base", "--is-ancestor", known, head)
        return code == 0

    def _pages_or(
        self,
        by_git: Callable[[], Iterator[Entry]],
        prefix: str,
        limit: int | None,
        since: datetime | None,
        until: datetime | None,
    ) -> Iterator[Entry]:
        import sqlite3

        given = set()
        try:
            for entry in self._pages(prefix, limit, since, until):
                given.add(entry.revision)
                yield entry
        except (sqlite3.Error, ValueError):  # ValueError: bytes that are no longer an id or a time
            self._throw_away()
            yield from (entry for entry in by_git() if entry.revision not in given)

    def _pages(self, prefix: str, limit: int | None, since: datetime | None, until: datetime | None) -> Iterator[Entry]:
        after: tuple[int, int] | None = None
        left = limit
        span = (int(since.timestamp()) if since else None, int(until.timestamp()) if until else None)
        while left is None or left > 0:
            size = _PAGE if left is None else min(_PAGE, left)
            with self._guard:
                base = self._opened()
                rows = _rows(base, prefix, after, *span, size)
                entries = [_entry(base, row) for row in rows]
            yield from entries
            if len(rows) < size:
                return
            after = (rows[-1][2], rows[-1][0])
            left = None if left is None else left - len(rows)


def _prepare(base: sqlite3.Connection) -> None:
    """Make the tables, or see that they are exactly ours."""
    base.execute("PRAGMA trusted_schema = OFF")
    base.execute("PRAGMA synchronous = NORMAL")
    base.execute("PRAGMA cell_size_check = ON")
    there = {row[0] for row in base.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")}
    if there == set(_SCHEMA):
        return
    import sqlite3

    if there:
        raise sqlite3.DatabaseError("an index of another form")
    with base:
        base.execute("BEGIN IMMEDIATE")
        for statement in _SCHEMA:
            base.execute(statement)


def _filled_to(base: sqlite3.Connection) -> Revision | None:
    row = base.execute("SELECT value FROM meta WHERE key = 'head'").fetchone()
    return row[0] if row else None


def _insert(base: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    """Add entries, parents before children.

    Rank orders the history: the date, but always later than every parent's, however wrong a clock was.
    """
    n = base.execute("SELECT COALESCE(MAX(n), 0) FROM entries").fetchone()[0]
    ranks: dict[Revision, int] = {}
    for entry in entries:
        n += 1
        at = int(entry.at.timestamp())
        rank = max([at, *(_rank(base, ranks, parent) + 1 for parent in entry.parents)])
        if len(ranks) > 20_000:
            ranks.clear()
        ranks[entry.revision] = rank
        base.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", _entry_row(n, rank, at, entry))
        for path, old, new in _change_rows(entry):
            base.execute("INSERT OR IGNORE INTO paths (path) VALUES (?)", (path,))
            base.execute(
                "INSERT OR REPLACE INTO changes SELECT ?, p, ?, ?, ? FROM paths WHERE path = ?",
                (n, rank, old, new, path),
            )


def _rank(base: sqlite3.Connection, ranks: Mapping[Revision, int], revision: Revision) -> int:
    if revision in ranks:
        return ranks[revision]
    row = base.execute("SELECT rank FROM entries WHERE id = ?", (bytes.fromhex(revision),)).fetchone()
    return int(row[0]) if row else 0


def _entry_row(n: int, rank: int, at: int, entry: Entry) -> tuple[object, ...]:
    zone = entry.at.utcoffset()
    return (
        n,
        bytes.fromhex(entry.revision),
        rank,
        bytes.fromhex("".join(entry.parents)),
        at,
        int(zone.total_seconds()) // 60 if zone else 0,
        entry.author.name,
        entry.author.email,
        compose_message(entry.message, entry.trailers),
    )


def _change_rows(entry: Entry) -> Iterator[tuple[str, bytes | None, bytes | None]]:
    for change in entry.changes:
        path = change.path.encode("utf-8", "replace").decode()
        yield path, bytes.fromhex(change.old or ""), bytes.fromhex(change.new or "")
    machine = entry.trailers.get(MACHINE_TRAILER, "")
    if machine and not entry.changes:
        yield machine + "/", None, None


def _rows(
    base: sqlite3.Connection,
    prefix: str,
    after: tuple[int, int] | None,
    since: int | None,
    until: int | None,
    size: int,
) -> list[tuple[int, bytes, int, bytes, int, int, str, str, str]]:
    """Rows of entries, latest first."""
    where, values = ["1"], list[object]()
    if prefix:
        chosen = "SELECT p FROM paths WHERE path = ? OR (path >= ? AND path < ?)"
        where.append(f"n IN (SELECT n FROM changes WHERE p IN ({chosen}))")
        values += [prefix, prefix + "/", prefix + "0"]  # "0" is the character after "/"
    if after:
        where.append("(rank, n) < (?, ?)")
        values += after
    for comparison, bound in (("at >= ?", since), ("at <= ?", until)):
        if bound is not None:
            where.append(comparison)
            values.append(bound)
    query = f"SELECT * FROM entries WHERE {' AND '.join(where)} ORDER BY rank DESC, n DESC LIMIT ?"
    return base.execute(query, (*values, size)).fetchall()


def _entry(base: sqlite3.Connection, row: tuple[int, bytes, int, bytes, int, int, str, str, str]) -> Entry:
    n, revision, _, parents, at, zone, name, email, text = row
    rows = base.execute(
        "SELECT path, old, new FROM changes JOIN paths USING (p) WHERE n = ? AND old IS NOT NULL ORDER BY path", (n,)
    )
    changes = [Changed(path=path, old=old.hex() or None, new=new.hex() or None) for path, old, new in rows]
    ids = parents.hex()
    return entry_of(
        revision.hex(),
        [ids[start : start + 40] for start in range(0, len(ids), 40)],
        Author(name=name, email=email),
        time_of(at, zone),
        text,
        changes,
    )
