"""How far a tool as new hangs below the reading of the nose: pointing down, or at its worst over the whole tilt.

Tilted t below level, a rim of radius r that ends e from the nose hangs (g + e) sin t + (r - o) cos t below the tilt
axis; the greatest over all t is the root of (g + e)^2 + (r - o)^2, at tan t = (g + e) / (r - o), if t can be reached,
else at an end of the tilt. The tilt axis lies g above the reading. Source: docs/reference/rules.md, safe-z.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, Context, Decimal
from math import atan2, degrees

from profilekeeper.model.axis import Axis
from profilekeeper.model.known import Known
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Angle, Length, LengthUnit
from profilekeeper.rules.case import Case
from profilekeeper.rules.small_angle import cos_deg, sin_deg

__all__ = ["hang_below_nose"]

_HALF = Decimal("0.5")
_UP = Context(prec=60, rounding=ROUND_CEILING)
_GRID = Decimal("0.001")
_Rim = tuple[Decimal, Decimal, str]  # how far from the nose, radius (mm), pointer


def hang_below_nose(tool: Tool, case: Case) -> Known[Length]:
    """The greatest depth of a tool as new below the Z of the nose, at any tilt that the head can take.

    Units:   mm, rounded up to 0.001 where a root is taken. Without a tilt axis the spindle points down.
    """
    tilts = [axis for axis in case.axes.values() if axis.kind == "tilt"]
    lacks = tuple(f"{axis.pointer}/kind" for axis in case.axes.values() if axis.kind is None and axis.turns)
    if lacks:
        return Known(value=None, missing=lacks)
    return _at_any_tilt(tool, case, tilts[0]) if tilts else _pointing_down(tool, case)


def _pointing_down(tool: Tool, case: Case) -> Known[Length]:
    tips = [*_lengths(tool, case), *((s.to, s.pointer) for s in tool.sections if s.to is not None)]
    if not tips:
        return Known(value=None, missing=(f"{tool.pointer}/length_size/new",))
    value, pointer = max(tips, key=lambda tip: tip[0].base)
    return Known(value=value, used=(pointer,))


def _at_any_tilt(tool: Tool, case: Case, axis: Axis) -> Known[Length]:
    head = case.head
    rims = list(_rims(tool, case))
    at = f"{head.pointer}/pivot_to_gauge_line"
    lacks = [] if rims else [f"{tool.pointer}/sections"]
    lacks += [at] if head.pivot_to_gauge_line is None else []
    if lacks or head.pivot_to_gauge_line is None:
        return Known(value=None, missing=tuple(lacks))
    g = head.pivot_to_gauge_line.mm
    o = head.spindle_offset.mm if head.spindle_offset else Decimal(0)
    ends, used = _tilt_below_level(case, axis)
    deepest, pointer = max((_deepest(g + e, r - o, ends), at_rim) for e, r, at_rim in rims)
    depth = Length(_UP.subtract(deepest, g).quantize(_GRID, ROUND_CEILING), LengthUnit.MM)
    notes = () if ends else ("The tilt that can be reached is not recorded; every tilt is reckoned with.",)
    return Known(value=depth, used=(pointer, at, *used), notes=notes)


def _deepest(along: Decimal, across: Decimal, ends: tuple[Decimal, Decimal] | None) -> Decimal:
    """The greatest of along * sin t + across * cos t over the tilt (degrees), in mm."""
    root = _UP.sqrt(_UP.add(_UP.multiply(along, along), _UP.multiply(across, across)))
    if ends is None:
        return root
    worst = Decimal(degrees(atan2(along, across)))
    if ends[0] <= worst <= ends[1]:
        return root
    return max(_UP.add(_UP.multiply(along, sin_deg(t)), _UP.multiply(across, cos_deg(t))) for t in ends)


def _tilt_below_level(case: Case, axis: Axis) -> tuple[tuple[Decimal, Decimal] | None, tuple[str, ...]]:
    """The tilt in degrees below level, from its lowest to its highest; None where it is not recorded."""
    level, down, travel = case.head.spindle_level_at, case.head.spindle_down_at, axis.travel
    if level is None or down is None or level.deg == down.deg or travel is None:
        return None, ()
    if not isinstance(travel.low, Angle) or not isinstance(travel.high, Angle):
        return None, ()
    turned = [90 * (a.deg - level.deg) / (down.deg - level.deg) for a in (travel.low, travel.high)]
    if min(turned) < -180 or max(turned) > 180:
        return None, ()
    used = (f"{case.head.pointer}/spindle_level_at", f"{case.head.pointer}/spindle_down_at", travel.pointer)
    return (min(turned), max(turned)), used


def _rims(tool: Tool, case: Case) -> Iterator[_Rim]:
    """Every edge of tool and head that may be the lowest: as drawn, and the tip where a length says it is farther."""
    drawn = [*_edges(tool), *_blade(tool)]
    yield from drawn
    if drawn:
        far, radius, _ = max(drawn)
        yield from ((said.mm, radius, pointer) for said, pointer in _lengths(tool, case) if said.mm > far)
    for section in case.head.body:
        radii = [r.mm for r in (section.radius, section.end_radius) if r is not None]
        if drawn and radii and section.to is not None:
            yield section.to.mm, max(radii), section.pointer


def _edges(tool: Tool) -> Iterator[_Rim]:
    for section in tool.sections:
        for where, radius in ((section.start, section.radius), (section.to, section.end_radius)):
            if where is not None and radius is not None:
                yield where.mm, radius.mm, section.pointer


def _blade(tool: Tool) -> Iterator[_Rim]:
    """The far rim of a blade as new, where its seat is recorded."""
    if tool.kind == "blade" and tool.seat is not None and tool.diameter.new is not None:
        half = (tool.kerf or tool.core or Length(Decimal(0), LengthUnit.MM)).mm * _HALF
        yield tool.seat.mm + half, tool.diameter.new.mm * _HALF, f"{tool.pointer}/diameter/new"


def _lengths(tool: Tool, case: Case) -> Iterator[tuple[Length, str]]:
    """The lengths from nose to tip that are recorded: as new, and as the control holds it."""
    if tool.kind == "blade":
        return
    if tool.length_size.new is not None:
        yield abs(tool.length_size.new), f"{tool.pointer}/length_size/new"
    held = case.nose_to_tip(tool).value
    if held is not None:
        yield held, f"{tool.pointer}/length"
