"""travel: positions, tool changes, work zeros and safe Z inside the travel; limits inside switches inside stops."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.axis import Axis, Range, Reading
from profilekeeper.model.known import Known, missing_of, used_of
from profilekeeper.model.place import machine_reading, nose_reading
from profilekeeper.model.position import Position
from profilekeeper.model.ruleset import Amount, Rule
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.numbers import minus_reading
from profilekeeper.rules.say import listed, place, recorded
from profilekeeper.rules.travel_limits import judge_limits

__all__ = ["judge_travel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """One reading to be judged: what a technician calls it, its pointer, and where the axis then really stands.

    `stands` holds one machine reading for each case that may arise (one a tool, where a length is active).
    """

    title: str
    pointer: str
    letter: str
    stands: tuple[Known[Reading], ...]
    is_zero: bool = False
    notes: tuple[str, ...] = ()


def judge_travel(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every reading of every place, then for the limits of every axis.

    `margin` of the rule is room to keep to the end; within `warn_within` of it the verdict is tight.
    """
    for spot in _spots(case):
        yield _judged(rule, case, spot)
    for axis in case.axes.values():
        yield from judge_limits(rule, case, axis)


def _spots(case: Case) -> Iterator[_Spot]:
    for position in case.positions:
        for letter in position.readings:
            yield _spot(case, position, letter)
    yield from _safe_heights(case)


def _spot(case: Case, position: Position, letter: str) -> _Spot:
    reading = machine_reading(position, letter, case.zeros, case.conventions)
    pointer = f"{position.pointer}/{letter}"
    notes: tuple[str, ...] = ()
    if len(reading.used) > 1 and case.conventions.offset_sign is None:
        notes = ("The record does not say whether work zeros are added; they are taken as added.",)
    if position.what == "work zero":
        return _Spot(title=position.title, pointer=pointer, letter=letter, stands=(reading,), is_zero=True)
    stands = (reading,) if letter != "Z" else _nose(case, reading, position, _tools_at(case, position))
    return _Spot(title=position.title, pointer=pointer, letter=letter, stands=stands, notes=notes)


def _nose(
    case: Case, reading: Known[Reading], position: Position, tools: tuple[Tool, ...]
) -> tuple[Known[Reading], ...]:
    """Where the nose stands: as read, or higher by the length of each tool where a tool length is active."""
    if position.tool_length_active is False:
        return (reading,)
    if position.tool_length_active is None:
        lacks = f"{position.pointer}/tool_length_active"
        return (Known(value=None, used=reading.used, missing=(*reading.missing, lacks)),)
    if not tools:
        return (Known(value=None, used=reading.used, missing=(*reading.missing, "/tools")),)
    return tuple(_raised(case, reading, tool) for tool in tools)


def _raised(case: Case, reading: Known[Reading], tool: Tool) -> Known[Reading]:
    length = case.nose_to_tip(tool)
    used, missing = (*reading.used, *length.used), (*reading.missing, *length.missing)
    if length.value is None or not isinstance(reading.value, Length):
        return Known(value=None, used=used, missing=missing)
    nose: Reading = nose_reading(reading.value, length.value, case.conventions)
    return Known(value=nose, used=used, notes=(f"with {tool.title}",))


def _tools_at(case: Case, position: Position) -> tuple[Tool, ...]:
    """The tools that may be in the spindle at a position: those named, else all that no other one names."""
    if position.tools:
        return tuple(case.tools[number] for number in position.tools if number in case.tools)
    if position.what != "tool change":
        return tuple(case.tools.values())
    elsewhere = {number for p in case.positions if p.what == "tool change" for number in p.tools}
    return tuple(tool for number, tool in case.tools.items() if number not in elsewhere)


def _safe_heights(case: Case) -> Iterator[_Spot]:
    """Every safe Z: of the machine, of single tools and of set-ups, all counted as `safe_z` says."""
    root = case.profile.root
    general = root.length("safe_z/general")
    without = tuple(tool for tool in case.tools.values() if tool.safe_z is None)
    if general is not None:
        yield _safe(case, "safe Z", "/safe_z/general", general, without)
    for tool in case.tools.values():
        if tool.safe_z is not None:
            yield _safe(case, f"safe Z of {tool.title}", f"{tool.pointer}/safe_z", tool.safe_z, (tool,))
    for name, setup in root.each("setups"):
        height = setup.length("safe_z")
        if height is not None:
            tools = tuple(case.tools.values())
            yield _safe(case, f"safe Z of set-up {name}", f"{setup.pointer}/safe_z", height, tools)


def _safe(case: Case, title: str, pointer: str, height: Length, tools: tuple[Tool, ...]) -> _Spot:
    said = case.profile.root.at("safe_z")
    at = Position(
        pointer="/safe_z", what="safe Z", name="", readings={"Z": height}, frame=said.text("frame"),
        tool_length_active=said.flag("tool_length_active"), table=None, tools=(), routine=None,
    )  # fmt: skip
    found = machine_reading(at, "Z", case.zeros, case.conventions)
    reading: Known[Reading] = Known(value=found.value, used=(pointer, *found.used[1:]), missing=found.missing)
    return _Spot(title=title, pointer=pointer, letter="Z", stands=_nose(case, reading, at, tools))


def _judged(rule: Rule, case: Case, spot: _Spot) -> Finding:
    axis = case.axes.get(spot.letter)
    lacks = missing_of(spot.stands)
    if axis is None:
        return _unknown(rule, spot, (*lacks, f"/axes/{spot.letter}"))
    ranges = _ranges(axis)
    if lacks or (not ranges and not axis.unlimited):
        return _unknown(rule, spot, (*lacks, *(() if ranges or axis.unlimited else (f"{axis.pointer}/travel",))))
    if not ranges:
        return _free(rule, spot)
    return _against(rule, case, spot, axis, ranges)


