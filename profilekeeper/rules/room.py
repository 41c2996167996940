"""From a scene and a movement to how much room there is: the nominal gap, and the least one that is still sure.

What a measurement may be off is not subtracted at the end but built in: every section, prism and the head's own
chain is made as large as it may be, and the certified gap of that worst case is what verdicts go by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from profilekeeper.clearance.bodies import Body
from profilekeeper.clearance.chain import Chain
from profilekeeper.clearance.frames import JointBox, Straight, TipHeld
from profilekeeper.clearance.growing import grown_section
from profilekeeper.clearance.shapes import Section
from profilekeeper.clearance.surroundings import Thing
from profilekeeper.rules.finding import Verdict

if TYPE_CHECKING:
    from profilekeeper.clearance.sweep import Gap, Query

__all__ = ["Ask", "Room", "rooms"]

_NOMINAL_WIDTH_MM = 0.05
_WORST_WIDTH_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One part (a tool with the head, or only its bristles) moving one way among some things."""

    title: str
    tool: Body
    others: tuple[Body, ...]
    soft: bool
    chain: Chain
    things: tuple[Thing, ...]
    motion: JointBox | Straight
    tip_held: TipHeld | None = None

    @property
    def bodies(self) -> tuple[Body, ...]:
        """The tool and, for its hard part, the head."""
        return (self.tool,) if self.soft else (self.tool, *self.others)

    def sections(self, *, worst: bool) -> tuple[Section, ...]:
        """The sections meant, as recorded or as large as they may be."""
        return tuple(
            grown_section(section, body.close.mm) if worst else section
            for body in self.bodies
            for section in body.sections
            if section.soft is self.soft
        )

    def query(self, *, worst: bool, only: str | None = None) -> Query:
        """The question for the search; `only` one thing by its title."""
        from profilekeeper.clearance.sweep import Query

        things = [thing for thing in self.things if only is None or thing.title == only]
        grow = 1.0 if worst else 0.0
        return Query(
            head=self.chain.head,
            sections=self.sections(worst=worst),
            obstacles=tuple(
                obstacle
                for thing in things
                for obstacle in thing.obstacles(
                    sideways_mm=grow * (thing.sideways.mm + self.chain.sideways.mm),
                    upright_mm=grow * (thing.upright.mm + self.chain.upright.mm),
                )
            ),
            motion=self.motion,
            tip_held=self.tip_held,
            width_mm=_WORST_WIDTH_MM if worst else _NOMINAL_WIDTH_MM,
        )

    def thing(self, title: str) -> Thing:
        """The thing of that title."""
        return next(thing for thing in self.things if thing.title == title)


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The answer to one `Ask`: `nominal` against what is nearest (or hit), `worst` against everything."""

    ask: Ask
    nominal: Gap
    worst: Gap

    @property
    def gap_mm(self) -> float:
        """The least gap as recorded: the distance of two actual points."""
        return self.nominal.high_mm

    @property
    def sure_mm(self) -> float:
        """What is left of it if everything is off by its uncertainty the wrong way."""
        return min(self.worst.low_mm, self.nominal.high_mm)

    @property
    def plus_minus_mm(self) -> float:
        """How far the gap may be below what is recorded; where nothing is left of it, at least that."""
        if not self.worst.is_contact:
            return self.gap_mm - self.sure_mm
        thing = self.ask.thing(self.nominal.obstacle.name)
        part = max(body.close.mm for body in self.ask.bodies)
        return max(self.gap_mm, thing.upright.mm + self.ask.chain.upright.mm + part)

    @property
    def part(self) -> str:
        """Which section is nearest: its name where it has one, and whose it is if it is not the tool's."""
        section = self.nominal.section
        if section in self.ask.tool.sections:
            return section.name
        return f"the head's {section.name}" if section.name else "the head"

    def verdict(self, required_mm: float, warn_mm: float) -> Verdict:
        """Hits on proven contact; else by the sure gap. Bristles that touch are short of room: they give way."""
        if self.nominal.is_contact:
            return Verdict.SHORT if self.ask.soft else Verdict.HITS
        if self.worst.is_contact:
            return Verdict.SHORT
        if self.sure_mm >= required_mm + warn_mm:
            return Verdict.CLEAR
        return Verdict.TIGHT if self.sure_mm >= required_mm else Verdict.SHORT


def rooms(asks: Sequence[Ask]) -> tuple[Room, ...]:
    """The room of each, all of them in one search; the same question is not worked out twice."""
    return _worked_out(tuple(asks)) if asks else ()


@lru_cache(maxsize=64)
def _worked_out(asks: tuple[Ask, ...]) -> tuple[Room, ...]:
    from profilekeeper.clearance.sweep import gaps

    found = gaps([ask.query(worst=worst) for ask in asks for worst in (True, False)])
    answers = [Room(ask=ask, worst=found[2 * i], nominal=found[2 * i + 1]) for i, ask in enumerate(asks)]
    # The nearest thing may not be the one that leaves least for sure: that one is then told of.
    other = [i for i, room in enumerate(answers) if _is_about_another(room)]
    again = gaps([answers[i].ask.query(worst=False, only=answers[i].worst.obstacle.name) for i in other])
    for i, nominal in zip(other, again, strict=True):
        answers[i] = replace(answers[i], nominal=nominal)
    return tuple(answers)


def _is_about_another(room: Room) -> bool:
    return not room.nominal.is_contact and room.nominal.obstacle.name != room.worst.obstacle.name
