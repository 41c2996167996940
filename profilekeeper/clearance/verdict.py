"""From a certified gap to the one word a technician acts on."""

from __future__ import annotations

from enum import StrEnum
from math import isfinite

from profilekeeper.errors import InvalidShape

__all__ = ["Room", "room_verdict"]


class Room(StrEnum):
    """How a gap stands to what is required of it."""

    CLEAR = "clear"
    TIGHT = "tight"
    SHORT = "short"
    HITS = "hits"
    UNKNOWN = "unknown"


def room_verdict(
    low_mm: float, high_mm: float, *, required_mm: float, warn_mm: float, uncertainty_mm: float | None
) -> Room:
    """The verdict on a gap that lies in [low_mm, high_mm], measured no better than the uncertainty.

    Contact outranks everything. A missing uncertainty is unknown, never 0: no gap passes on it.
    Raises:  InvalidShape, if a margin is negative or not a number.
    >>> room_verdict(42.5, 42.6, required_mm=20, warn_mm=5, uncertainty_mm=6).value
    'clear'
    """
    margins = (required_mm, warn_mm, 0.0 if uncertainty_mm is None else uncertainty_mm)
    if not all(isfinite(margin) and margin >= 0 for margin in margins):
        raise InvalidShape(f"required room, warning margin and uncertainty must be 0 mm or more, found {margins}")
    if not low_mm <= high_mm:
        raise InvalidShape(f"a gap from {low_mm!r} to {high_mm!r} is no interval")
    if high_mm <= 0:
        return Room.HITS
    if uncertainty_mm is None:
        return Room.UNKNOWN
    sure_mm = low_mm - uncertainty_mm
    if sure_mm >= required_mm + warn_mm:
        return Room.CLEAR
    return Room.TIGHT if sure_mm >= required_mm else Room.SHORT
