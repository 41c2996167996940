"""step: a change larger than usual against the snapshot before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from profilekeeper.model.profile import Profile
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.settings import Value
from profilekeeper.quantities import Measure, format_delta
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.limit import places_of
from profilekeeper.rules.numbers import amount_like, base_of, minus
from profilekeeper.rules.say import place

__all__ = ["judge_step"]


def judge_step(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every setting of the pattern that changed; without a snapshot before there is nothing to say.

    A setting that was recorded before and is not any more is unknown. `margin` is what is left of the largest
    usual change.
    """
    if case.previous is None or case.matching is None:
        return
    assert rule.setting is not None  # the schema requires it
    seen = set()
    for at in _leaves(case.profile, rule.setting):
        before = case.matching.pointer_before(at)
        if before is not None and before in case.previous.settings:
            seen.add(before)
            yield from _judged(rule, case, at, before)
    for pointer in _leaves(case.previous, rule.setting):
        if pointer not in seen:
            yield _gone(rule, case, pointer)


def _leaves(profile: Profile, pattern: str) -> Iterator[str]:
    """The settings that a pattern means and that are there: ends of pairs and values of page entries too."""
    for pointer, _ in places_of(profile.root, pattern):
        data = profile.branch(pointer).data
        if isinstance(data, dict):
            below = [f"{pointer}/value"]
        else:
            below = [f"{pointer}/{i}" for i in range(len(data))] if isinstance(data, list) else [pointer]
        yield from (at for at in below if at in profile.settings)


def _judged(rule: Rule, case: Case, pointer: str, before: str) -> Iterator[Finding]:
    assert case.previous is not None
    old, new = case.previous.value(before), case.profile.value(pointer)
    if old == new:
        return
    moved = minus(new, old)
    is_fixed = bool(case.profile.settings[pointer].kind.unit)
    largest = None if moved is None else amount_like(rule, rule.largest, moved, is_fixed)
    room = None if moved is None or largest is None else minus(largest, abs(moved))
    if moved is None or room is None:
        yield _unjudged(rule, case, pointer, old, new, moved is not None)
        return
    over = base_of(room) < 0
    by = format_delta(moved) if isinstance(moved, Measure) else f"{moved:+f}"
    yield Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS if over else Verdict.CLEAR,
        subject=pointer,
        sentence=f"{place(pointer)} went from {case.said(old)} to {case.said(new)}, by {by}; "
        f"{'more' if over else 'not more'} than the usual {case.said(largest)}.",
        source=rule.source,
        settings=(pointer,),
        value=moved,
        required=largest,
        margin=room,
        mend="read the value at the control again; if it holds, say why it changed so much" if over else "",
    )


def _unjudged(rule: Rule, case: Case, pointer: str, old: Value, new: Value, is_number: bool) -> Finding:
    why = "the largest usual change has no unit that fits it" if is_number else "the two cannot be subtracted"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=pointer,
        sentence=f"{place(pointer)} went from {case.said(old)} to {case.said(new)}; {why}.",
        source=rule.source,
        settings=(pointer,),
        mend=f"write `largest` in {rule.source} with its unit" if is_number else "look at the control",
    )


def _gone(rule: Rule, case: Case, pointer: str) -> Finding:
    assert case.previous is not None
    old = case.previous.value(pointer)
    finding = _unjudged(rule, case, pointer, old, None, False)
    return replace(
        finding,
        sentence=f"{place(pointer)} was {case.said(old)} and is not recorded any more.",
        mend=f"record {place(pointer)} again, or say that it is gone",
        missing=(pointer,),
    )
