"""Trying moves before the machine makes them: for each the certified room, and where it would first touch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_EVEN
from pathlib import Path
from typing import TYPE_CHECKING

from profilekeeper.actions.files import read_file
from profilekeeper.actions.move_ends import Spot, State, joints_of, parse_state, routine_ends, shown_at, target
from profilekeeper.clearance.bodies import Body
from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.frames import JointBox, Straight
from profilekeeper.clearance.scene import Scene, scene_of
from profilekeeper.clearance.surroundings import Thing
from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.model.known import Known
from profilekeeper.model.moves import Move, Moves, keyed_move, keyed_readings, read_moves
from profilekeeper.model.ruleset import Rule
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case, case_of
from profilekeeper.rules.finding import Verdict
from profilekeeper.rules.legs import Way, feed_way, rapid_way, routine_way, switches, swivel_way
from profilekeeper.rules.nearest import Nearest, asks_of, least_rooms, meets_first
from profilekeeper.rules.told import NOT_MODELLED, Wanted, asked_of, length_of, wanted

if TYPE_CHECKING:
    from profilekeeper.actions.opened import Opened

__all__ = ["DryRun", "FirstTouch", "State", "TriedMove", "dry_run", "listed_moves"]

_IN_CONTACT = (
    "It touches where it stands already: no axis moves it free by itself. A blade in its kerf is backed out in its "
    "own plane, by eye and by hand, before anything is raised or turned."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstTouch:
    """The first contact of a move: on which leg (from 1), at which readings, and how far along it where that is known.

    `free_share` and `hit_share` are None where axes run in an unknown order: some path touches there.
    """

    leg: int
    at: State
    free_share: float | None
    hit_share: float | None
    is_proven: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedMove:
    """What comes of one move; `before` and `after` are machine readings of the bare nose, as the control shows them.

    `reckoned` says what was reckoned with: every path, all axes together, or a witnessed order. Of an unknown
    `missing` names what the record lacks, and nothing is told of its room.
    """

    title: str
    before: State
    after: State
    reckoned: str
    verdict: Verdict
    gap: Length | None = None
    plus_minus: Length | None = None
    required: Length | None = None
    part: str = ""
    thing: str = ""
    at: State | None = None
    first_contact: FirstTouch | None = None
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DryRun:
    """Moves tried on one machine with one tool; the first of `moves` is to stand still at the start."""

    machine: str
    tool: str
    moves: tuple[TriedMove, ...]
    verdict: Verdict
    notes: tuple[str, ...]


def listed_moves(file: Path | None, start: str, keyed: tuple[str, ...], routines: tuple[str, ...]) -> Moves:
    """The moves of a file (if any), then those keyed, then routines; a start that is keyed takes the file's place.

    Raises:  UsageError, FormatError, InvalidProfile.
    """
    found = Moves(start=None, moves=(), unit=None)
    if file is not None:
        found = read_moves(strict_yaml.loads(read_file(file), source=str(file)), source=str(file))
    own = (*map(keyed_move, keyed), *(Move(where=f"--routine {name}", to={}, routine=name) for name in routines))
    begin = keyed_readings(start, "--from") if start else found.start
    return replace(found, start=begin, moves=(*found.moves, *own))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Planned:
    """A move ready to be asked about, or the settings it lacks."""

    title: str
    before: State
    after: State
    way: Way
    missing: tuple[str, ...] = ()


def dry_run(opened: Opened, machine: str, tool: str, moves: Moves) -> DryRun:
    """The room on every move, one after another from the start, with the tool as new and everything at its worst.

    Nothing is recorded. How near is allowed is what the machine's rule of the kind `swing` says.
    Raises:  UnknownName, for a tool, axis or routine that is not there; UsageError; InvalidQuantity.
    """
    profile = opened.profile(opened.known(machine))
    case, scene = case_of(profile), scene_of(profile)
    if tool not in case.tools:
        raise UnknownName(f"{machine} has no tool {tool}; its tools are {', '.join(case.tools)}")
    if moves.start is None:
        raise UsageError("say where the machine stands: --from X=1800,Y=1000,Z=-170,A=0,C=0, or from: in the file")
    spot = Spot(case=case, chain=scene.chain.value, tool=case.tools[tool], unit=moves.unit or case.unit)
    start = parse_state(spot, moves.start, "--from", whole=True)
    planned = tuple(_planned(spot, scene, start, moves.moves))
    rule = next((r for r in opened.ruleset(profile).rules if r.kind == "swing"), None)
    want = wanted(rule or Rule(name="dry run", kind="swing", source="built in", unit=None), case.unit)
    tried = _tried(spot, scene, planned, want)
    return DryRun(
        machine=machine,
        tool=case.tools[tool].title,
        moves=tried,
        verdict=max((one.verdict for one in tried), key=lambda verdict: verdict.rank),
        notes=tuple(
            dict.fromkeys(
                (*_general_notes(scene, tool), *_uncertain(scene, planned[0], tool, case), *want.notes, NOT_MODELLED)
            )
        ),
    )


def _uncertain(scene: Scene, still: _Planned, tool: str, case: Case) -> tuple[str, ...]:
    """What is asked for: how closely things are known, where nobody has recorded it."""
    if still.missing:
        return ()
    return asked_of((ask for leg in still.way.legs for ask in asks_of(scene, tool, leg)), case.unit)


def _general_notes(scene: Scene, tool: str) -> Iterator[str]:
    yield from scene.tools[tool].notes
    for part in (scene.chain, scene.body, scene.surroundings):
        yield from part.notes
    if scene.compensation.value == "switchable":
        yield "True with tool-centre compensation off; with it on, X, Y and Z follow the tip while the head turns."


def _planned(spot: Spot, scene: Scene, start: State, moves: tuple[Move, ...]) -> Iterator[_Planned]:
    """To stand still, then move after move; where a move ends nowhere known, the later ones start nowhere known."""
    common = _lacking(scene, spot.tool.number)
    here: State | None = start
    yield _Planned(title="as it stands", before=start, after=start, way=_still(spot, start), missing=common)
    for move in moves:
        ends = _ends(spot, move, here)
        for title, after, lacks in ends:
            missing = tuple(dict.fromkeys((*common, *lacks)))
            if here is None or after is None or missing:
                yield _Planned(title=title, before=here or {}, after=after or {}, way=_NOWHERE, missing=missing)
                continue
            turning = _turning(spot, scene, here, after)
            way = _NOWHERE if turning else _way(spot, move, here, after)
            yield _Planned(title=title, before=here, after=after, way=way, missing=turning)
        here = ends[0][1] if len(ends) == 1 else None


_NOWHERE = Way(legs=(), said="")
_LOST = ("where the move before it ends",)
_End = tuple[str, State | None, tuple[str, ...]]


def _ends(spot: Spot, move: Move, here: State | None) -> list[_End]:
    """Title, end and what is missing: one of each, or as many as a routine has places to end at."""
    if move.routine is not None:
        return routine_ends(spot, move.routine, here, _LOST)
    to = target(spot, move)
    kind = "feed" if move.is_feed else "rapid"
    title = f"{kind} to {' '.join(f'{letter} {value.number:f}' for letter, value in to.items())}"
    return [(title, None if here is None else {**here, **to}, _LOST if here is None else ())]


def _still(spot: Spot, start: State) -> Way:
    if spot.chain is None:
        return _NOWHERE
    return Way(legs=(JointBox.at(joints_of(spot, start)),), said="standing still")


def _way(spot: Spot, move: Move, before: State, after: State) -> Way:
    chain, root = spot.chain, spot.case.profile.root
    assert chain is not None  # a missing chain is told as missing
    one, other = joints_of(spot, before), joints_of(spot, after)
    letter = chain.swivel_letter
    way = swivel_way(None if letter is None else spot.case.axes[letter], spot.case.conventions)
    if move.routine is None:
        return feed_way(one, other, way) if move.is_feed else rapid_way(root.at("motion"), chain, one, other, way)
    name = spot.routine(move.routine)
    routine = root.at("routines").at(name)
    is_homing = routine.text("what") == "homing"
    past = switches(routine, spot.case.axes, chain, spot.case.conventions) if is_homing else {}
    return routine_way(routine, name, chain, one, other, way, past)


def _lacking(scene: Scene, tool: str) -> tuple[str, ...]:
    """What the record lacks for any move of that tool."""
    parts: list[Known[Chain] | Known[Body] | Known[tuple[Thing, ...]]]
    parts = [scene.chain, scene.surroundings, scene.tools[tool], *([scene.body] if scene.does_tilt else [])]
    return tuple(dict.fromkeys(pointer for part in parts for pointer in part.missing))


def _turning(spot: Spot, scene: Scene, before: State, after: State) -> tuple[str, ...]:
    """Where the head turns it has to be known that the tip is not held: with it, X, Y and Z travel besides."""
    one, other = joints_of(spot, before), joints_of(spot, after)
    if (one.tilt_deg, one.swivel_deg) == (other.tilt_deg, other.swivel_deg):
        return ()
    return () if scene.compensation.value in ("off", "switchable") else ("/motion/tool_centre_compensation",)


def _tried(spot: Spot, scene: Scene, planned: tuple[_Planned, ...], want: Wanted) -> tuple[TriedMove, ...]:
    """Every leg of every move in one search, then move by move the worst of its legs."""
    legs = [leg for plan in planned if not plan.missing for leg in plan.way.legs]
    answers = iter(least_rooms(scene, spot.tool.number, legs, want) if legs else ())
    result = []
    for plan in planned:
        found = [] if plan.missing else [next(answers) for _ in plan.way.legs]
        result.append(_told(spot, plan, found, want))
    return tuple(result)


def _told(spot: Spot, plan: _Planned, found: list[Nearest], want: Wanted) -> TriedMove:
    beyond = tuple(_beyond(spot, plan))
    bare = TriedMove(
        title=plan.title, before=plan.before, after=plan.after, reckoned=plan.way.said, verdict=Verdict.UNKNOWN,
        missing=plan.missing, notes=(*plan.way.notes, *beyond),
    )  # fmt: skip
    if plan.missing:
        return bare
    if not found:  # nothing moves: as it stood before
        return replace(bare, verdict=Verdict.CLEAR, reckoned="nothing moves")
    near = max(found, key=lambda one: (one.verdict.rank, one.required_mm - one.sure_mm))
    unit = spot.case.unit
    touching = (_IN_CONTACT,) if near.is_contact and plan.way.said == "standing still" else ()
    return replace(
        bare,
        verdict=max(near.verdict, Verdict.UNKNOWN, key=lambda v: v.rank) if beyond else near.verdict,
        gap=length_of(near.gap_mm, unit, ROUND_HALF_EVEN),
        plus_minus=length_of(near.plus_minus_mm, unit, ROUND_CEILING),
        required=length_of(near.required_mm, unit, ROUND_HALF_EVEN),
        part=near.part,
        thing=near.thing,
        at=shown_at(spot, near.joints),
        first_contact=_first(spot, near, plan.way.legs, found) if near.is_contact else None,
        notes=(*bare.notes, *touching),
    )


def _first(spot: Spot, near: Nearest, legs: tuple[JointBox | Straight, ...], found: list[Nearest]) -> FirstTouch:
    """Where the tool first touches; of a thing that rides along only on which leg, and at which readings it does."""
    touch = meets_first(near, legs)
    if touch is not None:
        return FirstTouch(
            leg=touch.leg + 1,
            at=shown_at(spot, touch.gap.joints),
            free_share=touch.free_share,
            hit_share=touch.hit_share,
            is_proven=touch.is_proven,
        )
    return FirstTouch(
        leg=found.index(near) + 1, at=shown_at(spot, near.joints), free_share=None, hit_share=None, is_proven=True
    )


def _beyond(spot: Spot, plan: _Planned) -> Iterator[str]:
    """A reading beyond the ends of its axis: the control would not go there, and where it stops is not known."""
    for letter, value in plan.after.items():
        limits = spot.case.axes[letter].soft_limits or spot.case.axes[letter].travel
        moves = plan.before.get(letter) != value
        if moves and limits is not None and not limits.low.base <= value.base <= limits.high.base:
            yield f"{letter} {value} lies beyond the ends of that axis ({limits.low} to {limits.high}): not told."
