"""pinch: room for people. It says "too close" or "not judged here", never "clear"."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Context, Decimal

from profilekeeper.model.profile import Branch
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.table import outline_of
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.apart import squared_gap
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.heights import z_ends
from profilekeeper.rules.limit import places_of
from profilekeeper.rules.say import listed, place, recorded

__all__ = ["LEAST_GAP_MM", "judge_pinch"]

LEAST_GAP_MM: Mapping[str, int] = {
    "body": 500, "head": 300, "leg": 180, "foot": 120, "toes": 50, "arm": 120, "hand": 100, "finger": 25,
}  # fmt: skip
"""The least gap in mm that spares a part of the body from being crushed.

Source: ISO 13854:2017, as restated by the Austrian accident insurer AUVA; the standard itself was not at hand.
"""

_NO_SAFEGUARD = (
    "A gap or a collision margin is no safeguarding distance; guards and distances are for a qualified person."
)
_CRUSHING = "ISO 13854 speaks of crushing only, not of impact, shearing or drawing in."
_DIGITS = Context(prec=60, rounding=ROUND_FLOOR)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gap:
    """A gap: what it is between, its width (None: not known), what it came from and what is missing."""

    subject: str
    between: str
    width: Length | None
    used: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    apart_in_height: bool = False


def judge_pinch(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every gap that the rule's `setting` names, else for every place of people on the floor.

    Such a place is held against where the spindle axis comes: what stands out from the axis is nearer still, so what
    is too close for the axis is too close. Everything else is not judged here.
    """
    gaps = _recorded(rule, case) if rule.setting is not None else _places(case)
    for gap in gaps:
        yield _judged(rule, case, gap)


def _recorded(rule: Rule, case: Case) -> Iterator[_Gap]:
    """Gaps that somebody measured and recorded."""
    for pointer, _ in places_of(case.profile.root, rule.setting or ""):
        at = pointer
        if isinstance(case.profile.branch(pointer).data, Mapping):
            at = f"{pointer}/value"
        width = case.profile.value(at)
        known = width if isinstance(width, Length) else None
        yield _Gap(subject=at, between=place(at), width=known, used=(at,), missing=() if known is not None else (at,))


def _places(case: Case) -> Iterator[_Gap]:
    for name, zone in case.profile.root.each("no_go_zones"):
        if zone.flag("people"):
            yield _place(case, name, zone)


def _place(case: Case, name: str, zone: Branch) -> _Gap:
    between = f"{name} and where the spindle axis comes"
    outline = outline_of(zone)
    reached, lacks = _travelled(case)
    ends = z_ends(case)
    missing = [*lacks, *([] if outline else [f"{zone.pointer}/outline"]), *ends[0].missing]
    missing += [f"{zone.pointer}/{key}" for key in ("from", "to") if zone.length(key) is None]
    if zone.text("frame") != "floor":
        return _Gap(subject=zone.pointer, between=f"{name}, which rides along, and the head", width=None)
    if missing or outline is None:
        return _Gap(subject=zone.pointer, between=between, width=None, missing=tuple(dict.fromkeys(missing)))
    square = squared_gap([(x.mm, y.mm) for x, y in outline], reached)
    root = _DIGITS.sqrt(_DIGITS.divide(Decimal(square.numerator), Decimal(square.denominator)))
    width = Length(root.quantize(Decimal("0.001"), ROUND_FLOOR), LengthUnit.MM)
    used = (zone.pointer, "/axes/X/travel", "/axes/Y/travel")
    return _Gap(subject=zone.pointer, between=between, width=width, used=used, apart_in_height=_is_apart(case, zone))


def _travelled(case: Case) -> tuple[list[tuple[Decimal, Decimal]], list[str]]:
    """The corners of the travel of X and Y, seen from above."""
    spans, missing = [], []
    for letter in "XY":
        axis = case.axes.get(letter)
        travel = axis.travel if axis else None
        if travel is None or not isinstance(travel.low, Length) or not isinstance(travel.high, Length):
            missing.append(f"/axes/{letter}/travel")
        else:
            spans.append((travel.low.mm, travel.high.mm))
    if missing:
        return [], missing
    (west, east), (south, north) = spans
    return [(west, south), (east, south), (east, north), (west, north)], []


def _is_apart(case: Case, zone: Branch) -> bool:
    """Whether the nose never comes to the heights of the place."""
    low, high = (end.value for end in z_ends(case))
    ends = [case.conventions.up(z) for key in ("from", "to") if (z := zone.length(key)) is not None]
    return low is not None and high is not None and (min(ends) > high or max(ends) < low)


def _judged(rule: Rule, case: Case, gap: _Gap) -> Finding:
    part = rule.part or "body"
    least = Length(Decimal(LEAST_GAP_MM[part]), LengthUnit.MM)
    is_close = gap.width is not None and gap.width < least and not gap.apart_in_height
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS if is_close else Verdict.UNKNOWN,
        subject=gap.subject,
        sentence=_sentence(case, gap, least, part, is_close),
        source=rule.source,
        settings=gap.used,
        value=gap.width,
        required=least,
        margin=None if gap.width is None else gap.width - least,
        mend="keep people out of there by a guard, or move the end of the travel"
        if is_close
        else recorded(gap.missing),
        missing=gap.missing,
        notes=(_NO_SAFEGUARD, _CRUSHING),
    )


def _sentence(case: Case, gap: _Gap, least: Length, part: str, is_close: bool) -> str:
    if gap.width is None:
        lacks = f"; {listed(place(p) for p in gap.missing)} not recorded" if gap.missing else ""
        return f"{gap.between}: not judged here{lacks}."
    width = case.said(gap.width)
    if is_close:
        return f"{gap.between}: too close, {width}; ISO 13854 wants {least} for the {part}."
    return f"{gap.between}: {width}; whether that is safe for people is not judged here."
