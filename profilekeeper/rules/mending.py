"""What would give the room that is wanted: a rise of Z, a smaller tool. Each is worked out, then judged anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import TYPE_CHECKING

from profilekeeper.clearance.bodies import Body
from profilekeeper.clearance.shapes import Section
from profilekeeper.rules.room import Ask, Room

if TYPE_CHECKING:
    from profilekeeper.clearance.lift import Lift

__all__ = ["Smaller", "free_rise_mm", "rise_mm", "smaller_tool"]

_LEAST_PART = 0.1
"""Smaller than this share of its size a tool is no answer any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smaller:
    """The largest tool of its kind that would do: its diameter, or its length from the nose."""

    what: str
    size_mm: float


def free_rise_mm(room: Room) -> float | None:
    """By how much Z would have to rise for the parts, as recorded, to come just free; None: no rise frees them."""
    found = _lift(room.ask, worst=False, required_mm=0.0, room_mm=_FAR_MM)
    return found.high_mm


_FAR_MM = 3000.0


def rise_mm(room: Room, *, required_mm: float, room_mm: float, step_mm: float) -> float | None:
    """The least rise, in whole steps, after which the room wanted is there for sure; None: none within the travel."""
    found = _lift(room.ask, worst=True, required_mm=required_mm, room_mm=max(room_mm, 0.0))
    if found.high_mm is None:
        return None
    rise = ceil(found.high_mm / step_mm) * step_mm
    return rise if rise <= room_mm + 1e-9 and _does(room.ask, rise, required_mm) else None


def smaller_tool(room: Room, *, by_diameter: bool, required_mm: float, step_mm: float) -> Smaller | None:
    """The largest size of the tool, in whole steps downwards, that has the room wanted for sure."""
    whole = _size(room.ask.tool, by_diameter)
    low, high = _LEAST_PART * whole, whole
    if not _fits(room.ask, low, by_diameter, required_mm):
        return None
    while high - low > step_mm / 2:
        middle = (low + high) / 2
        low, high = (middle, high) if _fits(room.ask, middle, by_diameter, required_mm) else (low, middle)
    size = floor(low / step_mm) * step_mm
    if not _fits(room.ask, size, by_diameter, required_mm):
        return None
    return Smaller(what="diameter" if by_diameter else "length", size_mm=size)


def _lift(ask: Ask, *, worst: bool, required_mm: float, room_mm: float) -> Lift:
    from profilekeeper.clearance.lift import least_lift

    return least_lift(ask.query(worst=worst), required_mm=required_mm, room_mm=room_mm)


def _does(ask: Ask, rise: float, required_mm: float) -> bool:
    from profilekeeper.clearance.lift import risen
    from profilekeeper.clearance.sweep import gap

    return gap(risen(ask.query(worst=True), rise)).low_mm >= required_mm


def _fits(ask: Ask, size: float, by_diameter: bool, required_mm: float) -> bool:
    from profilekeeper.clearance.sweep import gap

    cut = tuple(_cut(section, size, by_diameter) for section in ask.tool.sections)
    smaller = replace(ask, tool=replace(ask.tool, sections=cut))
    return gap(smaller.query(worst=True)).low_mm >= required_mm


def _size(body: Body, by_diameter: bool) -> float:
    if by_diameter:
        return 2 * max(max(s.radius_from_mm, s.radius_to_mm) for s in body.sections)
    return max(section.to_mm for section in body.sections)


def _cut(section: Section, size: float, by_diameter: bool) -> Section:
    """The section with nothing beyond the diameter or the length."""
    if by_diameter:
        one, other = (min(radius, size / 2) for radius in (section.radius_from_mm, section.radius_to_mm))
        return replace(section, radius_from_mm=one, radius_to_mm=other)
    return replace(section, from_mm=min(section.from_mm, size), to_mm=min(section.to_mm, size))
