"""Moves from one set of readings to another: any path, all axes together, or in a witnessed order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor

from profilekeeper.clearance.frames import JointBox, Joints, Span, Straight
from profilekeeper.clearance.sweep import Gap, Query, gap, gaps
from profilekeeper.errors import InvalidShape

__all__ = ["FirstContact", "SwivelWay", "any_path", "first_contact", "in_order", "leg_gaps", "swivel_span", "together"]

_FIELDS = {"X": "x_mm", "Y": "y_mm", "Z": "z_mm", "A": "tilt_deg", "C": "swivel_deg"}
_WHEN_MM = 0.05


class SwivelWay(StrEnum):
    """Which way round a swivel goes between two readings."""

    AS_READ = "as read"
    SHORTEST = "shortest"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstContact:
    """Where a move first touches: it is free up to `free_share` of leg `leg`, in contact at `gap.joints`.

    `hit_share` is how far along that leg contact is; both shares are None on a leg whose axes run in
    an unknown order, where some path touches. Where `is_proven` is False the two come nearer than can
    be told from contact.
    """

    leg: int
    free_share: float | None
    hit_share: float | None
    gap: Gap
    is_proven: bool


def any_path(start: Joints, end: Joints, way: SwivelWay = SwivelWay.AS_READ) -> JointBox:
    """All readings a rapid may pass on its way, whatever the order its axes run in."""
    box = JointBox.between(start, end)
    return replace(box, swivel_deg=swivel_span(start.swivel_deg, end.swivel_deg, way))


def together(start: Joints, end: Joints, way: SwivelWay = SwivelWay.AS_READ) -> Straight:
    """The move on which all axes start and end together; an unknown way round is no single move."""
    if way is SwivelWay.UNKNOWN:
        raise InvalidShape("which way round the swivel goes is not known; ask for any path instead")
    if way is SwivelWay.SHORTEST:
        end = replace(end, swivel_deg=_shortest_end(start.swivel_deg, end.swivel_deg))
    return Straight(start=start, end=end)


def in_order(
    start: Joints, end: Joints, groups: Sequence[Sequence[str]], way: SwivelWay = SwivelWay.AS_READ
) -> tuple[JointBox | Straight, ...]:
    """The legs of a move whose axis groups run one after another; inside a group, any path.

    Raises:  InvalidShape, if an axis is unknown, named twice, or moves and is not named.
    """
    _check_groups(start, end, groups)
    legs: list[JointBox | Straight] = []
    here = start
    for group in groups:
        there = replace(here, **{_FIELDS[axis]: getattr(end, _FIELDS[axis]) for axis in group})
        if here != there:
            legs.append(_leg(here, there, group, way))
        here = there
    return tuple(legs)


def leg_gaps(query: Query, legs: Sequence[JointBox | Straight]) -> tuple[Gap, ...]:
    """The least gap of each leg; `query` says of what and against what."""
    return gaps([replace(query, motion=leg) for leg in legs])


def first_contact(query: Query, legs: Sequence[JointBox | Straight]) -> FirstContact | None:
    """The first contact along a move, or nothing where every leg is proven free.

    Units:   where along a straight leg is found to 0.05 mm of the fastest point's way, or a share of 1e-6.
    """
    for number, (leg, found) in enumerate(zip(legs, leg_gaps(query, legs), strict=True)):
        if found.low_mm > 0:
            continue
        if isinstance(leg, Straight):
            return _along(query, leg, number, found)
        return FirstContact(leg=number, free_share=None, hit_share=None, gap=found, is_proven=found.is_contact)
    return None


def swivel_span(start_deg: float, end_deg: float, way: SwivelWay) -> Span:
    """The swivel readings passed from one to another: the shorter way round may run across 180."""
    if way is SwivelWay.UNKNOWN:
        return Span(low=start_deg - 180.0, high=start_deg + 180.0)
    if way is SwivelWay.SHORTEST:
        end_deg = _shortest_end(start_deg, end_deg)
    return Span.between(start_deg, end_deg)


def _shortest_end(start_deg: float, end_deg: float) -> float:
    """The end as it reads when counted on from the start; at exactly half a turn, upwards."""
    ahead = end_deg - start_deg
    return start_deg + ahead - 360.0 * floor(ahead / 360.0 + 0.5) if ahead % 360.0 != 180.0 else start_deg + 180.0


def _check_groups(start: Joints, end: Joints, groups: Sequence[Sequence[str]]) -> None:
    named = [axis for group in groups for axis in group]
    unknown = sorted(set(named) - set(_FIELDS))
    if unknown:
        raise InvalidShape(f"the order names {', '.join(unknown)}; the axes are X, Y, Z, A and C")
    if len(named) != len(set(named)):
        raise InvalidShape("the order names an axis twice")
    moving = [axis for axis, field in _FIELDS.items() if getattr(start, field) != getattr(end, field)]
    missing = sorted(set(moving) - set(named))
    if missing:
        raise InvalidShape(f"{', '.join(missing)} moves, but the order does not say when; name every moving axis")


def _leg(here: Joints, there: Joints, group: Sequence[str], way: SwivelWay) -> JointBox | Straight:
    moving = [axis for axis in group if getattr(here, _FIELDS[axis]) != getattr(there, _FIELDS[axis])]
    if len(moving) == 1 and not (moving == ["C"] and way is SwivelWay.UNKNOWN):
        return together(here, there, way)
    return any_path(here, there, way)


def _along(query: Query, leg: Straight, number: int, found: Gap) -> FirstContact:
    """Halve the stretch before the earliest contact known until it is short; the first half goes first."""
    free, hit, proven = 0.0, found.share or 0.0, found.is_contact
    last = found
    # Where contact itself is not proven, from there on it cannot be excluded.
    while hit - free > max(1e-6, _WHEN_MM / _way_mm(query, leg)):
        middle = (free + hit) / 2
        part = leg.part(free, middle)
        tried = gap(replace(query, motion=part))
        if tried.low_mm > 0:
            free = middle
            continue
        hit = free + (middle - free) * (tried.share or 0.0)
        last, proven = tried, tried.is_contact
    return FirstContact(leg=number, free_share=free, hit_share=hit, gap=last, is_proven=proven)


def _way_mm(query: Query, leg: Straight) -> float:
    """No point of the tool travels farther on the leg than this."""
    head, one, other = query.head, leg.start, leg.end
    arm = max(abs(head.pivot_to_gauge_line_mm) + abs(s.from_mm) + abs(s.to_mm) + s.radius_from_mm + s.radius_to_mm
              for s in query.sections)  # fmt: skip
    arm += sum(map(abs, (*head.swivel_to_tilt_mm, *head.tilt_to_spindle_mm)))
    turn = abs(other.tilt_deg - one.tilt_deg) + abs(other.swivel_deg - one.swivel_deg)
    shift = abs(other.x_mm - one.x_mm) + abs(other.y_mm - one.y_mm) + abs(other.z_mm - one.z_mm)
    return shift + 0.0175 * turn * arm + 1e-9
