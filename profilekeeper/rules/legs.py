"""The legs of one move: what its axes may pass on the way, by what the record says of rapids and routines.

Where no one has witnessed the order in which axes run, every path between the ends is reckoned with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.frames import JointBox, Joints, Span, Straight
from profilekeeper.clearance.path import SwivelWay, any_path, in_order, together
from profilekeeper.errors import InvalidShape
from profilekeeper.model.axis import Axis
from profilekeeper.model.conventions import Conventions
from profilekeeper.model.profile import Branch
from profilekeeper.quantities import Length
from profilekeeper.rules.say import listed

__all__ = ["EVERY_PATH", "Way", "axis_joints", "feed_way", "rapid_way", "routine_way", "switches", "swivel_way"]

EVERY_PATH = "every path"
_UNSEEN = "is recorded, but not who saw it at the machine and when; every path is reckoned with."


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """The legs of a move, one after another, and in words what was reckoned with."""

    legs: tuple[JointBox | Straight, ...]
    said: str
    notes: tuple[str, ...] = ()


def axis_joints(chain: Chain) -> dict[str, str]:
    """The axes that are worked out, by the letter that the machine gives them, with the field of `Joints`."""
    found = {"X": "x_mm", "Y": "y_mm", "Z": "z_mm"}
    if chain.tilt_letter is not None:
        found[chain.tilt_letter] = "tilt_deg"
    if chain.swivel_letter is not None:
        found[chain.swivel_letter] = "swivel_deg"
    return found


def swivel_way(axis: Axis | None, conventions: Conventions) -> SwivelWay:
    """Which way round the swivel goes: as read where it has ends and its reading does not jump, else either way."""
    if axis is None:
        return SwivelWay.AS_READ
    has_ends = not axis.unlimited and (axis.travel is not None or axis.soft_limits is not None)
    return SwivelWay.AS_READ if has_ends and not conventions.swivel_wraps else SwivelWay.UNKNOWN


def feed_way(start: Joints, end: Joints, way: SwivelWay) -> Way:
    """A feed: all axes start and end together, so that the tool goes where the program says."""
    if way is SwivelWay.UNKNOWN and start.swivel_deg != end.swivel_deg:
        note = "Which way round the head rotation goes is not known; every path, either way round, is reckoned with."
        return Way(legs=(any_path(start, end, way),), said=EVERY_PATH, notes=(note,))
    return Way(legs=(together(start, end),), said="all axes together")


def rapid_way(motion: Branch, chain: Chain, start: Joints, end: Joints, way: SwivelWay) -> Way:
    """A rapid, as `motion` says that rapids run; narrowed only by what was witnessed."""
    every = Way(legs=(any_path(start, end, way),), said=EVERY_PATH)
    kind = motion.text("rapids")
    if kind not in ("together", "in order"):
        return every
    if not _is_witnessed(motion):
        return replace(every, notes=(f"How rapids run {_UNSEEN}",))
    if kind == "together":
        return feed_way(start, end, way)
    return _ordered(motion, "rapids", chain, start, end, way, every)


def routine_way(
    routine: Branch, name: str, chain: Chain, start: Joints, end: Joints, way: SwivelWay, past: Mapping[str, float]
) -> Way:
    """A routine of the control; `past` are the switches it runs to on its way, by field of `Joints`."""
    every = Way(legs=(_past(start, end, past, way),), said=EVERY_PATH)
    if not routine.raw("order"):
        return replace(every, notes=(f"The order of routine {name} is not recorded; every path is reckoned with.",))
    if not _is_witnessed(routine):
        return replace(every, notes=(f"The order of routine {name} {_UNSEEN}",))
    return _ordered(routine, f"routine {name}", chain, start, end, way, every, past)


def switches(routine: Branch, axes: Mapping[str, Axis], chain: Chain, conventions: Conventions) -> dict[str, float]:
    """How far homing runs to find its switches: to the hard switch at the end it runs to, by field of `Joints`.

    An axis that knows its place without a switch (absolute), or of which the record does not say where its
    switch is, runs no farther than its end.
    """
    found: dict[str, float] = {}
    for letter, field in axis_joints(chain).items():
        towards, axis = routine.at("directions").text(letter), axes.get(letter)
        if towards is None or axis is None or axis.hard_switches is None or axis.absolute:
            continue
        end = axis.hard_switches.low if towards == "low" else axis.hard_switches.high
        upright = conventions.up(end) if letter == "Z" and isinstance(end, Length) else end
        found[field] = float(upright.base)
    return found


def _is_witnessed(branch: Branch) -> bool:
    seen = branch.at("witnessed")
    return bool(seen.text("by")) and seen.raw("date") is not None


def _ordered(
    branch: Branch,
    what: str,
    chain: Chain,
    start: Joints,
    end: Joints,
    way: SwivelWay,
    every: Way,
    past: Mapping[str, float] | None = None,
) -> Way:
    """The legs in the order witnessed; every path where that order does not name an axis that moves."""
    order = branch.raw("order") or ()
    groups = _groups(order, chain)
    try:
        legs = in_order(start, end, groups, way)
        if past:
            in_order(start, replace(start, **past), groups)
    except InvalidShape as error:
        return replace(every, notes=(f"The order of {what} does not do: {error}. Every path is reckoned with.",))
    if past:
        legs = tuple(_homing(start, end, groups, past, way))
    said = ", then ".join(listed(str(axis) for axis in group) for group in order)
    seen = branch.at("witnessed")
    return Way(legs=legs, said=f"{said} (seen by {seen.text('by')}, {seen.raw('date')})")


_AXES = {"x_mm": "X", "y_mm": "Y", "z_mm": "Z", "tilt_deg": "A", "swivel_deg": "C"}
_FIELDS = {letter: field for field, letter in _AXES.items()}


def _groups(order: Sequence[Sequence[object]], chain: Chain) -> list[list[str]]:
    """The groups in the letters that the search has; axes that carry neither head nor table are left out."""
    fields_by_letter = axis_joints(chain)
    return [[_AXES[fields_by_letter[str(a)]] for a in group if str(a) in fields_by_letter] for group in order]


def _homing(
    start: Joints, end: Joints, groups: Sequence[Sequence[str]], past: Mapping[str, float], way: SwivelWay
) -> list[JointBox]:
    """Group after group: to the switches, and from there to where the axes end."""
    legs: list[JointBox] = []
    here = start
    for group in groups:
        names = [_FIELDS[axis] for axis in group]
        there = replace(here, **{name: getattr(end, name) for name in names})
        box = _past(here, there, {name: past[name] for name in names if name in past}, way)
        if box != JointBox.at(here):
            legs.append(box)
        here = there
    return legs


def _past(here: Joints, there: Joints, past: Mapping[str, float], way: SwivelWay) -> JointBox:
    """Every path between two places that may run on to the switches."""
    box = any_path(here, there, way)
    if not past:
        return box
    return _around(box, JointBox.at(replace(there, **past)))


def _around(one: JointBox, other: JointBox) -> JointBox:
    spans = ((f.name, getattr(one, f.name), getattr(other, f.name)) for f in fields(JointBox))
    return JointBox(**{name: Span(low=min(a.low, b.low), high=max(a.high, b.high)) for name, a, b in spans})
