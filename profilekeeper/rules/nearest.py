"""The least room on each of many movements: tool and head, bristles, and what rides along, in one search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from profilekeeper.clearance.frames import Frame, JointBox, Joints, Straight
from profilekeeper.clearance.scene import Scene
from profilekeeper.clearance.surroundings import Thing
from profilekeeper.rules.finding import Verdict
from profilekeeper.rules.room import Ask, Room, rooms
from profilekeeper.rules.told import Wanted

if TYPE_CHECKING:
    from profilekeeper.clearance.path import FirstContact
    from profilekeeper.clearance.riders import RiderGap, RiderQuery

__all__ = ["Nearest", "asks_of", "least_rooms", "meets_first"]

_STANDS = (Frame.FLOOR, Frame.TABLE)
_NOMINAL_WIDTH_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The worst of one movement: what comes how near to what, at which readings.

    Units:   millimetres; `sure_mm` is what is left if everything is off the wrong way. `ask` is None where it
             is a thing that rides along.
    """

    part: str
    thing: str
    joints: Joints
    gap_mm: float
    sure_mm: float
    plus_minus_mm: float
    required_mm: float
    verdict: Verdict
    is_contact: bool
    ask: Ask | None


def least_rooms(scene: Scene, tool: str, motions: Sequence[JointBox | Straight], want: Wanted) -> tuple[Nearest, ...]:
    """The worst of each movement with that tool; the scene must lack nothing that is needed."""
    asks = [tuple(asks_of(scene, tool, motion)) for motion in motions]
    answered = iter(rooms([ask for group in asks for ask in group]))
    carried = _riders(scene, motions, want)
    return tuple(
        max(
            [*(_of_room(next(answered), want) for _ in group), *riders],
            key=lambda near: (near.verdict.rank, near.required_mm - near.sure_mm),
        )
        for group, riders in zip(asks, carried, strict=True)
    )


def asks_of(scene: Scene, tool: str, motion: JointBox | Straight) -> Iterator[Ask]:
    """The questions of one movement: what is hard, and bristles; the scene must lack nothing that is needed."""
    body, chain, things = scene.tools[tool].value, scene.chain.value, scene.surroundings.value
    assert body is not None
    assert chain is not None
    assert things is not None
    hard = Ask(
        title=body.title,
        tool=body,
        others=() if scene.body.value is None else (scene.body.value,),
        soft=False,
        chain=chain,
        things=things,
        motion=motion,
    )
    yield hard
    if body.is_soft:
        yield replace(hard, title=f"the bristles of {body.title}", soft=True)


def meets_first(near: Nearest, legs: Sequence[JointBox | Straight]) -> FirstContact | None:
    """Where a move that hits first touches by the recorded sizes; None for a thing that rides along."""
    from profilekeeper.clearance.path import first_contact

    return None if near.ask is None else first_contact(near.ask.query(worst=False), legs)


def _of_room(room: Room, want: Wanted) -> Nearest:
    required = 0.0 if room.ask.soft else want.required_mm
    named = room.part and not room.ask.soft
    return Nearest(
        part=f"{room.ask.title} ({room.part})" if named else room.ask.title,
        thing=room.nominal.obstacle.name,
        joints=room.nominal.joints,
        gap_mm=room.gap_mm,
        sure_mm=room.sure_mm,
        plus_minus_mm=room.plus_minus_mm,
        required_mm=required,
        verdict=room.verdict(required, want.warn_mm),
        is_contact=room.nominal.is_contact,
        ask=room.ask,
    )


def _riders(scene: Scene, motions: Sequence[JointBox | Straight], want: Wanted) -> list[tuple[Nearest, ...]]:
    """What rides along against what stands: none where nothing rides."""
    from profilekeeper.clearance.riders import rider_gaps

    things = scene.surroundings.value or ()
    riding = tuple(thing for thing in things if thing.frame not in _STANDS)
    standing = tuple(thing for thing in things if thing.frame in _STANDS)
    if not riding or not standing:
        return [() for _ in motions]
    queries = [_query(scene, riding, standing, motion, worst) for motion in motions for worst in (True, False)]
    found = rider_gaps(queries)
    return [(_of_rider(found[2 * i], found[2 * i + 1], (*riding, *standing), want),) for i in range(len(motions))]


def _query(
    scene: Scene, riding: tuple[Thing, ...], standing: tuple[Thing, ...], motion: JointBox | Straight, worst: bool
) -> RiderQuery:
    from profilekeeper.clearance.riders import RiderQuery

    chain = scene.chain.value
    assert chain is not None
    grow = 1.0 if worst else 0.0
    riders, obstacles = (
        tuple(o for t in some for o in t.obstacles(sideways_mm=grow * t.sideways.mm, upright_mm=grow * t.upright.mm))
        for some in (riding, standing)
    )
    width = 2 * _NOMINAL_WIDTH_MM if worst else _NOMINAL_WIDTH_MM
    return RiderQuery(head=chain.head, riders=riders, obstacles=obstacles, motion=motion, width_mm=width)


def _of_rider(worst: RiderGap, nominal: RiderGap, things: tuple[Thing, ...], want: Wanted) -> Nearest:
    """As for a tool; where the worst case is about another pair, what is told is the nominal one's."""
    sure = min(worst.low_mm, nominal.high_mm)
    named = {thing.title: thing for thing in things}
    off = sum(named[one.name].upright.mm for one in (nominal.rider, nominal.obstacle))
    return Nearest(
        part=nominal.rider.name,
        thing=nominal.obstacle.name,
        joints=nominal.joints,
        gap_mm=nominal.high_mm,
        sure_mm=sure,
        plus_minus_mm=max(nominal.high_mm, off) if worst.is_contact else nominal.high_mm - sure,
        required_mm=want.required_mm,
        verdict=_verdict(worst, nominal, sure, want),
        is_contact=nominal.is_contact,
        ask=None,
    )


def _verdict(worst: RiderGap, nominal: RiderGap, sure: float, want: Wanted) -> Verdict:
    if nominal.is_contact:
        return Verdict.HITS
    if worst.is_contact or sure < want.required_mm:
        return Verdict.SHORT
    return Verdict.CLEAR if sure >= want.required_mm + want.warn_mm else Verdict.TIGHT
