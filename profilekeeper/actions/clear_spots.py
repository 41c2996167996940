"""Where in the XY travel the tilt swing of a tool has the room it needs: a map, the best spots, else the least rise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from math import ceil, floor

from profilekeeper.actions.drawing import matters_of
from profilekeeper.actions.opened import Opened
from profilekeeper.actions.swinging import Swinger, asks_at, free_spot, lacking, swinger
from profilekeeper.actions.travel_map import (
    SAME_MM,
    Chart,
    Tell,
    TravelMap,
    at_spot,
    chart_of,
    spread_out,
    travel_map,
)
from profilekeeper.clearance import Ground, JointBox, Query, Span, Spot, gaps
from profilekeeper.errors import InvalidQuantity, UsageError
from profilekeeper.model.axis import Range
from profilekeeper.quantities import Length, LengthUnit, parse_length
from profilekeeper.rules.mending import rise_mm
from profilekeeper.rules.room import Ask, Room, rooms
from profilekeeper.rules.say import listed
from profilekeeper.rules.told import NOT_MODELLED, length_of, step_mm
from profilekeeper.rules.told import asked as uncertain

__all__ = ["ClearSpot", "Rise", "WhereClear", "where_clear"]

_BEST, _TRIED = 3, 12
_PITCH_MM, _LEAST_PITCH_MM = 10.0, 1.0
_GRID, _LEVELS, _RISEN = (14, 9), 24, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearSpot:
    """A spot with the room wanted for sure: the gap as recorded, what it may be off, what is nearest there."""

    x: Length
    y: Length
    gap: Length
    plus_minus: Length
    nearest: str
    reach: Length | None
    room: Room


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """The least rise found that makes a clear spot, judged anew: by how much, to which Z, and where."""

    by: Length
    z: Length
    x: Length
    y: Length
    nearest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereClear:
    """The answer. `z` is the nose's reading; `spots` are best first; `rise` is only looked for where there is none."""

    asked: Swinger
    z: Length
    required: Length
    pitch: Length
    clear_share: float
    spots: tuple[ClearSpot, ...]
    rise: Rise | None
    chart: Chart
    side: str
    notes: tuple[str, ...]
    found: TravelMap
    matters: Mapping[str, str]

    @property
    def best(self) -> Spot | None:
        """The first spot, as a drawing marks it."""
        if not self.spots:
            return None
        joints = self.spots[0].room.nominal.joints
        return Spot(x_mm=joints.x_mm, y_mm=joints.y_mm, gap=self.spots[0].room.nominal)


def where_clear(
    opened: Opened, machine: str, number: str, *, z: str = "", required: str = "", pitch: str = "", tell: Tell
) -> WhereClear:
    """Where the tool, as new, tilts through its whole range with the room wanted, Z held.

    `z` is the reading of the bare nose, left out: its highest; `required` left out: what the swing rule wants;
    `pitch` is how finely the edge of the clear ground is followed, left out: 10 mm.
    Raises:  DatumMissing, naming what is not recorded; UsageError; UnknownName.
    """
    asked = swinger(opened, machine, number)
    unit = asked.case.unit
    height = _height(asked, z)
    required_mm = _more_than("--required", required, unit, 0.0) or max(asked.want.required_mm, step_mm(LengthUnit.MM))
    pitch_mm = _more_than("--pitch", pitch, unit, _LEAST_PITCH_MM) or _PITCH_MM
    x, y = _travel(asked, "X"), _travel(asked, "Y")
    ask = _one_hard(asks_at(asked, free_spot(asked, {"X": _mm(x.low), "Y": _mm(y.low), "Z": height})))
    assert isinstance(ask.motion, JointBox)
    query = replace(ask.query(worst=True), motion=replace(ask.motion, x_mm=x, y_mm=y))
    found = travel_map(query, required_mm=required_mm, pitch_mm=pitch_mm, tell=tell)
    front = _front(asked, ask)
    spots = _spots(ask, found, front, unit)
    tell("charts", 1)
    marked = [(s.room.nominal.joints.x_mm, s.room.nominal.joints.y_mm) for s in spots]
    return WhereClear(
        asked=asked,
        z=height,
        required=length_of(required_mm, unit, ROUND_CEILING),
        pitch=length_of(pitch_mm, unit, ROUND_HALF_EVEN),
        clear_share=found.clear_share(),
        spots=spots,
        rise=None if spots else _rise(asked, ask, found, height, tell),
        chart=chart_of(found, marked),
        side=front.told,
        notes=(*_found_notes(found, spots, pitch_mm, unit), *_notes(asked, ask, spots)),
        found=found,
        matters=matters_of(ask.things),
    )


