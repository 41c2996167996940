"""stale: tools touched off after the table was milled and before its value was corrected carry the milling."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from profilekeeper.model.conventions import Z_AT_TOUCH
from profilekeeper.model.known import Known
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.table import Table
from profilekeeper.quantities import Length
from profilekeeper.rules.adds_up import tolerance_of
from profilekeeper.rules.case import Case
from profilekeeper.rules.closing import Closing, closing_of
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.milled_height import judge_milled_height
from profilekeeper.rules.milling import Carried, Milling, carried_by, millings_of
from profilekeeper.rules.say import listed, place, recorded

__all__ = ["judge_stale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """How the millings of its table stand to one touch-off."""

    closing: Closing
    table: Table
    by: dict[Carried, list[Milling]]

    @property
    def carried(self) -> list[Milling]:
        return [*self.by.get(Carried.YES, ()), *self.by.get(Carried.NOT_YET_CORRECTED, ())]


def judge_stale(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for every touched-off tool on a table that was ever milled, and one for a height set anew.

    Fails with the true length where the stored one carries a milling that the table value holds by now; tight
    where the table value is not corrected yet; unknown where date, height or amount are missing.
    """
    millings = {name: millings_of(table, case) for name, table in case.tables.items()}
    for tool in case.tools.values():
        closing = closing_of(tool, case)
        if closing is None or (closing.noted.value is None and closing.touch.true_surface is None):
            continue
        table = closing.table
        if table is None:
            if any(e.kind == "table milled" for e in case.events):
                yield _unknown(rule, closing, "on which table it was touched off", (f"{closing.touch.pointer}/table",))
        elif millings[table.name]:
            yield _of_kind(rule, case, closing, table, millings[table.name])
    yield from judge_milled_height(rule, case)


def _of_kind(rule: Rule, case: Case, closing: Closing, table: Table, millings: tuple[Milling, ...]) -> Finding:
    if closing.word == "length" and case.conventions.kind == Z_AT_TOUCH:
        return _z_at_touch(rule, case, closing, table, millings)
    tolerance = tolerance_of(rule, case, closing)
    by: dict[Carried, list[Milling]] = {}
    for milling in millings:
        carried = carried_by(milling, closing.touch, table, case, tolerance)
        by.setdefault(carried, []).append(milling)
    state = _State(closing=closing, table=table, by=by)
    if closing.touch.true_surface is not None and closing.touch.surface is not None:
        up = case.conventions.up
        return _carries(rule, case, state, up(closing.touch.surface) - up(closing.touch.true_surface))
    return _dated(rule, case, state)


def _dated(rule: Rule, case: Case, state: _State) -> Finding:
    touch = state.closing.touch
    if Carried.UNDATED in state.by:
        return _unknown(rule, state.closing, "whether it was touched off before or after", (f"{touch.pointer}/date",))
    if Carried.NO_SURFACE in state.by:
        lacks = f"{touch.pointer}/surface" if touch.surface is None else f"{state.table.pointer}/surface"
        return _unknown(rule, state.closing, "with which table height it was touched off", (lacks,))
    if Carried.SAME_DAY in state.by:
        lacks = f"{touch.pointer}/true_surface"
        return _unknown(rule, state.closing, "which came first on the day both were done", (lacks,))
    if not state.carried:
        return _clear(rule, state.closing)
    lacking = tuple(f"{m.event.pointer}/by_how_much" for m in state.carried if m.event.by_how_much is None)
    if lacking:
        return _unknown(rule, state.closing, "how much of the milling it carries", lacking)
    return _carries(rule, case, state, _amount(state.carried))


def _amount(millings: list[Milling]) -> Length:
    amounts = [abs(m.event.by_how_much) for m in millings if m.event.by_how_much is not None]
    total = amounts[0]
    for amount in amounts[1:]:
        total = total + amount
    return total


def _carries(rule: Rule, case: Case, state: _State, amount: Length) -> Finding:
    closing = state.closing
    true = _true(case, closing, amount)
    noted = closing.noted.value
    if noted is None or true is None:
        return _unknown(rule, closing, "what its true length is", closing.missing)
    if abs(noted - true) <= tolerance_of(rule, case, closing):
        return _clear(rule, closing)
    pending = Carried.NOT_YET_CORRECTED in state.by and Carried.YES not in state.by
    stored, real = _shown(case, closing, noted), _shown(case, closing, true)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.TIGHT if pending else Verdict.FAILS,
        subject=closing.pointer,
        sentence=_sentence(case, state, amount, stored, real, pending),
        source=rule.source,
        settings=_settings(state),
        value=stored,
        required=real,
        margin=-abs(noted - true) * closing.times,
        mend=_mend(case, closing, real, pending),
    )


