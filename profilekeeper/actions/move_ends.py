"""Where moves start and end: readings as they were written, brought to machine readings of the bare nose."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal

from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.frames import Joints
from profilekeeper.errors import InvalidQuantity, UnknownName, UsageError
from profilekeeper.model.axis import Reading
from profilekeeper.model.moves import Move
from profilekeeper.model.place import machine_reading, nose_reading
from profilekeeper.model.position import MACHINE, Position
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Angle, AngleUnit, Length, LengthUnit, parse_angle, parse_length
from profilekeeper.rules.case import Case
from profilekeeper.rules.legs import axis_joints
from profilekeeper.rules.told import length_of

__all__ = ["Spot", "State", "joints_of", "parse_state", "routine_ends", "shown_at", "target"]

State = Mapping[str, Reading]
"""Machine readings of the bare spindle nose by axis, as the control shows them."""

_End = tuple[str, State | None, tuple[str, ...]]
_WHATS = ("homing", "park", "tool change", "end of program", "probing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """What readings are to be understood by: the machine, its chain where known, the tool, the unit of bare lengths."""

    case: Case
    chain: Chain | None
    tool: Tool
    unit: LengthUnit

    def routine(self, said: str) -> str:
        """The name of a routine, as recorded, by its name or by what it is; as said where none is recorded.

        Raises:  UnknownName, for a name that is no routine at all; UsageError, where several are of that kind.
        """
        routines = dict(self.case.profile.root.each("routines"))
        if said in routines:
            return said
        alike = [name for name, branch in routines.items() if branch.text("what") == said]
        if len(alike) > 1:
            raise UsageError(f"{self.case.profile.name} has several routines of the kind {said}: {', '.join(alike)}")
        if alike or said in _WHATS:
            return alike[0] if alike else said
        near = difflib.get_close_matches(said, [*routines, *_WHATS], n=1)
        hint = f"did you mean {near[0]}?" if near else f"recorded are {', '.join(routines) or 'none'}"
        raise UnknownName(f"{self.case.profile.name} has no routine {said}; {hint}")


def parse_state(spot: Spot, texts: Mapping[str, str], where: str, *, whole: bool = False) -> State:
    """Readings by axis; `whole` wants one of every axis that is worked out.

    Raises:  UnknownName, UsageError, InvalidQuantity.
    """
    wanted = tuple(axis_joints(spot.chain)) if spot.chain is not None else tuple(spot.case.axes)
    for letter in texts:
        _refuse_unknown_axis(spot, letter, wanted, where)
    lacking = [letter for letter in wanted if letter not in texts]
    if whole and lacking:
        raise UsageError(f"{where}: {', '.join(lacking)} missing; say where every axis stands")
    return {letter: _reading(spot, letter, texts[letter], where) for letter in wanted if letter in texts}


def target(spot: Spot, move: Move) -> State:
    """Where the axes of a move go. Raises: as `parse_state`, and UsageError for what cannot be mapped."""
    readings = parse_state(spot, move.to, move.where)
    position = Position(
        pointer="", what="move", name=move.where, readings=readings, frame=move.frame,
        tool_length_active=move.tool_length_active, table=None, tools=(), routine=None,
    )  # fmt: skip
    found, missing = _mapped(spot, position)
    if missing:
        what = ", ".join(missing)
        raise UsageError(f"{move.where}: not to be brought to machine readings, {what} is not recorded")
    return found


def routine_ends(spot: Spot, said: str, here: State | None, lost: tuple[str, ...]) -> list[_End]:
    """Where a routine ends: its recorded ends, else (a tool change) the places where this tool is changed."""
    name = spot.routine(said)
    title = f"routine {name}"
    places = [p for p in spot.case.positions if p.what == "end of routine" and p.name == name]
    places = places or _changes(spot, name)
    if not places:
        return [(title, None, (f"/routines/{name}/ends", *(lost if here is None else ())))]
    return [_routine_end(spot, title, place, here, lost, len(places) > 1) for place in places]


def joints_of(spot: Spot, state: State) -> Joints:
    """Readings as the search takes them: millimetres and degrees, Z counted upwards."""
    assert spot.chain is not None
    values = {"tilt_deg": spot.chain.tilt.low, "swivel_deg": 0.0}
    for letter, field in axis_joints(spot.chain).items():
        reading = state[letter]
        if letter == "Z" and isinstance(reading, Length):
            reading = spot.case.conventions.up(reading)
        values[field] = float(reading.base)
    return Joints(**values)


def shown_at(spot: Spot, joints: Joints) -> State:
    """The readings of a pose as the control shows them, lengths to 0.1 mm or 0.01 in, angles to 0.1 degrees."""
    assert spot.chain is not None
    found: dict[str, Reading] = {}
    for letter, field in axis_joints(spot.chain).items():
        value = getattr(joints, field)
        if field.endswith("_deg"):
            found[letter] = Angle(Decimal(repr(value)).quantize(Decimal("0.1"), rounding=ROUND_HALF_EVEN) + 0)
            continue
        rounded = length_of(value, spot.case.unit, ROUND_HALF_EVEN)
        length = replace(rounded, number=rounded.number + 0)  # no minus before a zero
        found[letter] = spot.case.conventions.shown(length) if letter == "Z" else length
    return found


def _refuse_unknown_axis(spot: Spot, letter: str, wanted: Iterable[str], where: str) -> None:
    if letter in wanted:
        return
    if letter in spot.case.axes:
        raise UsageError(f"{where}: how {letter} moves is not worked out; leave it out")
    raise UnknownName(
        f"{where}: {spot.case.profile.name} has no axis {letter}; its axes are {', '.join(spot.case.axes) or 'none'}"
    )


def _reading(spot: Spot, letter: str, text: str, where: str) -> Reading:
    try:
        if spot.case.axes[letter].turns:
            return parse_angle(text, AngleUnit.DEG)
        return parse_length(text, spot.unit)
    except InvalidQuantity as error:
        raise InvalidQuantity(f"{where}: {letter}: {error}") from None


def _mapped(spot: Spot, position: Position) -> tuple[dict[str, Reading], tuple[str, ...]]:
    """Machine readings of the bare nose, and what is missing for them."""
    wanted = axis_joints(spot.chain) if spot.chain is not None else spot.case.axes
    found: dict[str, Reading] = {}
    missing: list[str] = []
    for letter in (letter for letter in wanted if letter in position.readings):
        reading = machine_reading(position, letter, spot.case.zeros, spot.case.conventions)
        missing += reading.missing
        if reading.value is not None:
            found[letter] = reading.value
    if position.frame not in (None, MACHINE) and spot.case.conventions.offset_sign is None:
        missing.append("/conventions/offset_sign")
    z = found.get("Z")
    if isinstance(z, Length) and position.tool_length_active is None:
        missing.append(f"{position.pointer}/tool_length_active")
    if isinstance(z, Length) and position.tool_length_active:
        length = spot.case.nose_to_tip(spot.tool)
        missing += length.missing
        if length.value is not None:
            found["Z"] = nose_reading(z, length.value, spot.case.conventions)
    return found, tuple(dict.fromkeys(missing))


def _changes(spot: Spot, name: str) -> list[Position]:
    """The places this routine goes to with this tool: those for it by number, else those for no tool in particular."""
    routine = spot.case.profile.root.at("routines").at(name)
    if (routine.text("what") if routine else name) != "tool change":
        return []
    changes = [p for p in spot.case.positions if p.what == "tool change" and p.routine in (None, name)]
    own = [p for p in changes if spot.tool.number in p.tools]
    return own or [p for p in changes if not p.tools]


def _routine_end(
    spot: Spot, title: str, place: Position, here: State | None, lost: tuple[str, ...], is_one_of_many: bool
) -> _End:
    name = f"{title} ({place.name})" if is_one_of_many else title
    found, missing = _mapped(spot, place)
    if not found and not missing:
        missing = (place.pointer,)
    missing = (*missing, *(lost if here is None else ()))
    return name, None if missing or here is None else {**here, **found}, missing
