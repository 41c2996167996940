"""Which names of shops, machines and files every computer of a fleet can keep, and keep apart.

A store travels between systems: a name that one of them folds, shortens, or reads as a device would
be lost or mixed up there, so it is refused at the start. Sources: Microsoft, "Naming Files, Paths,
and Namespaces" (reserved characters and device names); Unicode Standard Annex 15 (NFC).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from profilekeeper.errors import BadName

__all__ = ["check_name", "check_path", "collisions", "folded", "machine_of"]

_LONGEST_NAME = 64
_LONGEST_PART_BYTES = 200  # most file systems allow 255 bytes a name; a temporary name needs some of them

_DEVICES = frozenset(
    ["con", "prn", "aux", "nul", "conin$", "conout$"]
    + [f"{port}{digit}" for port in ("com", "lpt") for digit in "0123456789¹²³"]
)
_TAKEN = frozenset(["rules", "reading_orders", "evidence", "schemas"])
_FORBIDDEN_MARKS = frozenset('\\:*?"<>|')
_PLAIN_MARKS = str.maketrans("", "", "-_")
_INVISIBLE = frozenset(["Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"])  # general categories of the Unicode Standard


def check_name(name: str) -> str:
    """The name itself, if a shop or machine may be called so on every system.

    Letters and digits of any script, `-`, `_` and `.`; at most 64 characters.
    Raises: BadName, with the reason.
    """
    if not name:
        raise BadName(name, "it is empty")
    if len(name) > _LONGEST_NAME:
        raise BadName(name, f"it is longer than {_LONGEST_NAME} characters")
    if name[0] in "-.":
        raise BadName(name, "it starts with a dash or a dot")
    for character in name:
        if character not in "-_." and unicodedata.category(character)[0] not in "LMN":
            raise BadName(name, f"{character!r} is not a letter, digit, dash, underscore or dot")
    if name.casefold() in _TAKEN:
        raise BadName(name, "the store keeps a folder of that name for itself")
    _check_part(name, name)
    return name


def check_path(path: str) -> str:
    """The path itself, if it stays inside the store and every system can keep it.

    Raises: BadName, with the reason.
    """
    for part in path.split("/"):
        if not _is_plain(part):
            _check_part(part, path)
    return path


def folded(name: str) -> str:
    """What remains of a name where letter case and the way accents are encoded do not count."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def collisions(names: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Groups of different names that some systems hold to be the same one."""
    groups: dict[str, set[str]] = {}
    for name in names:
        groups.setdefault(folded(name), set()).add(name)
    return tuple(tuple(sorted(group)) for _, group in sorted(groups.items()) if len(group) > 1)


def machine_of(path: str) -> str | None:
    """The `SHOP/MACHINE` that a file belongs to; None for the store's own files."""
    parts = path.split("/")
    if len(parts) < 3 or parts[0] in _TAKEN:
        return None
    return f"{parts[0]}/{parts[1]}"


def _is_plain(part: str) -> bool:
    """Whether a name is so ordinary that nothing can be wrong with it: most are, and this is quick."""
    stem = part.removesuffix(".yaml").translate(_PLAIN_MARKS)
    return len(stem) > 6 and len(part) < 60 and part.isascii() and stem.isalnum()


def _check_part(part: str, whole: str) -> None:
    """One folder or file name of a path."""
    if not part or part in (".", ".."):
        raise BadName(whole, "it has an empty part or leads outside the store")
    for character in part:
        if character in _FORBIDDEN_MARKS or unicodedata.category(character) in _INVISIBLE:
            raise BadName(whole, f"the character {character!r} is not allowed")
    if part[-1] in " ." or part[0] == " ":
        raise BadName(whole, "a part of it starts with a space, or ends with a space or a dot")
    if _is_gits_own(part.casefold()):
        raise BadName(whole, "that name belongs to the store's own records")
    if part.split(".")[0].rstrip().casefold() in _DEVICES:
        raise BadName(whole, "some systems take that name for a device")
    if unicodedata.normalize("NFC", part) != part:
        raise BadName(whole, "its accents are written in a form (not NFC) that some systems change")
    if len(part.encode("utf-8")) > _LONGEST_PART_BYTES:
        raise BadName(whole, f"a part of it is longer than {_LONGEST_PART_BYTES} bytes")


def _is_gits_own(part: str) -> bool:
    """Names under which git keeps itself, also as Windows shortens them (`GIT~1`)."""
    short, tilde, number = part.partition("~")
    return part in (".git", ".gitmodules") or (short == "git" and bool(tilde) and number.isdecimal())
