"""The comparable columns of recorded contents, each parsed once in its life, and how long a value has stood.

Columns are kept in the store's index by the id of the content, under a version that changes with the schema.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING

from profilekeeper.errors import FormatError, InvalidProfile
from profilekeeper.fleet.columns import Column, Columns, cell, columns_of, columns_version, dumps, loads
from profilekeeper.fleet.rows import Since
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import read_profile

if TYPE_CHECKING:
    from profilekeeper.store import BlobId, Entry, Store

__all__ = ["PROFILE", "kept_columns", "since_when"]

PROFILE = "/profile.yaml"
"""How the path of a machine's profile ends, behind the machine's name."""

_SHORT = 8
_AT_ONCE = 200
"""So many contents are read, parsed and kept together: what is broken off loses no more than these."""

_STEP_BACK = 20
"""So many snapshots are looked at together on the way back: most values were changed not long ago."""


def kept_columns(
    store: Store, blobs: Mapping[str, BlobId], wanted: tuple[str, ...] = ()
) -> tuple[dict[str, Columns], dict[str, str]]:
    """The columns of some contents by name, and for those that are no profile the reason.

    What the index keeps is not read again; what it does not is read, parsed, and kept for the next time.
    """
    version = columns_version()
    kept = store.cache.get_values(blobs.values(), version)
    found: dict[str, Columns] = {}
    fresh: dict[str, BlobId] = {}
    for name, blob in blobs.items():
        columns = _loaded(kept.get(blob), wanted)
        if columns is None:
            fresh[name] = blob
        else:
            found[name] = columns
    unreadable: dict[str, str] = {}
    left = iter(fresh.items())
    while batch := dict(islice(left, _AT_ONCE)):
        _work_out(store, batch, version, wanted, found, unreadable)
    return {name: found[name] for name in blobs if name in found}, unreadable


def since_when(
    store: Store, machine: str, pointers: Iterable[str], now: Columns, *, look_back: int
) -> dict[str, Since]:
    """For each pointer of a machine the oldest snapshot since which its present value stands without a break.

    A tool is followed by its id, else by its name and sections. Of a machine with more than `look_back` changes
    of its settings, or one whose older record cannot be read, a value may be said to stand at least since then.
    """
    places = {now.pointer(column): (column, packed) for column, packed in zip(now.columns, now.packed, strict=True)}
    followed = {pointer: places[pointer] for pointer in pointers if pointer in places}
    oldest: dict[str, Since] = {}
    changes = _changes(store, machine)
    for start in range(0, look_back, _STEP_BACK):
        batch = list(islice(changes, min(_STEP_BACK, look_back - start)))
        _follow(store, machine, batch, now, followed, oldest)
        if not followed or not batch:
            return oldest
    if next(changes, None) is not None:
        oldest |= {pointer: replace(oldest[pointer], at_least=True) for pointer in followed if pointer in oldest}
    return oldest


def _work_out(
    store: Store, batch: Mapping[str, BlobId], version: str, wanted: tuple[str, ...],
    found: dict[str, Columns], unreadable: dict[str, str],
) -> None:  # fmt: skip
    values = {}
    for (name, blob), data in zip(batch.items(), store.read_blobs(batch.values()), strict=True):
        source = name + PROFILE
        try:
            packed = dumps(columns_of(read_profile(strict_yaml.loads(data, source=source), source=source)))
        except (FormatError, InvalidProfile) as error:
            unreadable[name] = str(error)
            continue
        values[blob] = packed
        found[name] = loads(packed, wanted)
    store.cache.put_values(values, version)


def _loaded(packed: bytes | None, wanted: tuple[str, ...]) -> Columns | None:
    """The columns kept; None where there are none, or they are damaged and must be worked out anew."""
    if packed is None:
        return None
    try:
        return loads(packed, wanted)
    except FormatError:
        return None


def _changes(store: Store, machine: str) -> Iterator[tuple[Entry, BlobId]]:
    """The snapshots that changed a machine's settings, latest first, with the content each left."""
    path = machine + PROFILE
    for entry in store.history(path):
        for change in entry.changes:
            if change.path == path and change.new:
                yield entry, change.new


def _follow(
    store: Store, machine: str, batch: list[tuple[Entry, BlobId]], now: Columns,
    followed: dict[str, tuple[Column, str]], oldest: dict[str, Since],
) -> None:  # fmt: skip
    """Go back through some snapshots; a value that was another one there is followed no further."""
    columns, _ = kept_columns(store, {blob: blob for _, blob in batch})
    for entry, blob in batch:
        then = columns.get(blob)
        if then is None:
            oldest |= {pointer: replace(oldest[pointer], at_least=True) for pointer in followed if pointer in oldest}
            followed.clear()
            return
        values = {then.pointer(column): packed for column, packed in zip(then.columns, then.packed, strict=True)}
        for pointer, (column, packed) in list(followed.items()):
            if _is_same(values.get(_pointer_then(then, now, column)), packed):
                oldest[pointer] = _told(entry)
            else:
                del followed[pointer]


def _pointer_then(then: Columns, now: Columns, column: Column) -> str:
    """Where the setting stood then: its tool by id, else by what it is; anything else under the same pointer."""
    if column.thing not in now.own:
        return now.pointer(column)
    _, by_id = now.own[column.thing]
    places = [place for place, known in then.own.values() if by_id and known == by_id]
    return places[0] + column.rest if places else then.pointer(column)


def _is_same(then: str | None, now: str) -> bool:
    """Whether two packed values are one value, however written."""
    if then is None or then == now:
        return then is not None
    one, other = cell(then), cell(now)
    return one.base is not None and one.kind == other.kind and one.base == other.base


def _told(entry: Entry) -> Since:
    trailers = entry.trailers
    return Since(
        snapshot=entry.revision[:_SHORT],
        at=entry.at,
        by=trailers.get("By", entry.author.name),
        kind=trailers.get("Kind", ""),
    )
