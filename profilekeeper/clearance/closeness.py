"""How closely a measured datum is known, and what is reckoned with where nobody has said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from profilekeeper.model.source import USUAL, SourceBook

__all__ = ["ASSUMED_MM", "Close", "added_up", "closeness", "widest"]

ASSUMED_MM = float(USUAL["tape"])
"""Where no uncertainty is recorded, the datum is taken to be no better than by tape: never as exact."""


@dataclass(frozen=True, slots=True)
class Close:
    """By how much a datum may be off, in mm; `asked` are the pointers whose uncertainty is not recorded."""

    mm: float = 0.0
    asked: tuple[str, ...] = ()

    def __add__(self, other: Close) -> Close:
        return Close(self.mm + other.mm, tuple(dict.fromkeys(self.asked + other.asked)))


def closeness(book: SourceBook, pointer: str) -> Close:
    """How closely one length is known."""
    known = book.uncertainty(pointer)
    return Close(ASSUMED_MM, (pointer,)) if known is None else Close(float(known.mm))


def added_up(book: SourceBook, pointers: Iterable[str]) -> Close:
    """The sum over several data that are added up."""
    found = Close()
    for pointer in pointers:
        found = found + closeness(book, pointer)
    return found


def widest(book: SourceBook, pointers: Iterable[str], asked_as: str) -> Close:
    """The widest over data of which each moves its own face; what is not recorded is asked for as one pointer."""
    each = [closeness(book, pointer) for pointer in pointers]
    asked = (asked_as,) if any(one.asked for one in each) else ()
    return Close(max((one.mm for one in each), default=0.0), asked)
