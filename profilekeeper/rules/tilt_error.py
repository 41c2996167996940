"""How a tool stood at touch-off, and what a tilt reading off its mark adds to the length or radius found.

Derivation: docs/reference/rules.md, adds-up: the tilt reading.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal

from profilekeeper.model.head import Head
from profilekeeper.model.known import Known
from profilekeeper.model.tool import Tool, TouchOff
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.small_angle import cos_deg, sin_deg

__all__ = ["BLADE_UPRIGHT", "SPINDLE_DOWN", "TILTED", "attitude_of", "tilt_error"]

SPINDLE_DOWN = "spindle down"
BLADE_UPRIGHT = "blade upright"
TILTED = "tilted"
# Source: common practice, no source: beyond five degrees nobody means "level" or "down".
_NEAR_DEG = Decimal(5)
_RIGHT = Decimal(90)


def attitude_of(tool: Tool, touch: TouchOff, head: Head) -> tuple[str, tuple[str, ...]]:
    """How the tool stood: as noted, else by the tilt reading, else as its kind is always touched; with notes.

    A noted attitude that the tilt reading contradicts is "tilted": it cannot be closed.
    """
    below = below_level_deg(touch, head)
    by_reading = None if below is None else _by_angle(below)
    if touch.attitude is not None and by_reading not in (None, touch.attitude):
        return TILTED, (f"It is noted as {touch.attitude}, but the tilt read {touch.tilt}.",)
    if touch.attitude == TILTED or (touch.attitude is None and by_reading == TILTED):
        return TILTED, (f"It was touched off tilted{f', at {touch.tilt}' if touch.tilt else ''}.",)
    usual = BLADE_UPRIGHT if tool.kind == "blade" else SPINDLE_DOWN
    attitude = touch.attitude or by_reading or usual
    notes = () if touch.attitude or by_reading else (f"How it stood is not noted; taken as {usual}.",)
    asked = () if touch.tilt is not None else ("The tilt reading is not noted: off its mark it adds to the length.",)
    return attitude, (*notes, *asked)


def below_level_deg(touch: TouchOff, head: Head) -> Decimal | None:
    """How far the spindle pointed below level at touch, in degrees: 0 level, 90 down; None: not known."""
    level, down = head.spindle_level_at, head.spindle_down_at
    if touch.tilt is None or level is None or down is None or level.deg == down.deg:
        return None
    return _RIGHT * (touch.tilt.deg - level.deg) / (down.deg - level.deg)


def tilt_error(tool: Tool, touch: TouchOff, head: Head, attitude: str) -> Known[Length]:
    """How much too long (or too big in radius) the touch-off finds the tool, because it stood off its mark.

    Units:   a length, rounded to 0.01 mm; None where a datum is missing, and then the notes say which.
    """
    below = below_level_deg(touch, head)
    if below is None:
        return Known(value=None)
    off = below if attitude == BLADE_UPRIGHT else _RIGHT - below
    if off == 0:
        return Known(value=Length(Decimal(0), LengthUnit.MM))
    g = head.pivot_to_gauge_line
    size = _size(tool)
    if g is None or size is None:
        lacks = "pivot to spindle nose" if g is None else f"{'seat' if attitude == BLADE_UPRIGHT else 'shape'} of it"
        note = f"The tilt read {touch.tilt}; what that adds is not worked out, for the {lacks} is not recorded."
        return Known(value=None, notes=(note,))
    reach, radius = size
    o = head.spindle_offset.mm if head.spindle_offset else Decimal(0)
    depth = g.mm + reach.mm
    if attitude == BLADE_UPRIGHT:
        error = radius.mm * (cos_deg(off) - 1) + depth * sin_deg(off) + o * (1 - cos_deg(off))
    else:
        error = depth * (cos_deg(off) - 1) + radius.mm * sin_deg(abs(off)) - o * sin_deg(off)
    return Known(value=Length(error.quantize(Decimal("0.01"), ROUND_HALF_EVEN), LengthUnit.MM))


def _by_angle(below: Decimal) -> str:
    if abs(below - _RIGHT) <= _NEAR_DEG:
        return SPINDLE_DOWN
    return BLADE_UPRIGHT if abs(below) <= _NEAR_DEG else TILTED


def _size(tool: Tool) -> tuple[Length, Length] | None:
    """How far from the nose the touching rim lies, and its radius: a blade at its seat, else the tip's slice."""
    if tool.kind == "blade" and tool.seat is not None:
        across = tool.diameter.now or tool.diameter_in_control or tool.diameter.new
        return None if across is None else (tool.seat, across * Decimal("0.5"))
    rims = [(s.to, s.end_radius) for s in tool.sections if s.to is not None and s.end_radius is not None]
    return max(rims, key=lambda rim: (rim[0].mm, rim[1].mm), default=None)
