"""adds-up: a stored length (or a blade's diameter) against its own touch-off, never against today's table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.known import Known
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.case import Case
from profilekeeper.rules.closing import Closing, closing_of
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.say import listed, place, recorded

__all__ = ["judge_adds_up", "tolerance_of"]

# Source: common practice, no source: what a touch-off with paper on stone repeats to.
_USUAL = Length(Decimal("0.5"), LengthUnit.MM)
# Kinds whose length is no touch-off length.
_NOT_TOUCHED = ("jet", "gauge", "probe")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Off:
    """A touch-off that does not add up, and by how much."""

    closing: Closing
    error: Length


def judge_adds_up(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for every tool that has a length or a touch-off.

    The two sides may differ by the uncertainty noted with the touch-off, else by the rule's `tolerance`, else by
    0.5 mm; never by less than the control's resolution. `margin` is what is left of that.
    """
    closings = {tool.number: closing_of(tool, case) for tool in case.tools.values()}
    off = list(_off(rule, case, [c for c in closings.values() if c is not None]))
    for tool in case.tools.values():
        closing = closings[tool.number]
        if closing is not None:
            yield _judged(rule, case, closing, off)
        elif tool.length is not None and tool.kind not in _NOT_TOUCHED:
            yield _never_touched(rule, case, tool)


def tolerance_of(rule: Rule, case: Case, closing: Closing) -> Length:
    """How far the two sides of a touch-off may differ."""
    said = closing.touch.plus_minus or rule.length(rule.tolerance) or _USUAL
    finest = case.profile.resolution
    return finest if finest is not None and finest > said else said


def _off(rule: Rule, case: Case, closings: Sequence[Closing]) -> Iterator[_Off]:
    for closing in closings:
        error = closing.error
        if (
            error is not None
            and abs(error) > tolerance_of(rule, case, closing)
            and not _is_corrected(rule, case, closing)
        ):
            yield _Off(closing=closing, error=error)


def _is_corrected(rule: Rule, case: Case, closing: Closing) -> bool:
    """Whether the stored value goes with the table height as it was later found to have really been that day."""
    true = closing.touch.true_surface
    if true is None:
        return False
    surface = Known(value=true, used=(f"{closing.touch.pointer}/true_surface",))
    again = closing_of(closing.tool, case, surface)
    error = again.error if again else None
    return error is not None and abs(error) <= tolerance_of(rule, case, closing)


def _judged(rule: Rule, case: Case, closing: Closing, off: list[_Off]) -> Finding:
    error = closing.error
    if case.on is not None and closing.touch.date is not None and closing.touch.date > case.on:
        return _later(rule, case, closing)
    if error is None:
        return _unknown(rule, closing)
    mine = next((o for o in off if o.closing is closing), None)
    tolerance = tolerance_of(rule, case, closing)
    verdict, tilt_note = (Verdict.FAILS, ()) if mine else _met(rule, case, closing, error, tolerance)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=closing.pointer,
        sentence=_sentence(case, closing, error, tolerance, mine is not None),
        source=rule.source,
        settings=(*closing.noted.used, *closing.given.used),
        value=_stored(closing, closing.noted.value),
        required=_stored(closing, closing.given.value),
        margin=tolerance - abs(error),
        mend=_mend(case, closing, mine, off),
        notes=(*closing.notes, *tilt_note, *_newer(case, closing)),
    )


def _met(rule: Rule, case: Case, closing: Closing, error: Length, tolerance: Length) -> tuple[Verdict, tuple[str, ...]]:
    """Clear, or tight with the reason: near the tolerance, or touched off its tilt mark by more than it."""
    tilt = closing.too_long_by
    if tilt is not None and tilt.base != 0:
        note = (
            f"The tilt read {closing.touch.tilt} at touch: that alone makes the {closing.word} about "
            f"{case.said(abs(tilt))} too {'long' if tilt.base > 0 else 'short'}."
        )
        return (Verdict.TIGHT if abs(tilt) > tolerance else Verdict.CLEAR), (note,)
    warn = rule.length(rule.warn_within)
    return (Verdict.TIGHT if warn is not None and tolerance - abs(error) < warn else Verdict.CLEAR), ()


