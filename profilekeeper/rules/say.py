"""Small pieces of sentences that several rules share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from profilekeeper.model import pointer as json_pointer

__all__ = ["listed", "place", "recorded"]


def listed(names: Iterable[object], joiner: str = "and") -> str:
    """Names in a sentence: `4`, `4 and 7`, `4, 7 and 9`."""
    words = [str(name) for name in names]
    if len(words) < 2:
        return "".join(words)
    gap = "" if joiner == "," else " "
    return f"{', '.join(words[:-1])}{gap}{joiner} {words[-1]}"


@lru_cache(maxsize=8192)
def place(pointer: str) -> str:
    """A setting as a person names it: `tool 21 length`, `axis X soft limits, low end`."""
    steps = list(json_pointer.parse(pointer))
    if not steps:
        return "the whole record"
    words = _PAIRS.get(steps[0], steps[0].replace("_", " "))
    rest = [step.replace("_", " ") for step in steps[1:]]
    if steps[0] == "events" and len(steps) > 1 and steps[1].isdigit():
        rest[0] = str(int(steps[1]) + 1)
    if steps[0] == "axes" and len(steps) == 4 and steps[3] in ("0", "1"):
        rest[-1] = "low end" if steps[3] == "0" else "high end"
    if steps[0] == "tool_changes" and "tools" in steps:
        rest = rest[:1]
    if steps[0] == "control_pages" and rest[-1:] == ["value"]:
        rest = rest[:-1]
    return " ".join([words, *(step for step in rest if step not in ("settings", "pockets"))])


def recorded(missing: Sequence[str]) -> str:
    """What to do about missing settings."""
    if not missing:
        return ""
    more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
    return f"record {listed((place(p) for p in missing[:_NAMED]), ',' if more else 'and')}{more}"


_NAMED = 6  # as many names as a sentence bears
_PAIRS = {
    "tools": "tool",
    "events": "event",
    "axes": "axis",
    "tables": "table",
    "positions": "position",
    "tool_changes": "tool change",
    "work_offsets": "work zero",
    "instruments": "instrument",
    "spindles": "spindle",
    "routines": "routine",
    "setups": "set-up",
    "no_go_zones": "no-go zone",
    "supports": "support",
    "control_pages": "page",
    "changer": "pocket",
}
