"""The limits of one axis against one another: travel in soft limits in hard switches in mechanical stops."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from profilekeeper.model.axis import Axis, Range, Reading
from profilekeeper.model.ruleset import Rule
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.numbers import minus_reading
from profilekeeper.rules.say import listed, recorded

__all__ = ["judge_limits"]

_WORDS = {
    "travel": "travel",
    "soft_limits": "soft limits",
    "hard_switches": "hard switches",
    "mechanical_stops": "mechanical stops",
    "cable_limit": "cable limit",
}
_NESTED = ("travel", "soft_limits", "hard_switches", "mechanical_stops")


def judge_limits(rule: Rule, case: Case, axis: Axis) -> Iterator[Finding]:
    """Findings for one axis: every pair that is out of order, else one clear; and one unknown for what is missing.

    The soft limits are wanted of every axis that has ends; what stands between two recorded ones may be missing.
    """
    bad = [*_upside_down(rule, case, axis), *_nested(rule, case, axis), *_within_cable(rule, case, axis)]
    yield from bad
    lacks = _lacking(axis)
    if lacks:
        yield _unknown(rule, axis, lacks)
    elif not bad:
        yield _in_order(rule, axis)


def _ranges(axis: Axis) -> dict[str, Range]:
    ends = {name: getattr(axis, name) for name in _WORDS}
    return {name: r for name, r in ends.items() if r is not None}


def _lacking(axis: Axis) -> tuple[str, ...]:
    if axis.unlimited:
        return ()
    wanted = [*_NESTED, *(["cable_limit"] if axis.kind == "swivel" else [])]
    return tuple(f"{axis.pointer}/{name}" for name in wanted if getattr(axis, name) is None)


def _upside_down(rule: Rule, case: Case, axis: Axis) -> Iterator[Finding]:
    for name, ends in _ranges(axis).items():
        over = minus_reading(ends.high, ends.low)
        if over is not None and over.base < 0:
            said = f"from {case.said(ends.low)} to {case.said(ends.high)}"
            yield _fails(
                rule, axis, ends, ends.high, ends.low, over,
                f"The {_WORDS[name]} of {axis.name} run {said}: the low end stands above the high end.",
                "enter the low end first",
            )  # fmt: skip


def _nested(rule: Rule, case: Case, axis: Axis) -> Iterator[Finding]:
    """Each recorded range against the next wider one that is recorded."""
    known = [(name, ends) for name, ends in _ranges(axis).items() if name in _NESTED]
    for (inner_name, inner), (outer_name, outer) in pairwise(known):
        yield from _outside(rule, case, axis, (inner_name, inner), (outer_name, outer))


def _within_cable(rule: Rule, case: Case, axis: Axis) -> Iterator[Finding]:
    """The cable limit holds whatever the soft limits say, so they must lie within it."""
    known = _ranges(axis)
    inner = "soft_limits" if "soft_limits" in known else "travel"
    if "cable_limit" in known and inner in known:
        yield from _outside(rule, case, axis, (inner, known[inner]), ("cable_limit", known["cable_limit"]))


def _outside(
    rule: Rule, case: Case, axis: Axis, inner: tuple[str, Range], outer: tuple[str, Range]
) -> Iterator[Finding]:
    (inner_name, within), (outer_name, around) = inner, outer
    for at, value, limit, room in (
        (within.low_pointer, within.low, around.low, minus_reading(within.low, around.low)),
        (within.high_pointer, within.high, around.high, minus_reading(around.high, within.high)),
    ):
        if room is None or room.base >= 0:
            continue
        end = "low" if at.endswith("/0") else "high"
        yield _fails(
            rule, axis, around, value, limit, room,
            f"{axis.name}: the {end} end of the {_WORDS[inner_name]} ({case.said(value)}) lies beyond that of the "
            f"{_WORDS[outer_name]} ({case.said(limit)}) by {case.said(abs(room))}.",
            f"bring the {_WORDS[inner_name]} in by at least {case.said(abs(room))}",
            at,
        )  # fmt: skip


def _fails(
    rule: Rule,
    axis: Axis,
    around: Range,
    value: Reading,
    required: Reading,
    margin: Reading,
    sentence: str,
    mend: str,
    at: str = "",
) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS,
        subject=at or around.pointer,
        sentence=sentence,
        source=rule.source,
        settings=tuple(dict.fromkeys((at or around.low_pointer, around.pointer))),
        value=value,
        required=required,
        margin=margin,
        mend=mend,
    )


def _unknown(rule: Rule, axis: Axis, lacks: tuple[str, ...]) -> Finding:
    words = [_WORDS[p.rpartition("/")[2]] for p in lacks]
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=axis.pointer,
        sentence=f"Whether the limits of {axis.name} stand in order cannot be told in full: "
        f"{listed(words)} not recorded.",
        source=rule.source,
        mend=recorded(lacks),
        missing=lacks,
    )


def _in_order(rule: Rule, axis: Axis) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.CLEAR,
        subject=axis.pointer,
        sentence=f"{axis.name}: travel, soft limits, hard switches and mechanical stops lie inside one another."
        if not axis.unlimited
        else f"{axis.name} turns without end stops.",
        source=rule.source,
        settings=tuple(r.pointer for r in _ranges(axis).values()),
    )
