"""Where a stored position is in machine readings, whatever it is counted from."""

from __future__ import annotations

from collections.abc import Mapping

from profilekeeper.model.axis import Reading
from profilekeeper.model.conventions import Conventions
from profilekeeper.model.known import Known
from profilekeeper.model.position import MACHINE, Position
from profilekeeper.quantities import Angle, Length

__all__ = ["machine_reading", "nose_reading", "zeros_of"]


def zeros_of(positions: tuple[Position, ...]) -> dict[str, Position]:
    """The work zeros among some positions, by name."""
    return {p.name: p for p in positions if p.what == "work zero"}


def machine_reading(
    position: Position, letter: str, zeros: Mapping[str, Position], conventions: Conventions
) -> Known[Reading]:
    """What one axis reads in the machine frame at a position; a tool length is not looked at.

    Source:  NISTIR 6556 section 3.5.13 and docs/reference/rules.md, travel: machine reading = reading + zero
             (minus, where the conventions say so), again and again until the frame is the machine's.
    """
    pointer = f"{position.pointer}/{letter}"
    reading = position.readings.get(letter)
    if reading is None:
        return Known(value=None, missing=(pointer,))
    used, here, seen = [pointer], position, {""}
    while here.frame != MACHINE:
        zero = None if here.frame is None else zeros.get(here.frame)
        lacks = _lacking(here, zero, letter, seen)
        if lacks or zero is None:
            return Known(value=None, used=tuple(used), missing=(lacks,))
        seen.add(zero.pointer)
        used.append(f"{zero.pointer}/{letter}")
        moved = _offset(reading, zero.readings[letter], conventions)
        if moved is None:
            return Known(value=None, used=tuple(used), missing=(f"{zero.pointer}/{letter}",))
        reading, here = moved, zero
    return Known(value=reading, used=tuple(used))


def nose_reading(reading: Length, below_nose: Length, conventions: Conventions) -> Length:
    """The Z of the spindle nose, as shown, where the tip that lies `below_nose` under it reads `reading`."""
    return conventions.shown(conventions.up(reading) + below_nose)


def _lacking(here: Position, zero: Position | None, letter: str, seen: set[str]) -> str:
    """The pointer of the frame datum that is missing to go one frame on; empty if none is."""
    if here.frame is None or (zero is not None and zero.pointer in seen):
        return f"{here.pointer}/frame"  # not said, or zeros counted from one another in a ring
    if zero is None:
        return f"/work_offsets/{here.frame}"
    return "" if letter in zero.readings else f"{zero.pointer}/{letter}"


def _offset(reading: Reading, zero: Reading, conventions: Conventions) -> Reading | None:
    added = conventions.offset_sign != "subtracted"
    if isinstance(reading, Length) and isinstance(zero, Length):
        return reading + zero if added else reading - zero
    if isinstance(reading, Angle) and isinstance(zero, Angle):
        return reading + zero if added else reading - zero
    return None
