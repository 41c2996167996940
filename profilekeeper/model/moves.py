"""A list of moves to be tried before the machine makes them: which axes go where, rapid or feed, or a routine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from profilekeeper.errors import UsageError
from profilekeeper.model.position import MACHINE
from profilekeeper.model.schema import refuse
from profilekeeper.quantities import LengthUnit

__all__ = ["Move", "Moves", "keyed_move", "keyed_readings", "read_moves"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One move: the readings its axes go to as they were written, or the routine that makes it.

    `where` says where it was read, for a refusal. `frame` is machine or the name of a work zero.
    """

    where: str
    to: Mapping[str, str]
    is_feed: bool = False
    routine: str | None = None
    frame: str = MACHINE
    tool_length_active: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """The moves of a file and where they start; `unit` is that of bare lengths, None: the machine's own."""

    start: Mapping[str, str] | None
    moves: tuple[Move, ...]
    unit: LengthUnit | None


def read_moves(data: Any, *, source: str) -> Moves:
    """The moves in the plain data of a file. Raises: InvalidProfile, if it does not satisfy its schema."""
    refuse("moves", data, source)
    unit = data.get("units", {}).get("length")
    start = data.get("from")
    moves = (_move(one, data, f"{source}, move {number}") for number, one in enumerate(data["moves"], start=1))
    return Moves(
        start=None if start is None else _texts(start),
        moves=tuple(moves),
        unit=LengthUnit(unit) if unit else None,
    )


def keyed_move(text: str) -> Move:
    """A move as it is keyed: `Z=0`, `X=3450,Y=40`, or `feed Z=-100`. Raises: UsageError."""
    words = text.strip()
    first, _, rest = words.partition(" ")
    is_feed = first == "feed"
    return Move(where=f"--move {text!r}", to=keyed_readings(rest if is_feed else words, "--move"), is_feed=is_feed)


def keyed_readings(text: str, option: str) -> dict[str, str]:
    """Readings as they are keyed, `X=3450,Y=40`, by axis. Raises: UsageError."""
    found: dict[str, str] = {}
    for part in text.split(","):
        letter, separator, reading = (piece.strip() for piece in part.partition("="))
        if not (letter and separator and reading):
            raise UsageError(f"{option} {text!r}: {part.strip()!r} is no reading; write it as X=3450,Y=40,Z=-60")
        if letter in found:
            raise UsageError(f"{option} {text!r}: {letter} is said twice; say once where it goes")
        found[letter] = reading
    return found


def _move(one: Mapping[str, Any], data: Mapping[str, Any], where: str) -> Move:
    routine = one.get("routine")
    return Move(
        where=where,
        to=_texts(one.get("to", {})),
        is_feed=one.get("how") == "feed",
        routine=None if routine is None else str(routine),
        frame=str(one.get("frame", data.get("frame", MACHINE))),
        tool_length_active=bool(one.get("tool_length_active", data.get("tool_length_active", False))),
    )


def _texts(readings: Mapping[str, Any]) -> dict[str, str]:
    return {str(k): f"{v:f}" if isinstance(v, Decimal) else str(v) for k, v in readings.items()}
