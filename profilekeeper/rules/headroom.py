"""headroom: with Z at its top the head tilts over the thickest stone on the highest point of the table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN

from profilekeeper.clearance.bodies import Body
from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.closeness import Close
from profilekeeper.clearance.frames import Frame, JointBox, Span
from profilekeeper.clearance.scene import Scene, scene_of
from profilekeeper.clearance.shapes import rectangle
from profilekeeper.clearance.surroundings import Stone, Thing
from profilekeeper.model.known import Known
from profilekeeper.model.ruleset import Rule
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict, is_met
from profilekeeper.rules.room import Ask, Room, rooms
from profilekeeper.rules.swing_told import worst_first
from profilekeeper.rules.told import (
    NOT_MODELLED,
    Wanted,
    about,
    asked,
    length_of,
    margin_of,
    not_known,
    others_told,
    wanted,
    with_unknown,
)

__all__ = ["judge_headroom"]

_WIDE_MM = 10_000.0
"""The stone is taken to lie everywhere below the head: no head reaches that far."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Over:
    """What is asked over one table, and what is missing for it."""

    pointer: str
    name: str
    asks: tuple[Ask, ...] = ()
    unknown: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def judge_headroom(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every table: the worst of all tools, each as new, over the thickest stone.

    `margin` of the rule is the room to keep, `warn_within` the warning distance.
    Source:  docs/reference/rules.md, headroom.
    """
    scene = scene_of(case.profile)
    if not case.tables:
        yield not_known(rule, case, "/tables", "The room over the stone", ("/tables",), ())
        return
    places = [_over(case, scene, name) for name in case.tables]
    answered = iter(rooms([ask for place in places for ask in place.asks]))
    for place in places:
        yield _judged(rule, case, place, scene, tuple(next(answered) for _ in place.asks))


def _over(case: Case, scene: Scene, name: str) -> _Over:
    table = case.tables[name]
    stone = scene.stones[name]
    common: list[Known[Chain] | Known[float] | Known[Stone] | Known[Body]] = [scene.chain, scene.z_top_mm, stone]
    if scene.does_tilt:
        common.append(scene.body)
    missing = tuple(p for part in common for p in part.missing)
    used = tuple(p for part in common for p in part.used)
    notes = tuple(n for part in common for n in part.notes)
    place = _Over(pointer=table.pointer, name=name, used=used, notes=notes, missing=missing)
    if missing or scene.chain.value is None or scene.z_top_mm.value is None or stone.value is None:
        return place
    thing, motion = _flat(stone.value), _at_top(scene.chain.value, scene.z_top_mm.value)
    others = () if scene.body.value is None else (scene.body.value,)
    for number, tool in case.tools.items():
        body = scene.tools[number]
        place = replace(place, notes=(*place.notes, *body.notes))
        if body.value is None:
            unknown, lacks = (*place.unknown, tool.title), (*place.missing, *body.missing)
            place = replace(place, unknown=unknown, missing=lacks)
            continue
        hard = Ask(
            title=tool.title,
            tool=body.value,
            others=others,
            soft=False,
            chain=scene.chain.value,
            things=(thing,),
            motion=motion,
        )
        soft = (replace(hard, title=f"the bristles of {tool.title}", soft=True),) if body.value.is_soft else ()
        place = replace(place, asks=(*place.asks, hard, *soft), used=(*place.used, *body.used))
    return place


def _flat(stone: Stone) -> Thing:
    return Thing(
        title=f"the stone on table {stone.table}",
        pointer="/slab/largest",
        outline_mm=rectangle(-_WIDE_MM, _WIDE_MM, -_WIDE_MM, _WIDE_MM),
        from_mm=min(stone.bottom_mm, stone.top_mm),
        to_mm=stone.top_mm,
        frame=Frame.TABLE,
        sideways=Close(),
        upright=stone.close,
    )


def _at_top(chain: Chain, top_mm: float) -> JointBox:
    """Z at its top; the stone is flat and lies everywhere, so X, Y and the rotation change nothing."""
    still = Span.at(0.0)
    return JointBox(x_mm=still, y_mm=still, z_mm=Span.at(top_mm), tilt_deg=chain.tilt, swivel_deg=still)


def _judged(rule: Rule, case: Case, place: _Over, scene: Scene, found: tuple[Room, ...]) -> Finding:
    title = f"table {place.name}: the room over the stone"
    if not found:
        return not_known(rule, case, place.pointer, title, place.missing or ("/tools",), place.notes)
    want = wanted(rule, case.unit)
    worst, *rest = worst_first(found, want)
    required = 0.0 if worst.ask.soft else want.required_mm
    verdict = worst.verdict(required, want.warn_mm)
    finding = Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=place.pointer,
        sentence=f"table {place.name}: {_sentence(worst, verdict, want, scene, case)}",
        source=rule.source,
        settings=tuple(dict.fromkeys(place.used)),
        value=length_of(worst.gap_mm, case.unit, ROUND_HALF_EVEN),
        required=length_of(required, case.unit, ROUND_HALF_EVEN),
        margin=margin_of(worst, required, case.unit),
        mend="" if is_met(verdict) else _mend(worst, required, case),
        notes=tuple(dict.fromkeys((*place.notes, *_notes(worst, rest, want, case)))),
    )
    return with_unknown(finding, place.missing, ", ".join(place.unknown))


def _sentence(room: Room, verdict: Verdict, want: Wanted, scene: Scene, case: Case) -> str:
    thing = room.nominal.obstacle.name
    how = f"tilting, least at {room.nominal.joints.tilt_deg:.0f}° tilt" if scene.does_tilt else "pointing down"
    what = f"{room.ask.title} ({room.part})" if room.part and not room.ask.soft else room.ask.title
    if room.nominal.is_contact:
        return f"even with Z at its top {what} meets {thing} ({how})."
    tail = "" if verdict is Verdict.CLEAR else f"; {want.required} are wanted"
    return f"with Z at its top {what} passes over {thing} by {about(room, case.unit)} ({how}){tail}."


def _mend(room: Room, required_mm: float, case: Case) -> str:
    """The thinnest cut that would do, judged anew: the top of the stone lower by what is missing."""
    lowered = _lowered(room, required_mm)
    if lowered is None:
        return f"use a smaller tool than {room.ask.tool.title} over this stone"
    top = length_of(lowered, case.unit, ROUND_FLOOR)
    return f"keep the top of the stone at or below Z {top}, or use a smaller tool than {room.ask.tool.title}"


def _lowered(room: Room, required_mm: float) -> float | None:
    """The highest top of a stone that leaves the room wanted for sure."""
    from profilekeeper.clearance.lift import least_lift

    found = least_lift(room.ask.query(worst=True), required_mm=required_mm, room_mm=_WIDE_MM)
    return None if found.high_mm is None else room.ask.things[0].to_mm - found.high_mm


def _notes(worst: Room, rest: list[Room], want: Wanted, case: Case) -> Iterator[str]:
    yield from others_told(worst, rest, case.unit)
    yield from asked([worst, *rest], case.unit)
    yield from want.notes
    yield NOT_MODELLED