def _stored(closing: Closing, value: Length | None) -> Length | None:
    """A side in the measure that is stored: a radius as the diameter where that is what the control holds."""
    return None if value is None else value * closing.times if closing.times > 1 else value


def _sentence(case: Case, closing: Closing, error: Length, tolerance: Length, is_off: bool) -> str:
    stored, given = _stored(closing, closing.noted.value), _stored(closing, closing.given.value)
    what = "diameter" if closing.times > 1 else closing.word
    day = f" of {closing.touch.date}" if closing.touch.date else ""
    start = f"{closing.tool.title}: {what} {case.said(stored)} is stored, its touch-off{day} gives {case.said(given)}"
    if is_off:
        return f"{start}: off by {case.signed(error)}{' in radius' if closing.times > 1 else ''}."
    return f"{start}: within {case.said(tolerance)}."


def _mend(case: Case, closing: Closing, mine: _Off | None, off: list[_Off]) -> str:
    """What would mend it: one error shared by tools of one day points to what they shared, not to the tools."""
    if mine is None:
        tilt = closing.too_long_by
        return "touch off again with the tilt on its mark" if tilt is not None and tilt.base != 0 else ""
    alike = [o for o in off if _is_alike(o, mine)]
    if len(alike) > 1:
        numbers = listed(o.closing.tool.number for o in alike)
        surface = closing.touch.surface
        noted = f" (noted {case.said(surface)})" if surface is not None else ""
        return (
            f"tools {numbers} of {closing.touch.date} are all off by about {case.signed(mine.error)}: look at the "
            f"table height of that day{noted} and at what lay under the slab, not at the tools"
        )
    given = _stored(closing, closing.given.value)
    return (
        f"no other tool of that day is off like this: check Z at touch and thickness of {closing.tool.title}, "
        f"touch it off again, or store {case.said(_as_shown(case, closing, given))} if the touch-off is right"
    )


def _as_shown(case: Case, closing: Closing, value: Length | None) -> Length | None:
    if value is None or closing.word == "radius":
        return value
    return case.conventions.noted_as_shown(value)


def _is_alike(one: _Off, other: _Off) -> bool:
    """Same day, same table, and the same error within a tenth of a millimetre or a tenth of itself."""
    if one.closing.touch.date is None or one.closing.touch.date != other.closing.touch.date:
        return False
    if one.closing.touch.table != other.closing.touch.table:
        return False
    apart = abs(one.error.base - other.error.base)
    return apart <= max(Decimal("0.1"), abs(other.error.base) / 10)


def _newer(case: Case, closing: Closing) -> Iterator[str]:
    source = case.sources.of(closing.pointer)
    touched = closing.touch.date
    if source and source.date and touched and not source.is_blanket and source.date > touched:
        yield f"The {closing.word} was recorded on {source.date}, after this touch-off of {touched}."


def _unknown(rule: Rule, closing: Closing) -> Finding:
    missing = closing.missing
    why = f"{listed(place(p) for p in missing)} not recorded" if missing else "see the notes"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=closing.pointer,
        sentence=f"{closing.tool.title}: whether its {closing.word} goes with its touch-off cannot be told; {why}.",
        source=rule.source,
        settings=(*closing.noted.used, *closing.given.used),
        mend=recorded(missing) or "touch it off again, spindle down or blade upright",
        missing=missing or (closing.touch.pointer,),
        notes=closing.notes,
    )


def _later(rule: Rule, case: Case, closing: Closing) -> Finding:
    pointer = f"{closing.touch.pointer}/date"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=closing.pointer,
        sentence=f"{closing.tool.title}: its touch-off is dated {closing.touch.date}, later than {case.on}.",
        source=rule.source,
        settings=(pointer,),
        mend=f"correct {place(pointer)}",
        missing=(pointer,),
    )


def _never_touched(rule: Rule, case: Case, tool: Tool) -> Finding:
    pointer = f"{tool.pointer}/touch_off"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=f"{tool.pointer}/length",
        sentence=f"{tool.title}: length {case.said(tool.length)} is stored, but no touch-off that it came from.",
        source=rule.source,
        settings=(f"{tool.pointer}/length",),
        mend=f"touch {tool.title} off and note the table height, what lies under the slab, thickness and tilt",
        missing=(pointer,),
    )
