"""A worked-out value that remembers which settings it came from, or which are missing for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["Known", "missing_of", "used_of"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known(Generic[T]):
    """A value, or None with the settings that are `missing`; `used` are the pointers it was worked out from.

    `notes` are sentences for a person: what was taken for granted.
    """

    value: T | None
    used: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def used_of(parts: Iterable[Known[T]]) -> tuple[str, ...]:
    """The pointers that some values came from, each once."""
    return tuple(dict.fromkeys(p for part in parts for p in part.used))


def missing_of(parts: Iterable[Known[T]]) -> tuple[str, ...]:
    """The pointers that some values lack, each once."""
    return tuple(dict.fromkeys(p for part in parts for p in part.missing))