def _height(asked: Swinger, text: str) -> Length:
    """The Z meant, as the screen shows it."""
    conventions, unit = asked.case.conventions, asked.case.unit
    top = asked.scene.z_top_mm
    if text:
        try:
            height = parse_length(text, unit)
        except InvalidQuantity as error:
            raise UsageError(f"--z: {error}") from None
        if top.value is not None and float(conventions.up(height).mm) > top.value:
            highest = conventions.shown(length_of(top.value, unit, ROUND_FLOOR))
            raise UsageError(f"Z {height} lies beyond the travel; the highest Z of {asked.machine} is {highest}")
        return height
    if top.value is None:
        raise lacking(f"the highest Z of {asked.machine}", top.missing)
    return conventions.shown(length_of(top.value, unit, ROUND_FLOOR))


def _more_than(option: str, text: str, unit: LengthUnit, least_mm: float) -> float | None:
    """The length keyed for an option in mm, None where it is left out."""
    if not text:
        return None
    try:
        length = parse_length(text, unit)
    except InvalidQuantity as error:
        raise UsageError(f"{option}: {error}") from None
    if length.mm <= 0 or float(length.mm) < least_mm:
        least = f"{least_mm:g} mm at least" if least_mm else "more than 0"
        raise UsageError(f"{option} {length}: give a length of {least}")
    return float(length.mm)


def _travel(asked: Swinger, letter: str) -> Span:
    """How far an axis goes: its travel, or its soft limits where they are narrower."""
    axis = asked.case.axes.get(letter)
    ranges: list[Range] = [r for r in (axis.travel, axis.soft_limits) if r is not None] if axis is not None else []
    ends = [(float(r.low.base), float(r.high.base)) for r in ranges]
    if not ends:
        raise lacking(f"how far {letter} of {asked.machine} goes", (f"/axes/{letter}/travel",))
    low, high = max(min(pair) for pair in ends), min(max(pair) for pair in ends)
    if low > high:
        raise UsageError(f"travel and soft limits of {letter} of {asked.machine} do not meet; check them first")
    return Span(low=low, high=high)


def _mm(value: float) -> Length:
    return Length(Decimal(repr(value)), LengthUnit.MM)


