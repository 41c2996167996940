"""How much room there is, in the words of a finding: shared by every rule that asks the search."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from profilekeeper.clearance.closeness import ASSUMED_MM
from profilekeeper.model.ruleset import Rule
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.room import Ask, Room
from profilekeeper.rules.say import listed, place, recorded

__all__ = [
    "NOT_MODELLED",
    "Wanted",
    "about",
    "asked",
    "asked_of",
    "length_of",
    "margin_of",
    "not_known",
    "others_told",
    "step_mm",
    "wanted",
    "with_unknown",
]

# Source: common practice, no source: a finger's breadth, so that a hose or a splash guard is not the first to touch.
_REQUIRED_MM = Decimal(10)
# Source: common practice, no source: about what a second measurement with a tape comes out different by.
_WARN_MM = Decimal(3)
NOT_MODELLED = "Not modelled: hoses, cables, splash guards, bending, chips, and people. Try it at slow speed."

_GRID = {LengthUnit.MM: Decimal("0.1"), LengthUnit.IN: Decimal("0.01")}
_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The room a rule wants, and the warning distance beyond it."""

    required_mm: float
    warn_mm: float
    required: Length
    notes: tuple[str, ...]


def wanted(rule: Rule, unit: LengthUnit) -> Wanted:
    """`margin` and `warn_within` of the rule, else 10 mm and 3 mm; below zero counts as zero."""
    notes = tuple(
        f"{key.replace('_', ' ')} of the rule is no length; {usual} mm is reckoned with."
        for key, amount, usual in (("margin", rule.margin, _REQUIRED_MM), ("warn_within", rule.warn_within, _WARN_MM))
        if amount is not None and rule.length(amount) is None
    )
    required = max(_mm(rule.length(rule.margin), _REQUIRED_MM), Decimal(0))
    warn = max(_mm(rule.length(rule.warn_within), _WARN_MM), Decimal(0))
    return Wanted(
        required_mm=float(required),
        warn_mm=float(warn),
        required=length_of(float(required), unit, ROUND_HALF_EVEN),
        notes=notes,
    )


def step_mm(unit: LengthUnit) -> float:
    """The step in which an answer is told: 0.1 mm or 0.01 in."""
    return float(_GRID[unit] * unit.mm_each)


def length_of(mm: float, unit: LengthUnit, rounding: str) -> Length:
    """Millimetres as a length on the grid of the machine's unit."""
    grid = _GRID[unit]
    number = (Decimal(repr(mm)) / unit.mm_each / grid).quantize(Decimal(1), rounding=rounding) * grid
    return Length(number, unit)


def about(room: Room, unit: LengthUnit) -> str:
    """`18.4 ± 3.7 mm`; in contact how far it would have to rise is told instead."""
    gap = length_of(room.gap_mm, unit, ROUND_HALF_EVEN)
    off = length_of(room.plus_minus_mm, unit, ROUND_CEILING)
    return f"{gap.number:f} ± {off.number:f} {unit.value}"


def asked(rooms: Iterable[Room], unit: LengthUnit) -> tuple[str, ...]:
    """A sentence that asks for the uncertainties that nobody has recorded."""
    return asked_of((room.ask for room in rooms), unit)


def asked_of(asks: Iterable[Ask], unit: LengthUnit) -> tuple[str, ...]:
    """The same from the questions alone."""
    pointers: dict[str, None] = {}
    for ask in asks:
        chain, things = ask.chain, ask.things
        for close in (
            chain.sideways,
            chain.upright,
            *(body.close for body in ask.bodies),
            *(close for thing in things for close in (thing.sideways, thing.upright)),
        ):
            pointers.update(dict.fromkeys(close.asked))
    if not pointers:
        return ()
    usual = length_of(ASSUMED_MM, unit, ROUND_CEILING)
    more = f" and {len(pointers) - _NAMED} more" if len(pointers) > _NAMED else ""
    names = listed([place(p) for p in list(pointers)[:_NAMED]], "," if more else "and")
    return (
        f"How closely {names}{more} are known is not recorded; ± {usual}, as by tape, is reckoned with. Record it.",
    )


def others_told(worst: Room, rooms: Sequence[Room], unit: LengthUnit) -> tuple[str, ...]:
    """One sentence on the rooms that are not the worst; what is nearest is told where it is another thing."""
    if not rooms:
        return ()
    return (f"Also judged: {'; '.join(_other(worst, room, unit) for room in rooms)}.",)


def _other(worst: Room, room: Room, unit: LengthUnit) -> str:
    thing = room.nominal.obstacle.name
    tail = "" if thing == worst.nominal.obstacle.name else f" ({thing})"
    return f"{room.ask.title} {_short(room, unit)}{tail}"


def not_known(rule: Rule, case: Case, subject: str, title: str, lacks: Sequence[str], notes: Sequence[str]) -> Finding:
    """An unknown that names what is missing."""
    missing = tuple(dict.fromkeys(lacks))
    more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
    names = listed([place(p) for p in missing[:_NAMED]], "," if more else "and")
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=subject,
        sentence=f"{title} cannot be told: {names}{more} {'is' if len(missing) == 1 else 'are'} not recorded "
        "or not to be used as recorded.",
        source=rule.source,
        settings=tuple(p for p in missing if p in case.profile.settings),
        mend=recorded(missing),
        missing=missing,
        notes=tuple(dict.fromkeys(notes)),
    )


def with_unknown(finding: Finding, lacks: Sequence[str], title: str) -> Finding:
    """A finding that leaves some tools out: no better than unknown, and naming what is missing."""
    missing = tuple(dict.fromkeys(lacks))
    if not missing:
        return finding
    note = f"Not judged for want of a datum: {title}."
    if finding.verdict.rank > Verdict.UNKNOWN.rank:
        return replace(finding, missing=missing, notes=(*finding.notes, note))
    return replace(
        finding, verdict=Verdict.UNKNOWN, missing=missing, mend=recorded(missing), notes=(*finding.notes, note)
    )


def _short(room: Room, unit: LengthUnit) -> str:
    return "in contact" if room.nominal.is_contact else about(room, unit)


def _mm(length: Length | None, usual: Decimal) -> Decimal:
    return usual if length is None else length.mm


def margin_of(room: Room, required_mm: float, unit: LengthUnit) -> Length:
    """What is left of the room for sure beyond what is wanted; below zero it is too little."""
    return length_of(room.sure_mm - required_mm, unit, ROUND_FLOOR)
