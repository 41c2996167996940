"""swing: the head tilts through its whole range where tools are changed, each tool as new, and stays clear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.frames import JointBox, Span, TipHeld
from profilekeeper.clearance.scene import Scene, scene_of
from profilekeeper.model.axis import Reading
from profilekeeper.model.known import Known
from profilekeeper.model.place import machine_reading, nose_reading
from profilekeeper.model.position import Position
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Angle, Length
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding
from profilekeeper.rules.room import Ask, Room, rooms
from profilekeeper.rules.swing_told import told
from profilekeeper.rules.told import not_known, with_unknown

__all__ = ["judge_swing", "swing_asks"]

_PLACES = ("tool change", "set-up")
FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """One place where tools are changed: what is asked there, and for which tools a datum is missing."""

    position: Position
    asks: tuple[Ask, ...] = ()
    unknown: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def judge_swing(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every tool-change position and set-up: the worst of the tools that it is for.

    `margin` of the rule is the room to keep, `warn_within` the warning distance, `swivel: free` lets the head turn
    through its whole range too. Every question of the machine goes into one search.
    Source:  docs/reference/rules.md, swing.
    """
    scene = scene_of(case.profile)
    if not scene.does_tilt and scene.chain.value is not None:
        return  # a spindle that always points down swings nowhere
    positions = [p for p in case.positions if p.what in _PLACES]
    if not positions:
        yield not_known(rule, case, "/tool_changes", "Whether the head swings clear", ("/tool_changes",), ())
        return
    places = [_place(rule, case, scene, position) for position in positions]
    answered = iter(rooms([ask for place in places for ask in place.asks]))
    for place in places:
        yield _judged(rule, case, place, scene, tuple(next(answered) for _ in place.asks))


def swing_asks(rule: Rule, case: Case, scene: Scene, position: Position, tool: Tool) -> Known[tuple[Ask, ...]]:
    """What the rule asks of one tool at one position, wherever that is; or what the record lacks for it.

    The first is about all that is hard; where the tool has bristles a second one is about them.
    """
    spot = _spot(rule, case, scene, position, tool)
    parts = (scene.chain, scene.body, scene.surroundings, scene.compensation, scene.tools[tool.number], spot)
    missing = tuple(dict.fromkeys(p for part in parts for p in part.missing))
    notes = tuple(dict.fromkeys(n for part in parts for n in part.notes))
    used = tuple(dict.fromkeys(p for part in parts for p in part.used))
    if missing:
        return Known(value=None, used=used, missing=missing, notes=notes)
    asks = _with_tool(_Place(position=position), scene, tool, spot).asks
    return Known(value=asks, used=used, notes=notes)


def _judged(rule: Rule, case: Case, place: _Place, scene: Scene, found: tuple[Room, ...]) -> Finding:
    title = f"{place.position.title}: whether the head swings clear"
    if not found:
        lacks = place.missing or ("/tools",)
        return not_known(rule, case, place.position.pointer, title, lacks, place.notes)
    finding = told(rule, case, place.position, scene, found)
    finding = replace(
        finding,
        settings=tuple(dict.fromkeys((*place.used, *finding.settings))),
        notes=tuple(dict.fromkeys((*place.notes, *finding.notes))),
    )
    return with_unknown(finding, place.missing, ", ".join(place.unknown))


def _place(rule: Rule, case: Case, scene: Scene, position: Position) -> _Place:
    """What to ask at a position, for every tool that may be in the spindle there."""
    common = (scene.chain, scene.body, scene.surroundings, scene.compensation)
    lacks = tuple(p for part in common for p in part.missing)
    notes = tuple(n for part in common for n in part.notes)
    used = tuple(p for part in common for p in part.used)
    tools, absent = _tools_at(case, position)
    spots = [(tool, _spot(rule, case, scene, position, tool)) for tool in tools]
    if lacks:
        every = (*lacks, *absent, *(p for _, spot in spots for p in spot.missing))
        return _Place(position=position, missing=every, notes=notes)
    place = _Place(position=position, missing=absent, used=used, notes=notes)
    for tool, spot in spots:
        place = _with_tool(place, scene, tool, spot)
    return place


def _with_tool(place: _Place, scene: Scene, tool: Tool, spot: Known[_Spot]) -> _Place:
    body = scene.tools[tool.number]
    missing = (*spot.missing, *body.missing)
    notes = (*place.notes, *body.notes, *spot.notes)
    if missing or body.value is None or spot.value is None or scene.body.value is None:
        unknown = (*place.unknown, tool.title)
        return replace(place, unknown=unknown, missing=(*place.missing, *missing), notes=notes)
    chain, things = scene.chain.value, scene.surroundings.value
    assert chain is not None
    assert things is not None
    hard = Ask(
        title=tool.title,
        tool=body.value,
        others=(scene.body.value,),
        soft=False,
        chain=chain,
        things=things,
        motion=spot.value.motion,
        tip_held=spot.value.tip_held,
    )
    asks = (*place.asks, hard)
    if body.value.is_soft:
        asks = (*asks, replace(hard, title=f"the bristles of {tool.title}", soft=True))
    used = (*place.used, *spot.used, *body.used)
    return replace(place, asks=asks, used=used, notes=notes)