def _one_hard(asks: tuple[Ask, ...]) -> Ask:
    """One question: bristles are kept clear as if they were hard, for nobody chooses a spot in which they touch."""
    hard = asks[0]
    return replace(hard, tool=replace(hard.tool, sections=tuple(replace(s, soft=False) for s in hard.tool.sections)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Front:
    """The operator's side of the table: its Y and whether spots lie at greater or smaller Y; `told` says why."""

    y_mm: float | None
    sign: float
    told: str

    def reach(self, y_mm: float) -> float:
        """How far a spot lies beyond that side, seen from the operator; 0 on the operator's own side of it."""
        return 0.0 if self.y_mm is None else max(self.sign * (y_mm - self.y_mm), 0.0)


def _front(asked: Swinger, ask: Ask) -> _Front:
    tables = [thing for thing in ask.things if thing.pointer.startswith("/tables/")]
    ys = [y for thing in tables for _, y in thing.outline_mm]
    if not ys or "Y" in ask.chain.head.table_axes:
        return _Front(y_mm=None, sign=1.0, told="Reach is not weighed: the table moves along Y.")
    people = [thing for thing in ask.things if thing.people and thing.frame.value == "floor"]
    middles = [(min(y for _, y in t.outline_mm) + max(y for _, y in t.outline_mm)) / 2 for t in people]
    if people and min(middles) > (min(ys) + max(ys)) / 2:
        names = listed(thing.title for thing in people)
        told = f"The operator is taken to stand at the side of greater Y, where {names} lies."
        return _Front(y_mm=max(ys), sign=-1.0, told=told)
    why = "" if people else " (assumed: no zone for people is recorded)"
    if people:
        why = f", where {listed(thing.title for thing in people)} lies"
    return _Front(y_mm=min(ys), sign=1.0, told=f"The operator is taken to stand at the side of smaller Y{why}.")


def _moved(ask: Ask, x_mm: float, y_mm: float, by_mm: float = 0.0) -> Ask:
    assert isinstance(ask.motion, JointBox)
    motion = replace(ask.motion, x_mm=Span.at(x_mm), y_mm=Span.at(y_mm), z_mm=ask.motion.z_mm.moved(by_mm))
    return replace(ask, motion=motion)


def _spots(ask: Ask, found: TravelMap, front: _Front, unit: LengthUnit) -> tuple[ClearSpot, ...]:
    """The best spots, each asked anew at its own coordinates; whole steps of the unit, as they are keyed."""
    tried = [(_whole(x, unit), _whole(y, unit)) for x, y in spread_out(found, front.reach, _TRIED)]
    answered = rooms([_moved(ask, x, y) for x, y in tried if _inside(found.area, x, y)])
    sure = [room for room in answered if room.sure_mm >= found.required_mm]
    sure.sort(key=lambda room: (-floor(room.gap_mm / SAME_MM), front.reach(_motion(room.ask).y_mm.middle)))
    return tuple(_spot(room, front, unit) for room in sure[:_BEST])


def _whole(value_mm: float, unit: LengthUnit) -> float:
    return float(length_of(value_mm, unit, ROUND_HALF_EVEN).mm)


def _inside(area: JointBox, x_mm: float, y_mm: float) -> bool:
    return area.x_mm.low <= x_mm <= area.x_mm.high and area.y_mm.low <= y_mm <= area.y_mm.high


def _spot(room: Room, front: _Front, unit: LengthUnit) -> ClearSpot:
    joints = room.nominal.joints
    reach = None if front.y_mm is None else length_of(front.reach(joints.y_mm), unit, ROUND_HALF_EVEN)
    return ClearSpot(
        x=length_of(_motion(room.ask).x_mm.middle, unit, ROUND_HALF_EVEN),
        y=length_of(_motion(room.ask).y_mm.middle, unit, ROUND_HALF_EVEN),
        gap=length_of(room.gap_mm, unit, ROUND_FLOOR),
        plus_minus=length_of(room.plus_minus_mm, unit, ROUND_CEILING),
        nearest=room.nominal.obstacle.name,
        reach=reach,
        room=room,
    )


def _motion(ask: Ask) -> JointBox:
    assert isinstance(ask.motion, JointBox)
    return ask.motion


def _rise(asked: Swinger, ask: Ask, found: TravelMap, height: Length, tell: Tell) -> Rise | None:
    """The least rise within the travel that makes a clear spot, looked for on a grid of spots, then judged anew."""
    top, unit = asked.scene.z_top_mm.value, asked.case.unit
    room_mm = 0.0 if top is None else top - _motion(ask).z_mm.high
    grid = [spot for spot in _grid(found.area, unit) if _inside(found.area, *spot)]
    spots = _first_free(replace(found.query, motion=_motion(ask)), grid, found.required_mm, room_mm, tell)
    answers = [
        (rise_mm(room, required_mm=found.required_mm, room_mm=room_mm, step_mm=step_mm(unit)), room)
        for room in rooms([_moved(ask, x, y) for x, y in spots])
    ]
    enough = [(rise, room) for rise, room in answers if rise is not None]
    if not enough:
        return None
    rise, room = min(enough, key=lambda pair: pair[0])
    by = length_of(rise, unit, ROUND_CEILING)
    conventions = asked.case.conventions
    return Rise(
        by=by,
        z=conventions.shown(conventions.up(height) + by),
        x=length_of(_motion(room.ask).x_mm.middle, unit, ROUND_HALF_EVEN),
        y=length_of(_motion(room.ask).y_mm.middle, unit, ROUND_HALF_EVEN),
        nearest=_after(room, rise).nominal.obstacle.name,
    )


def _after(room: Room, by_mm: float) -> Room:
    """The same room once Z is higher."""
    motion = _motion(room.ask)
    return rooms([_moved(room.ask, motion.x_mm.middle, motion.y_mm.middle, by_mm)])[0]


def _first_free(
    query: Query, spots: Sequence[tuple[float, float]], required_mm: float, room_mm: float, tell: Tell
) -> Sequence[tuple[float, float]]:
    """The spots that come free at the lowest of some levels of Z, most room first."""
    count = min(_LEVELS, ceil(room_mm)) if room_mm > 0 else 0
    for level in range(1, count + 1):
        tell(f"of {count} heights", level)
        answers = gaps([_lifted(query, x, y, room_mm * level / count) for x, y in spots])
        pairs = zip(answers, spots, strict=True)
        free = sorted((-answer.low_mm, spot) for answer, spot in pairs if answer.low_mm >= required_mm)
        if free:
            return [spot for _, spot in free[:_RISEN]]
    return ()


def _lifted(query: Query, x_mm: float, y_mm: float, by_mm: float) -> Query:
    here = at_spot(query, x_mm, y_mm)
    assert isinstance(here.motion, JointBox)
    return replace(here, motion=replace(here.motion, z_mm=here.motion.z_mm.moved(by_mm)))


def _grid(area: JointBox, unit: LengthUnit) -> Sequence[tuple[float, float]]:
    """Spots all over the travel, in whole steps of the unit."""
    columns, rows = _GRID
    return [
        (
            _whole(area.x_mm.low + 2 * area.x_mm.half * i / (columns - 1), unit),
            _whole(area.y_mm.low + 2 * area.y_mm.half * j / (rows - 1), unit),
        )
        for i in range(columns)
        for j in range(rows)
    ]


def _found_notes(found: TravelMap, spots: tuple[ClearSpot, ...], pitch_mm: float, unit: LengthUnit) -> tuple[str, ...]:
    """What an answer of no spot leaves open."""
    if spots or all(leaf.ground is Ground.BLOCKED for leaf in found.leaves):
        return ()
    pitch = length_of(pitch_mm, unit, ROUND_HALF_EVEN)
    return (f"The edge was followed to {pitch}; clear spots smaller than that may be there.",)


def _notes(asked: Swinger, ask: Ask, spots: tuple[ClearSpot, ...]) -> Sequence[str]:
    """For what the answer is true, and what is not in it."""
    turn, letter = _motion(ask).swivel_deg, ask.chain.swivel_letter
    notes = [*asked.want.notes]
    if letter is not None:
        held = f"held at {letter} {turn.middle:g}°" if turn.half == 0 else "free to turn through its whole range"
        notes.append(f"The head rotation is {held}.")
    mode = asked.scene.compensation.value
    notes.append(f"True with tool-centre compensation {'off' if mode == 'switchable' else mode}.")
    body = asked.scene.tools[asked.tool.number].value
    if body is not None and body.is_soft:
        notes.append("Bristles are kept clear as if they were hard.")
    notes += uncertain([spot.room for spot in spots], asked.case.unit)
    people = [thing.title for thing in ask.things if thing.people]
    if people:
        notes.append(
            f"Room for people ({listed(people)}) is not judged here: no gap of this kind is a safeguarding distance."
        )
    return [*notes, NOT_MODELLED]
