"""The finding of a swing: how much room there is at a place, what would give more, and for what it is true."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_HALF_EVEN

from profilekeeper.clearance.frames import JointBox
from profilekeeper.clearance.scene import Scene
from profilekeeper.model.position import Position
from profilekeeper.model.ruleset import Rule
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict, is_met
from profilekeeper.rules.mending import free_rise_mm, rise_mm, smaller_tool
from profilekeeper.rules.room import Room
from profilekeeper.rules.say import listed, place
from profilekeeper.rules.told import (
    NOT_MODELLED,
    Wanted,
    about,
    asked,
    length_of,
    margin_of,
    others_told,
    step_mm,
    wanted,
)

__all__ = ["told", "worst_first"]


def worst_first(found: tuple[Room, ...], want: Wanted) -> list[Room]:
    """The rooms by verdict, then by what is left for sure."""
    return sorted(found, key=lambda room: (-_verdict(room, want).rank, room.sure_mm - _required(room, want)))


def told(rule: Rule, case: Case, position: Position, scene: Scene, found: tuple[Room, ...]) -> Finding:
    """The finding of one place: the worst of its rooms, the others in a note."""
    want = wanted(rule, case.unit)
    worst, *rest = worst_first(found, want)
    verdict = _verdict(worst, want)
    top = scene.z_top_mm.value
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=position.pointer,
        sentence=f"{position.title}: {_sentence(worst, verdict, want, case)}",
        source=rule.source,
        settings=scene.z_top_mm.used,
        value=length_of(worst.gap_mm, case.unit, ROUND_HALF_EVEN),
        required=_required_length(worst, want, case),
        margin=margin_of(worst, _required(worst, want), case.unit),
        mend="" if is_met(verdict) else _mend(worst, want, case, position, top),
        notes=tuple(_notes(rule, scene, worst, rest, want, case)),
    )


def _verdict(room: Room, want: Wanted) -> Verdict:
    return room.verdict(_required(room, want), want.warn_mm)


def _required(room: Room, want: Wanted) -> float:
    """Bristles give way: of them only that they do not touch is wanted."""
    return 0.0 if room.ask.soft else want.required_mm


def _required_length(room: Room, want: Wanted, case: Case) -> Length:
    return length_of(_required(room, want), case.unit, ROUND_HALF_EVEN)


def _sentence(room: Room, verdict: Verdict, want: Wanted, case: Case) -> str:
    what = f"{room.ask.title} ({room.part})" if room.part and not room.ask.soft else room.ask.title
    thing, tilt = room.nominal.obstacle.name, f"at {room.nominal.joints.tilt_deg:.0f}° tilt"
    if room.nominal.is_contact:
        return f"{what} {'touch' if room.ask.soft else 'hits'} {thing} {tilt}{_how_deep(room, case)}."
    gap = about(room, case.unit)
    if verdict is Verdict.CLEAR:
        return f"{what} clears {thing} by {gap}, least {tilt}."
    required = _required_length(room, want, case)
    if verdict is Verdict.TIGHT:
        return f"{what} clears {thing} by {gap}, least {tilt}; {required} are wanted."
    return f"{what} comes as near as {gap} to {thing} {tilt}; {required} are wanted."


def _how_deep(room: Room, case: Case) -> str:
    rise = free_rise_mm(room)
    if rise is None:
        return ", and no rise of Z frees it"
    return f", by {length_of(rise, case.unit, ROUND_HALF_EVEN)} of height"


def _mend(room: Room, want: Wanted, case: Case, position: Position, top: float | None) -> str:
    """What was worked out and judged anew; the rise first, for it needs no other tool."""
    found = [*_raise(room, want, case, position, top), *_take_less(room, want, case)]
    if not found:
        return f"choose another place for {position.title}, or move {room.nominal.obstacle.name}"
    return ", or ".join(found)


def _raise(room: Room, want: Wanted, case: Case, position: Position, top: float | None) -> Iterator[str]:
    motion = room.ask.motion
    if top is None or not isinstance(motion, JointBox):
        return
    rise = rise_mm(
        room,
        required_mm=_required(room, want),
        room_mm=top - motion.z_mm.high,
        step_mm=step_mm(case.unit),
    )
    if rise is not None:
        yield f"raise {place(position.pointer + '/Z')} by {length_of(rise, case.unit, ROUND_CEILING)}"


def _take_less(room: Room, want: Wanted, case: Case) -> Iterator[str]:
    tool = next(t for t in case.tools.values() if t.title == room.ask.tool.title)
    by_diameter = tool.seat is not None or tool.kind == "blade"
    smaller = smaller_tool(room, by_diameter=by_diameter, required_mm=_required(room, want), step_mm=step_mm(case.unit))
    if smaller is not None:
        size = length_of(smaller.size_mm, case.unit, ROUND_HALF_EVEN)
        yield f"use a tool of {smaller.what} {size} at most in place of {tool.title}"


def _notes(rule: Rule, scene: Scene, worst: Room, rest: list[Room], want: Wanted, case: Case) -> Iterator[str]:
    mode = scene.compensation.value
    if mode == "switchable":
        yield "True with tool-centre compensation off; with it on X, Y and Z travel while the head tilts."
    elif mode is not None:
        yield f"True with tool-centre compensation {mode}."
    if rule.swivel != "free":
        yield "The head rotation is held where the position has it."
    yield from others_told(worst, rest, case.unit)
    yield from asked([worst, *rest], case.unit)
    people = [thing.title for thing in worst.ask.things if thing.people]
    if people:
        yield f"Room for people ({listed(people)}) is not judged here: no gap of this kind is a safeguarding distance."
    yield from want.notes
    yield NOT_MODELLED