def _tools_at(case: Case, position: Position) -> tuple[tuple[Tool, ...], tuple[str, ...]]:
    """The tools a place is for, and the pointers of named ones that are not there.

    A tool change is for those it names, else for all that no other names; a set-up for the tool of its own name,
    else for all that no tool change names.
    """
    if position.tools:
        absent = tuple(f"/tools/{number}" for number in position.tools if number not in case.tools)
        return tuple(case.tools[n] for n in position.tools if n in case.tools), absent
    if position.what == "set-up":
        namesakes = tuple(t for t in case.tools.values() if position.name in (t.name, t.number))
        if namesakes:
            return namesakes, ()
    elsewhere = {number for p in case.positions if p.what == "tool change" for number in p.tools}
    return tuple(tool for number, tool in case.tools.items() if number not in elsewhere), ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """The movement at a place with one tool."""

    motion: JointBox
    tip_held: TipHeld | None


def _spot(rule: Rule, case: Case, scene: Scene, position: Position, tool: Tool) -> Known[_Spot]:
    """Where the head stands, and what it sweeps: its whole tilt, the swivel held or free, the tip held or not."""
    chain = scene.chain.value
    if chain is None:
        return Known(value=None)
    x, y = (_reading(case, position, letter) for letter in "XY")
    z, turn = _nose(case, position, tool), _turn(rule, case, position, chain)
    held = _held(rule, case, scene, position, tool, chain)
    parts: tuple[Known[float] | Known[Span] | Known[TipHeld | None], ...] = (x, y, z, turn, held)
    missing = tuple(p for part in parts for p in part.missing)
    used = tuple(p for part in parts for p in part.used)
    notes = tuple(n for part in parts for n in part.notes)
    if missing or x.value is None or y.value is None or z.value is None or turn.value is None:
        return Known(value=None, used=used, missing=missing, notes=notes)
    motion = JointBox(
        x_mm=Span.at(x.value),
        y_mm=Span.at(y.value),
        z_mm=Span.at(z.value),
        tilt_deg=chain.tilt,
        swivel_deg=turn.value,
    )
    return Known(value=_Spot(motion=motion, tip_held=held.value), used=used, notes=notes)


def _reading(case: Case, position: Position, letter: str) -> Known[float]:
    """A machine reading in mm or degrees."""
    found = machine_reading(position, letter, case.zeros, case.conventions)
    notes: tuple[str, ...] = ()
    if len(found.used) > 1 and case.conventions.offset_sign is None:
        notes = ("The record does not say whether work zeros are added; they are taken as added.",)
    return _plain(found, None if found.value is None else float(found.value.base), notes)


def _nose(case: Case, position: Position, tool: Tool) -> Known[float]:
    """The Z of the nose, counted upwards: higher than the reading by the tool where a length is active."""
    found = machine_reading(position, "Z", case.zeros, case.conventions)
    if position.tool_length_active is None:
        return Known(value=None, used=found.used, missing=(*found.missing, f"{position.pointer}/tool_length_active"))
    if not isinstance(found.value, Length):
        return Known(value=None, used=found.used, missing=found.missing or (f"{position.pointer}/Z",))
    if not position.tool_length_active:
        return Known(value=float(case.conventions.up(found.value).mm), used=found.used)
    length = case.nose_to_tip(tool)
    used = (*found.used, *length.used)
    if length.value is None:
        return Known(value=None, used=used, missing=length.missing)
    nose = nose_reading(found.value, length.value, case.conventions)
    return Known(value=float(case.conventions.up(nose).mm), used=used)


def _turn(rule: Rule, case: Case, position: Position, chain: Chain) -> Known[Span]:
    """The swivel's readings: held where the position holds it, or its whole range where the rule says free."""
    if chain.swivel_letter is None:
        return Known(value=Span.at(0.0))
    if rule.swivel == FREE:
        return Known(value=chain.swivel)
    found = _reading(case, position, chain.swivel_letter)
    return Known(
        value=None if found.value is None else Span.at(found.value),
        used=found.used,
        missing=found.missing,
        notes=found.notes,
    )


def _held(rule: Rule, case: Case, scene: Scene, position: Position, tool: Tool, chain: Chain) -> Known[TipHeld | None]:
    """Where compensation is on, X, Y and Z follow the tip: that needs its length and the tilt it begins at."""
    if scene.compensation.value != "on" or chain.tilt_letter is None:
        return Known(value=None)
    length, tilt = case.nose_to_tip(tool), _reading(case, position, chain.tilt_letter)
    turn = _turn(replace(rule, swivel=None), case, position, chain)
    missing = (*length.missing, *tilt.missing, *turn.missing)
    used = (*length.used, *tilt.used, *turn.used)
    if length.value is None or tilt.value is None or turn.value is None:
        return Known(value=None, used=used, missing=missing)
    held = TipHeld(tip_mm=float(length.value.mm), start_tilt_deg=tilt.value, start_swivel_deg=turn.value.middle)
    return Known(value=held, used=used)


def _plain(found: Known[Reading], value: float | None, notes: tuple[str, ...]) -> Known[float]:
    """The same pointers with a plain number."""
    assert found.value is None or isinstance(found.value, (Length, Angle))
    return Known(value=value, used=found.used, missing=found.missing, notes=notes)
