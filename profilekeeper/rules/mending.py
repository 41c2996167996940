"""What would give the room that is wanted: a rise of Z, a smaller tool. Each is worked out, then judged anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from profilekeeper.clearance.bodies import Body
from profilekeeper.clearance.shapes import Section
from profilekeeper.rules.room import Ask, Room

__all__ = ["Smaller", "free_rise_mm", "rise_mm", "smaller_tool"]

_LEAST_PART = 0.1
"""Smaller than this share of its size a tool is no answer any more."""
_AT_ONCE = 16
_FAR_MM = 3000.0
"""More than any Z travels: how far a rise is looked for that only tells how deep contact is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smaller:
    """The largest tool of its kind that would do: its diameter, or its length from the nose."""

    what: str
    size_mm: float


def free_rise_mm(room: Room) -> float | None:
    """The rise of Z after which the parts, as recorded, come just free of what they hit; None: no rise does it."""
    from profilekeeper.clearance.lift import least_lift

    query = room.ask.query(worst=False, only=room.nominal.obstacle.name)
    return least_lift(query, required_mm=0.0, room_mm=_FAR_MM).high_mm


def rise_mm(room: Room, *, required_mm: float, room_mm: float, step_mm: float) -> float | None:
    """The least rise, in whole steps, after which the room wanted is there for sure; None: none within the travel."""
    from profilekeeper.clearance.lift import least_lift

    found = least_lift(room.ask.query(worst=True), required_mm=required_mm, room_mm=max(room_mm, 0.0))
    if found.high_mm is None:
        return None
    rise = ceil(found.high_mm / step_mm) * step_mm
    return rise if rise <= room_mm + 1e-9 and _does(room.ask, rise, required_mm) else None


def smaller_tool(room: Room, *, by_diameter: bool, required_mm: float, step_mm: float) -> Smaller | None:
    """The largest size of the tool, in whole steps, that has the room wanted for sure; None: no size worth offering."""
    whole = _size(room.ask.tool, by_diameter) / step_mm
    low, high = ceil(_LEAST_PART * whole), ceil(whole)
    best: int | None = None
    while high - low > 0:
        tried = sorted({low + (high - low) * k // _AT_ONCE for k in range(_AT_ONCE)})
        fits = _fitting(room.ask, [count * step_mm for count in tried], by_diameter, required_mm)
        if not fits[0]:
            break
        # A smaller tool never has less room, so what fits comes first.
        last = fits.index(False) - 1 if False in fits else len(tried) - 1
        best = tried[last]
        low, high = best + 1, tried[last + 1] if last + 1 < len(tried) else high
    return None if best is None else Smaller(what="diameter" if by_diameter else "length", size_mm=best * step_mm)


def _does(ask: Ask, rise: float, required_mm: float) -> bool:
    from profilekeeper.clearance.lift import risen
    from profilekeeper.clearance.sweep import gap

    return gap(risen(ask.query(worst=True), rise)).low_mm >= required_mm


def _fitting(ask: Ask, sizes: list[float], by_diameter: bool, required_mm: float) -> list[bool]:
    """Which sizes of the tool have the room wanted, all in one search."""
    from profilekeeper.clearance.sweep import gaps

    tools = [
        replace(ask.tool, sections=tuple(_cut(section, size, by_diameter) for section in ask.tool.sections))
        for size in sizes
    ]
    found = gaps([replace(ask, tool=tool).query(worst=True) for tool in tools])
    return [gap.low_mm >= required_mm for gap in found]


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
