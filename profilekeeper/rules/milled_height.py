"""Whether a table height came down by what was milled off since it was last set."""

from __future__ import annotations

from collections.abc import Iterator

from profilekeeper.model.ruleset import Rule
from profilekeeper.model.table import Table
from profilekeeper.rules.case import Case, case_of
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.milling import Milling, millings_of

__all__ = ["judge_milled_height"]


def judge_milled_height(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for every table whose height was set anew after a milling of known depth.

    Fails where it came down by another amount: either the milling or the new height is noted wrong. Needs the
    snapshot before. Source: common practice, no source: the height falls by what is milled off.
    """
    if case.previous is None:
        return
    before = case_of(case.previous, on=case.on)
    for table in case.tables.values():
        old = before.tables.get(table.name)
        if old is None or old.surface is None or table.surface is None or old.surface == table.surface:
            continue
        millings = _open_millings(table, old, case, before)
        if millings:
            yield from _judged(rule, case, table, old, millings)


def _open_millings(table: Table, old: Table, case: Case, before: Case) -> list[Milling]:
    """Millings that the old height did not hold yet."""
    held = {m.event.pointer for m in millings_of(old, before) if m.corrected is not None}
    return [m for m in millings_of(table, case) if m.event.pointer not in held]


def _judged(rule: Rule, case: Case, table: Table, old: Table, millings: list[Milling]) -> Iterator[Finding]:
    amounts = [abs(m.event.by_how_much) for m in millings if m.event.by_how_much is not None]
    if len(amounts) < len(millings) or old.surface is None or table.surface is None:
        return  # how much was milled is asked for by the millings themselves
    milled = amounts[0]
    for amount in amounts[1:]:
        milled = milled + amount
    fell = case.conventions.up(old.surface) - case.conventions.up(table.surface)
    off = abs(fell - milled)
    tolerance = rule.length(rule.tolerance)
    is_right = tolerance is None or off <= tolerance
    said = f"table {table.name}: its height fell by {case.said(fell)}, milled off since it was last set"
    yield Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.CLEAR if is_right else Verdict.FAILS,
        subject=f"{table.pointer}/surface",
        sentence=f"{said} were {case.said(milled)}"
        + ("." if is_right else f": {case.said(off)} are not accounted for."),
        source=rule.source,
        settings=(f"{table.pointer}/surface", *(m.event.pointer for m in millings)),
        value=fell,
        required=milled,
        mend="" if is_right else "measure the table again, or correct how much was milled; touch off no tool before",
    )
