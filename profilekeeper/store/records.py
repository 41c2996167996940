"""What goes into a store and what comes out of it: changes, entries of the history, their text."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType
from typing import TypeAlias

from profilekeeper.errors import BadName

__all__ = [
    "MACHINE_TRAILER",
    "Author",
    "BlobId",
    "Change",
    "Changed",
    "Entry",
    "Revision",
    "WorkState",
    "compose_message",
    "parse_message",
]

Revision: TypeAlias = str
"""The full id of a snapshot: 40 hexadecimal digits."""

BlobId: TypeAlias = str
"""The id of one file's content: 40 hexadecimal digits, the same for the same bytes in every store."""

MACHINE_TRAILER = "Machine"
"""A snapshot that changes no byte (a reading that confirms everything) names its machine here."""

_GREATEST_OFFSET_MINUTES = 14 * 60  # what git takes, and the greatest in use (Kiritimati)
_NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Author:
    """Who recorded something; nothing is asked of any configuration."""

    name: str
    email: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One snapshot to be recorded.

    `files` maps a path (`SHOP/MACHINE/profile.yaml`) to its new bytes, or to None: recorded as gone.
    `at` carries its time zone. `trailers` are one-word keys with a text each, kept after the message.
    `expect` maps a path to the blob id (None: no such file) on which the change was worked out; if the
    latest snapshot holds another one, nothing is recorded (StoreMoved).
    """

    files: Mapping[str, bytes | None]
    message: str
    author: Author
    at: datetime
    trailers: Mapping[str, str] = field(default_factory=lambda: _NOTHING)
    expect: Mapping[str, BlobId | None] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One file of a snapshot that differs from the snapshot before; None: it was not there."""

    path: str
    old: BlobId | None
    new: BlobId | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One snapshot in the history."""

    revision: Revision
    parents: tuple[Revision, ...]
    at: datetime
    author: Author
    message: str
    trailers: Mapping[str, str]
    changes: tuple[Changed, ...]


class WorkState(enum.Enum):
    """How a file in the folder stands to the latest snapshot."""

    RECORDED = "as recorded"
    EDITED = "edited by hand"
    MISSING = "missing"
    NOT_RECORDED = "not recorded"
    ABSENT = "not there"


def compose_message(message: str, trailers: Mapping[str, str]) -> str:
    """The text of a snapshot: the message, an empty line, and one `Key: value` for each trailer.

    Further lines of a value are indented by one space. `parse_message` gives both parts back.
    Raises: BadName, if a key is not one word or a text holds a NUL.
    """
    lines = []
    for key, value in trailers.items():
        if not _is_key(key):
            raise BadName(key, "the key of a trailer is letters, digits and dashes")
        lines.append(f"{key}: " + value.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\n "))
    text = message.strip("\n")
    if lines:
        text += ("\n\n" if text else "\n") + "\n".join(lines)
    if "\0" in text:
        raise BadName(message, "it holds a NUL character")
    return text + "\n"


def parse_message(text: str) -> tuple[str, dict[str, str]]:
    """The message and the trailers of a snapshot's text; no trailers if its last part has other lines."""
    body, _, last = text.rstrip("\n").rpartition("\n\n")
    if not body and text.startswith("\n"):
        last = last.lstrip("\n")
    elif not body:
        return last, {}
    trailers: dict[str, str] = {}
    key = ""
    for line in last.split("\n"):
        word, colon, value = line.partition(":")
        if colon and _is_key(word):
            key = word
            trailers[key] = value.removeprefix(" ")
        elif key and line.startswith(" "):
            trailers[key] += "\n" + line[1:]
        else:
            return text.rstrip("\n"), {}
    return body, trailers


def git_time(at: datetime) -> str:
    """Seconds since 1970 and the offset, as a commit holds them. Raises: BadName if neither can be kept."""
    offset = at.utcoffset()
    if offset is None:
        raise BadName(at.isoformat(), "a snapshot's time needs its time zone")
    minutes, rest = divmod(int(offset.total_seconds()), 60)
    if rest or abs(minutes) > _GREATEST_OFFSET_MINUTES:
        minutes = 0
    seconds = int((at - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds())
    if seconds < 0:
        raise BadName(at.isoformat(), "a snapshot cannot be older than 1970")
    sign = "-" if minutes < 0 else "+"
    hours, minutes = divmod(abs(minutes), 60)
    return f"{seconds} {sign}{hours:02d}{minutes:02d}"


def git_person(author: Author) -> str:
    """`name <email>` as a commit holds it. Raises: BadName, for brackets and control characters."""
    for text in (author.name, author.email):
        if not text.strip() or any(character in "<>" or ord(character) < 32 for character in text):
            raise BadName(text, "a person's name and address are not empty and hold no < or >")
    return f"{author.name.strip()} <{author.email.strip()}>"


def _is_key(text: str) -> bool:
    """Whether a text may stand before the colon of a trailer."""
    return text[:1].isalpha() and text.isascii() and text.replace("-", "").isalnum()