def _ranges(axis: Axis) -> tuple[Range, ...]:
    """What a reading has to lie in, as far as it is recorded."""
    ends = (axis.cable_limit,) if axis.unlimited else (axis.travel, axis.soft_limits, axis.cable_limit)
    return tuple(r for r in ends if r is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """The least room of a spot: where the axis stands, to which end, and how much."""

    room: Reading
    stands: Known[Reading]
    end: Reading
    end_pointer: str
    is_low: bool


def _against(rule: Rule, case: Case, spot: _Spot, axis: Axis, ranges: tuple[Range, ...]) -> Finding:
    least = _least(spot.stands, ranges)
    if least is None:
        return _unknown(rule, spot, (f"{axis.pointer}/kind",))
    keep = _amount(rule, rule.margin, least.room)
    room = least.room if keep is None else minus_reading(least.room, keep) or least.room
    verdict = _verdict(rule, spot, room, least)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=spot.pointer,
        sentence=_sentence(case, spot, least, verdict),
        source=rule.source,
        settings=(*used_of(spot.stands), least.end_pointer),
        value=least.stands.value,
        required=least.end,
        margin=room,
        mend=_mend(case, spot, least, room, verdict),
        notes=(*spot.notes, *_notes(rule, spot, axis, verdict)),
    )


def _least(stands: tuple[Known[Reading], ...], ranges: tuple[Range, ...]) -> _Room | None:
    """The end that comes nearest (or is overrun most), over every case that may arise; None: kinds do not fit."""
    best: tuple[Decimal, Known[Reading], Reading, str, bool] | None = None
    for here in stands:
        for limits in ranges:
            value = here.value
            if value is None or not (value.is_like(limits.low) and value.is_like(limits.high)):
                return None
            low, high = value.base - limits.low.base, limits.high.base - value.base
            if best is None or low < best[0]:
                best = (low, here, limits.low, limits.low_pointer, True)
            if high < best[0]:
                best = (high, here, limits.high, limits.high_pointer, False)
    if best is None or best[1].value is None:
        return None
    _, here, end, pointer, is_low = best
    room = minus_reading(best[1].value, end) if is_low else minus_reading(end, best[1].value)
    assert room is not None  # both are of one kind
    return _Room(room=room, stands=here, end=end, end_pointer=pointer, is_low=is_low)


def _amount(rule: Rule, amount: Amount | None, like: Reading) -> Reading | None:
    """An amount of the rule in the kind of an axis; None where it is given for the other kind."""
    return rule.length(amount) if isinstance(like, Length) else rule.angle(amount)


def _verdict(rule: Rule, spot: _Spot, room: Reading, least: _Room) -> Verdict:
    if room.base < 0:
        # A work zero may lie below where the bare nose gets: tools hang below it.
        return Verdict.TIGHT if spot.is_zero and spot.letter == "Z" and least.is_low else Verdict.FAILS
    warn = _amount(rule, rule.warn_within, room)
    return Verdict.TIGHT if warn is not None and room.base < warn.base else Verdict.CLEAR


def _sentence(case: Case, spot: _Spot, least: _Room, verdict: Verdict) -> str:
    by = f" {least.stands.notes[0]}" if least.stands.notes else ""
    read = case.said(least.stands.value)
    where = f"{spot.title}: {spot.letter} stands at {read}{by}"
    end = f"the {'low' if least.is_low else 'high'} end of {place(least.end_pointer.rpartition('/')[0])}"
    if least.room.base < 0:
        tail = ": only a tool longer than that reaches it" if verdict is Verdict.TIGHT else ""
        return f"{where}, beyond {end} ({case.said(least.end)}) by {case.said(abs(least.room))}{tail}."
    return f"{where}, {case.said(least.room)} inside {end} ({case.said(least.end)})."


def _mend(case: Case, spot: _Spot, least: _Room, room: Reading, verdict: Verdict) -> str:
    if verdict is not Verdict.FAILS:
        return ""
    way = "up" if least.is_low else "down"
    return f"bring {place(spot.pointer)} {way} by at least {case.said(abs(room))}, or check {place(least.end_pointer)}"


def _notes(rule: Rule, spot: _Spot, axis: Axis, verdict: Verdict) -> Iterator[str]:
    if not axis.unlimited and verdict is not Verdict.FAILS:
        if axis.travel is None:
            yield f"The travel of {axis.name} is not recorded; judged by its other limits."
        if axis.soft_limits is None:
            yield f"The soft limits of {axis.name} are not recorded; judged by its travel."
    if rule.margin is not None and _amount(rule, rule.margin, next(iter(_values(spot)))) is None:
        yield "The room to keep has no unit that fits this axis; none was kept."


def _values(spot: _Spot) -> Iterator[Reading]:
    yield from (s.value for s in spot.stands if s.value is not None)


def _free(rule: Rule, spot: _Spot) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.CLEAR,
        subject=spot.pointer,
        sentence=f"{spot.title}: {spot.letter} turns without end stops.",
        source=rule.source,
        settings=(spot.pointer, f"/axes/{spot.letter}/unlimited"),
        notes=spot.notes,
    )


def _unknown(rule: Rule, spot: _Spot, lacks: tuple[str, ...]) -> Finding:
    missing = tuple(dict.fromkeys(lacks))
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=spot.pointer,
        sentence=f"{spot.title}: whether {spot.letter} lies in the travel cannot be told; "
        f"{listed(place(p) for p in missing[:6])} {'is' if len(missing) == 1 else 'are'} not recorded.",
        source=rule.source,
        settings=used_of(spot.stands),
        mend=recorded(missing),
        missing=missing,
        notes=spot.notes,
    )
