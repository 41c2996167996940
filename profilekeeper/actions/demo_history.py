"""The demo fleet's two years: every dated state of every machine, made by going back from the plain files.

The profile of a machine in `shop_profiles/` is its last state; `history.yaml` there tells, entry by entry, what
stood in it before. Pure but for `shipped_files`: texts in, texts out, every comment kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from profilekeeper.errors import FormatError
from profilekeeper.formats import loads
from profilekeeper.formats.yaml_marks import marks_of, node_at
from profilekeeper.formats.yaml_patch import scalar_patch
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.resources import shipped

__all__ = ["DemoSnapshot", "DemoStorm", "shipped_files", "snapshots", "storm"]

HISTORY = "history.yaml"
STORM = "storm/storm.yaml"
KINDS = ("as-found", "as-left", "proven", "proposal")


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoSnapshot:
    """One dated act on one machine, with the whole text of its profile then.

    `kind` is as-found, as-left, proven (`parts` are pointers to what ran; the text is that of the snapshot
    before) or proposal (refused: it never was in the control and belongs into no history).
    `measured` is the real gap that a slow swing left, where one was measured.
    """

    machine: str
    at: datetime
    by: str
    why: str
    kind: str
    text: str
    parts: tuple[str, ...] = ()
    measured: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoStorm:
    """The machine as its control came up after the storm, and the readback once its values were keyed back.

    `shown` is what the screen showed by pointer, as keyed (numbers in the profile's unit); one value is a slip.
    """

    found: DemoSnapshot
    at: datetime
    by: str
    shown: Mapping[str, Decimal | int | str]


def snapshots(files: Mapping[str, str]) -> Iterator[DemoSnapshot]:
    """Every state of every machine, oldest first; the last one of each is its plain file, byte for byte.

    `files` are the texts of `shop_profiles/` by path within it, as `shipped_files` gives them.
    Raises:  FormatError, naming the entry of the history that does not fit the files.
    """
    entries = _entries(files)
    machines = dict.fromkeys(str(entry["machine"]) for entry in entries)
    found = [snapshot for machine in machines for snapshot in _of_machine(machine, entries, files)]
    yield from sorted(found, key=lambda snapshot: snapshot.at)


def storm(files: Mapping[str, str]) -> DemoStorm:
    """The morning after the storm.

    Raises:  FormatError, if its files do not fit together.
    """
    data: Any = loads(_text(files, STORM), source=STORM)
    machine, back = str(data["machine"]), data["readback"]
    found = _snapshot({"machine": machine, "kind": "as-found", **data["found"]}, _text(files, f"storm/{machine}.yaml"))
    return DemoStorm(found=found, at=_moment(str(back["at"])), by=str(back["by"]), shown=dict(back["shown"]))


def shipped_files() -> dict[str, str]:
    """The texts of the demo fleet's plain files by path, with / between the steps."""
    root = shipped("shop_profiles")
    return {
        path.relative_to(root).as_posix(): path.read_bytes().decode("utf-8") for path in sorted(root.rglob("*.yaml"))
    }


def _entries(files: Mapping[str, str]) -> list[Mapping[str, Any]]:
    data: Any = loads(_text(files, HISTORY), source=HISTORY)
    for index, entry in enumerate(data["entries"]):
        if entry.get("kind") not in KINDS:
            raise _misfit(index, entry, f"its kind is none of {', '.join(KINDS)}")
    return list(data["entries"])


def _of_machine(machine: str, entries: Iterable[Mapping[str, Any]], files: Mapping[str, str]) -> Iterator[DemoSnapshot]:
    """The states of one machine, newest first: each is the next one with what its entry says put back.

    A proposal is the state that followed it, but with what was proposed.
    """
    now = later = _Past(_text(files, f"{machine}/profile.yaml"))
    own = [(index, entry) for index, entry in enumerate(entries) if entry["machine"] == machine]
    for index, entry in reversed(own):
        try:
            if entry["kind"] == "proposal":
                yield _snapshot(entry, later.back(entry["proposed"], ()).text())
            else:
                yield _snapshot(entry, now.text())
                later, now = now, now.back(entry.get("before", {}), entry.get("not_yet", ()))
        except (FormatError, LookupError) as error:
            raise _misfit(index, entry, str(error)) from error


class _Past:
    """One text with some of its values as they were earlier and some of its entries not there yet.

    The last text is marked once and every state is cut from it: two hundred edits, each read back, took ten
    times as long. That every state says what its entry says is for the tests to hold.
    """

    __slots__ = ("_gone", "_last", "_root", "_written")

    def __init__(self, last: str) -> None:
        self._last = last
        self._root = marks_of(last)
        self._written: dict[str, str] = {}
        self._gone: dict[int, int] = {}

    def back(self, before: Mapping[str, Any], not_yet: Iterable[str]) -> _Past:
        """The same text one step earlier."""
        earlier = copy(self)
        earlier._written = {**self._written, **{p: self._spelt(p, value) for p, value in before.items()}}
        earlier._gone = {**self._gone, **dict(self._lines(p) for p in not_yet)}
        return earlier

    def text(self) -> str:
        """The whole text."""
        patches = [(*self._span(pointer), written) for pointer, written in self._written.items()]
        kept = [p for p in patches if not any(start <= p[0] < end for start, end in self._gone.items())]
        outer = [
            (start, end, "")
            for start, end in self._gone.items()
            if not any(s <= start and end <= e and (s, e) != (start, end) for s, e in self._gone.items())
        ]
        text = self._last
        for start, end, written in sorted((*kept, *outer), reverse=True):
            text = text[:start] + written + text[end:]
        return text

    def _span(self, pointer: str) -> tuple[int, int]:
        span = node_at(self._root, pointer).span
        return span.start, span.end

    def _spelt(self, pointer: str, value: object) -> str:
        above = node_at(self._root, pointer.rpartition("/")[0])
        return scalar_patch(self._last, node_at(self._root, pointer), value, flow=above.flow)[2]

    def _lines(self, pointer: str) -> tuple[int, int]:
        """From where to where the lines of an entry go; those of a whole part take the blank line behind along."""
        node = node_at(self._root, pointer)
        begins = (node.key or node.span).start
        start = self._last.rfind("\n", 0, begins) + 1
        if self._last[start:begins].strip(" -"):
            raise FormatError(f"{pointer} shares its line with other settings", mend="give it a line of its own")
        end = self._last.find("\n", node.span.end) + 1 or len(self._last)
        is_part = pointer.count("/") == 1
        return start, end + 1 if is_part and self._last[end : end + 1] == "\n" else end


def _snapshot(entry: Mapping[str, Any], text: str) -> DemoSnapshot:
    gap = entry.get("measured")
    return DemoSnapshot(
        machine=str(entry["machine"]),
        at=_moment(str(entry["at"])),
        by=str(entry["by"]),
        why=str(entry["why"]),
        kind=str(entry["kind"]),
        text=text,
        parts=tuple(str(part) for part in entry.get("parts", ())),
        measured=None if gap is None else Length(Decimal(gap), LengthUnit.MM),
    )


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise FormatError(f"{text} has no time zone", source=HISTORY, mend="write it with one, such as +00:00")
    return moment


def _text(files: Mapping[str, str], path: str) -> str:
    try:
        return files[path]
    except KeyError:
        raise FormatError("the file is not there", source=path, mend="install profilekeeper anew") from None


def _misfit(index: int, entry: Mapping[str, Any], why: str) -> FormatError:
    what = f"entry {index + 1} ({entry.get('machine')}, {entry.get('at')}) does not fit: {why}"
    return FormatError(what, source=HISTORY, mend="correct the entry or the profile")
