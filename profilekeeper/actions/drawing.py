"""What a drawing of a swing shows, worked out: the question, its certified answer, the finding in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from profilekeeper.actions.opened import Opened
from profilekeeper.actions.swinging import Swinger, asks_at, spot_named, swinger
from profilekeeper.clearance import Gap, Lift, Query, Thing, least_lift
from profilekeeper.model.position import Position
from profilekeeper.rules import Finding
from profilekeeper.rules.room import Ask, Room, rooms
from profilekeeper.rules.swing_told import told, worst_first

__all__ = ["SwingDrawn", "matters_of", "swing_at"]

_FAR_MM = 3000.0
"""More than any Z travels: how far a rise is looked for that only tells how deep contact is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingDrawn:
    """One swing: `query` with all sections, its least `gap`, in contact the `lift` that frees it, the `finding`.

    `matters` says by name what is table, stone or no-go zone; `table` is the name of the one heights count from.
    """

    asked: Swinger
    spot: Position
    query: Query
    gap: Gap
    lift: Lift | None
    finding: Finding
    matters: Mapping[str, str]
    table: str


def swing_at(opened: Opened, machine: str, number: str, at: str) -> SwingDrawn:
    """The swing of a tool at a spot, named or by its readings; left out: where the tool is changed.

    Raises:  DatumMissing, naming what is not recorded; UsageError, UnknownName.
    """
    asked = swinger(opened, machine, number)
    spot = spot_named(asked, at)
    asks = asks_at(asked, spot)
    found = rooms(asks)
    worst = worst_first(found, asked.want)[0]
    query = worst.ask.query(worst=False)
    every = tuple(section for ask in asks for section in ask.sections(worst=False))
    return SwingDrawn(
        asked=asked,
        spot=spot,
        query=replace(query, sections=every),
        gap=worst.nominal,
        lift=_lift(worst),
        finding=told(asked.rule, asked.case, spot, asked.scene, found),
        matters=matters_of(worst.ask.things),
        table=next((thing.title for thing in worst.ask.things if _matter(thing) == "table"), ""),
    )


def _lift(room: Room) -> Lift | None:
    """How far it would have to rise out of what it hits."""
    if not room.nominal.is_contact:
        return None
    asked: Ask = room.ask
    only = asked.query(worst=False, only=room.nominal.obstacle.name)
    return least_lift(only, required_mm=0.0, room_mm=_FAR_MM)


def matters_of(things: tuple[Thing, ...]) -> dict[str, str]:
    """What each thing is to the person who reads a drawing, in the drawing's own words."""
    return {thing.title: _matter(thing) for thing in things}


def _matter(thing: Thing) -> str:
    if thing.frame.value in ("bridge", "carriage", "ram", "swivel"):
        return "rides along"
    kinds = {"tables": "table", "slab": "stone", "no_go_zones": "no-go zone"}
    return kinds.get(thing.pointer.split("/")[1], "stands in the way")
