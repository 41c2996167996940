"""The one value that stands for: this setting is not there any more (a null in a profile is a blank cell instead)."""

from __future__ import annotations

from enum import Enum
from typing import Final

__all__ = ["REMOVED", "Removed"]


class Removed(Enum):
    """Has one member, so that it can be told from every value that data may hold."""

    REMOVED = "removed"


REMOVED: Final = Removed.REMOVED
