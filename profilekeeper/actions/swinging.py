"""The swing of one tool at one spot, as the rule asks it: tool, spot, rule, and the snapshot it is from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from profilekeeper.actions.opened import SHORT, Opened
from profilekeeper.clearance import Scene, scene_of
from profilekeeper.errors import DatumMissing, InvalidQuantity, UnknownName, UsageError
from profilekeeper.model.axis import Reading
from profilekeeper.model.place import machine_reading
from profilekeeper.model.position import LETTERS, MACHINE, Position
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import AngleUnit, Length, parse_angle, parse_length
from profilekeeper.rules import Case, case_of
from profilekeeper.rules.room import Ask
from profilekeeper.rules.say import listed, place
from profilekeeper.rules.swing import swing_asks
from profilekeeper.rules.told import Wanted, wanted

__all__ = ["Swinger", "asks_at", "default_spot", "free_spot", "spot_named", "swinger"]

_PLACES = ("tool change", "set-up", "position")
_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Swinger:
    """One machine and one of its tools, ready to be asked about swings; `snapshot` and `day` say how old it is."""

    machine: str
    case: Case
    scene: Scene
    rule: Rule
    want: Wanted
    tool: Tool
    snapshot: str
    day: str


def swinger(opened: Opened, machine: str, number: str) -> Swinger:
    """The machine as last recorded, with the tool of that number and the rule that judges its swings.

    Raises:  UnknownName, for a machine or tool that is not there; UsageError, if the head does not tilt.
    """
    profile = opened.profile(opened.known(machine))
    case, scene = case_of(profile), scene_of(profile)
    if number not in case.tools:
        known = listed(case.tools) or "none"
        raise UnknownName(f"{machine} has no tool {number}; its tools are {known}")
    if scene.chain.value is not None and not scene.does_tilt:
        raise UsageError(f"the head of {machine} does not tilt: there is no swing to work out")
    rule = next((rule for rule in opened.ruleset(profile).rules if rule.kind == "swing"), None)
    rule = rule or Rule(name="swing", kind="swing", source="usual amounts", unit=None)
    entry = next(opened.snapshots(machine))
    return Swinger(
        machine=machine,
        case=case,
        scene=scene,
        rule=rule,
        want=wanted(rule, case.unit),
        tool=case.tools[number],
        snapshot=entry.revision[:SHORT],
        day=entry.at.date().isoformat(),
    )


def default_spot(asked: Swinger) -> Position | None:
    """Where this tool is changed: the tool change that names it, else one that names none; None: nowhere is said."""
    changes = [p for p in asked.case.positions if p.what == "tool change"]
    own = [p for p in changes if asked.tool.number in p.tools] or [p for p in changes if not p.tools]
    return own[0] if own else None


def spot_named(asked: Swinger, text: str) -> Position:
    """The spot meant by a text: a name, or readings such as `X=3450,Y=40,Z=-60`; nothing: where the tool is changed.

    Raises:  UsageError, UnknownName, InvalidQuantity.
    """
    if "=" in text:
        return free_spot(asked, _readings(asked, text))
    known = [p for p in asked.case.positions if p.what in _PLACES]
    if text:
        found: Position | None = next((p for p in known if p.name == text), None)
    else:
        found = default_spot(asked)
    if found is None:
        names = listed(p.name for p in known) or "none"
        said = f"{text!r} is no place" if text else f"where {asked.tool.title} is changed is not recorded"
        raise UnknownName(f"{said}; name one with --at ({names}) or give --at X=..,Y=..,Z=..")
    return found


def free_spot(asked: Swinger, readings: Mapping[str, Reading]) -> Position:
    """A spot by machine readings of the bare nose; turned and tilted as where the tool is changed, if that is known."""
    turned = dict(readings)
    usual = default_spot(asked)
    for letter in LETTERS[3:]:
        found = None if usual is None else machine_reading(usual, letter, asked.case.zeros, asked.case.conventions)
        if letter not in turned and found is not None and found.value is not None:
            turned[letter] = found.value
    name = " ".join(f"{letter} {asked.case.said(value)}" for letter, value in readings.items())
    return Position(
        pointer="",
        what="spot",
        name=name,
        readings=turned,
        frame=MACHINE,
        tool_length_active=False,
        table=None,
        tools=(),
        routine=None,
    )


def asks_at(asked: Swinger, spot: Position) -> tuple[Ask, ...]:
    """What is asked there: of all that is hard, and of the bristles where there are some.

    Where nothing says how the head is turned, it may be turned in any way.
    Raises:  DatumMissing, naming what is not recorded.
    """
    rule = asked.rule
    chain = asked.scene.chain.value
    if not spot.pointer and chain is not None and chain.swivel_letter not in (None, *spot.readings):
        rule = replace(rule, swivel="free")
    found = swing_asks(rule, asked.case, asked.scene, spot, asked.tool)
    if found.value is None:
        raise lacking(f"whether {asked.tool.title} swings clear on {asked.machine}", found.missing)
    return found.value


def lacking(what: str, missing: tuple[str, ...]) -> DatumMissing:
    """The sentence that says what is not recorded."""
    names = listed([place(p) for p in missing[:_NAMED]])
    more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
    verb = "is" if len(missing) == 1 else "are"
    return DatumMissing(f"{what} cannot be told: {names}{more} {verb} not recorded; record what is missing", missing)


def _readings(asked: Swinger, text: str) -> dict[str, Reading]:
    result: dict[str, Reading] = {}
    for part in re.split(r",\s*(?=[A-Za-z]\s*=)", text.strip()):
        letter, _, value = part.partition("=")
        letter = letter.strip().upper()
        if letter not in LETTERS or letter in result:
            raise UsageError(f"{part!r} in {text!r} is no reading of one axis; write X=3450,Y=40,Z=-60")
        result[letter] = _reading(asked, letter, value)
    absent = [letter for letter in "XYZ" if letter not in result]
    if absent:
        raise UsageError(f"{text!r} lacks {listed(absent)}; a spot needs X, Y and Z of the bare nose")
    return result


def _reading(asked: Swinger, letter: str, text: str) -> Reading:
    try:
        if letter in "XYZ":
            length: Length = parse_length(text, asked.case.unit)
            return length
        return parse_angle(text, AngleUnit.DEG)
    except InvalidQuantity as error:
        raise UsageError(f"{letter}: {error}") from None