def _true(case: Case, closing: Closing, amount: Length) -> Length | None:
    """The true length or radius: closed against the true height, else the stored one and what it carries."""
    surface = closing.touch.surface
    if surface is not None:
        true_surface = case.conventions.shown(case.conventions.up(surface) - amount)
        again = closing_of(closing.tool, case, Known(value=true_surface))
        if again is not None and again.given.value is not None:
            return again.given.value
    return None if closing.noted.value is None else closing.noted.value + amount


def _shown(case: Case, closing: Closing, value: Length) -> Length:
    """A length with the sign it has on the screen, a radius as the diameter where that is stored."""
    if closing.word == "radius":
        return value * closing.times if closing.times > 1 else value
    return case.conventions.noted_as_shown(value)


def _sentence(case: Case, state: _State, amount: Length, stored: Length, real: Length, pending: bool) -> str:
    closing, touch = state.closing, state.closing.touch
    milled = listed(str(m.event.date) for m in state.carried) or "that day"
    what = "diameter" if closing.times > 1 else closing.word
    start = (
        f"{closing.tool.title} was touched off on {touch.date}, after table {state.table.name} was milled "
        f"({milled}, {case.said(amount)})"
    )
    if pending:
        return (
            f"{start}, and the table value still stands as before: its {what} {case.said(stored)} carries the "
            f"milling (really {case.said(real)}) and will be wrong once the table value is corrected."
        )
    corrected = next((m.corrected for m in state.carried if m.corrected), None)
    until = f" and before its value was corrected on {corrected}" if corrected else " with the height from before"
    return (
        f"{start}{until}: its {what} {case.said(stored)} carries the milling, really it is {case.said(real)}; "
        f"as it stands it goes {case.said(amount)} too deep."
    )


def _mend(case: Case, closing: Closing, real: Length, pending: bool) -> str:
    if pending:
        return "correct the table value, and touch this tool off again at the same time"
    return f"touch {closing.tool.title} off again, or store {case.said(real)} and prove it with a slow cut"


def _settings(state: _State) -> tuple[str, ...]:
    events = [p for m in state.carried for p in (m.event.pointer, m.corrected_by) if p]
    closing = state.closing
    return tuple(dict.fromkeys((*closing.noted.used, *closing.given.used, f"{closing.touch.pointer}/date", *events)))


def _z_at_touch(rule: Rule, case: Case, closing: Closing, table: Table, millings: tuple[Milling, ...]) -> Finding:
    """Lengths kept as Z at touch: each milling makes every length taken before it too high, whatever the table says."""
    touched, noted = closing.touch.date, closing.noted.value
    if touched is None or noted is None:
        lacks = closing.noted.missing or (f"{closing.touch.pointer}/date",)
        return _unknown(rule, closing, "whether it was touched off before or after", lacks)
    later = [m for m in millings if m.event.date is not None and m.event.date > touched]
    if any(m.event.date == touched for m in millings):
        lacks = (f"{closing.touch.pointer}/true_surface",)
        return _unknown(rule, closing, "which came first on the day both were done", lacks)
    if not later:
        return _clear(rule, closing)
    lacking = tuple(f"{m.event.pointer}/by_how_much" for m in later if m.event.by_how_much is None)
    if lacking:
        return _unknown(rule, closing, "how much was milled off since", lacking)
    amount = _amount(later)
    real = case.conventions.noted_as_shown(noted - amount)
    milled = listed(str(m.event.date) for m in later)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS,
        subject=closing.pointer,
        sentence=f"{closing.tool.title} was touched off on {touched}, before table {table.name} was milled ({milled}, "
        f"{case.said(amount)}): its Z at touch is kept as {case.said(closing.tool.length)}, really it is "
        f"{case.said(real)}; as it stands it stays {case.said(amount)} too high.",
        source=rule.source,
        settings=(closing.pointer, f"{closing.touch.pointer}/date", *(m.event.pointer for m in later)),
        value=closing.tool.length,
        required=real,
        margin=-amount,
        mend=f"touch {closing.tool.title} off again, or store {case.said(real)} and prove it with a slow cut",
    )


def _clear(rule: Rule, closing: Closing) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.CLEAR,
        subject=closing.pointer,
        sentence=f"{closing.tool.title}: its {closing.word} carries no milling of the table.",
        source=rule.source,
        settings=(closing.pointer, f"{closing.touch.pointer}/date"),
    )


def _unknown(rule: Rule, closing: Closing, what: str, missing: tuple[str, ...]) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=closing.pointer,
        sentence=f"{closing.tool.title}: whether its {closing.word} carries a milling of the table cannot be told; "
        f"{what} is not known ({listed(place(p) for p in missing)}).",
        source=rule.source,
        settings=(closing.pointer,),
        mend=f"{recorded(missing)}, or touch {closing.tool.title} off again",
        missing=missing,
    )
