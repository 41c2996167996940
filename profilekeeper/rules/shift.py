"""shift: zeros moved by whole turns of a motor while the soft limits stayed: the reference is on the wrong marker.

When an axis references one marker off, everything the operator then teaches anew (work zeros, laser) moves by
exactly one motor turn, and everything nobody touched (soft limits, tool-change spots) stays.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from profilekeeper.model.axis import Axis, Reading
from profilekeeper.model.identity import Matching
from profilekeeper.model.position import MACHINE
from profilekeeper.model.profile import Profile
from profilekeeper.model.ruleset import Rule
from profilekeeper.quantities import Angle, Length, Measure
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.numbers import minus_reading
from profilekeeper.rules.say import listed, place

__all__ = ["judge_shift"]

_TAUGHT = ("/work_offsets/", "/instruments/")
"""What is taught at the machine, so that it moves with a wrong reference; other positions are keyed on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moved:
    """One reading in the machine frame, now and by how much it moved since the snapshot before."""

    pointer: str
    by: Reading


def judge_shift(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for each axis of which several machine readings moved alike and others did not move at all.

    Fails where the common move is a whole number of motor turns, is unknown where the travel of one turn is not
    recorded or only one taught reading moved so, and is clear where it is no such number or was keyed alone.
    `tolerance` is how far it may be off; left out: the control's resolution.
    """
    if case.previous is None or case.matching is None:
        return
    readings = _readings(case)
    for axis in case.axes.values():
        moves = list(_moves(readings.get(axis.name, ()), case.profile, case.previous, case.matching))
        stayed = tuple(m for m in moves if m.by.base == 0)
        shifted = [m for m in moves if m.by.base != 0]
        if shifted and stayed:
            yield from _judged(rule, case, axis, shifted, stayed)


def _readings(case: Case) -> dict[str, list[str]]:
    """The pointers of everything that is counted from the machine zero, by axis."""
    found: dict[str, list[str]] = {name: [] for name in case.axes}
    for axis in case.axes.values():
        if axis.soft_limits is not None:
            found[axis.name] += [axis.soft_limits.low_pointer, axis.soft_limits.high_pointer]
    for position in case.positions:
        if position.frame == MACHINE:
            for letter in position.readings:
                found.setdefault(letter, []).append(f"{position.pointer}/{letter}")
    for _, instrument in case.profile.root.each("instruments"):
        if instrument.text("frame") in (MACHINE, None):
            for letter in ("X", "Y", "Z"):
                if instrument.length(letter) is not None:
                    found.setdefault(letter, []).append(f"{instrument.pointer}/{letter}")
    return found


def _moves(pointers: list[str] | tuple[()], now: Profile, before: Profile, matching: Matching) -> Iterator[_Moved]:
    for pointer in pointers:
        stood = matching.pointer_before(pointer)
        old, new = (None if stood is None else before.value(stood)), now.value(pointer)
        if isinstance(old, (Length, Angle)) and isinstance(new, (Length, Angle)):
            by = minus_reading(new, old)
            if by is not None:
                yield _Moved(pointer=pointer, by=by)


def _judged(rule: Rule, case: Case, axis: Axis, shifted: list[_Moved], stayed: tuple[_Moved, ...]) -> Iterator[Finding]:
    tolerance = _tolerance(rule, case, shifted[0].by)
    group = _largest_group(shifted, tolerance)
    turn = axis.per_motor_turn
    if turn is None or turn.base == 0 or not turn.is_like(group[0].by):
        if len(group) > 1:
            yield _no_turn(rule, case, axis, group, stayed)
        return
    turns = (group[0].by.base / turn.base).quantize(Decimal(1), ROUND_HALF_EVEN)
    off = abs(group[0].by.base - turns * turn.base)
    if turns == 0 or off > tolerance:
        yield _no_pattern(rule, case, axis, group)
    elif len(group) > 1:
        yield _wrong_marker(rule, case, axis, group, stayed, abs(turns))
    elif not group[0].pointer.startswith(_TAUGHT):
        yield _alone(rule, case, axis, group[0], stayed, abs(turns))
    else:
        yield _single(rule, case, axis, group[0], stayed, abs(turns))


def _tolerance(rule: Rule, case: Case, like: Reading) -> Decimal:
    said: Measure | None
    if isinstance(like, Length):
        said = rule.length(rule.tolerance) or case.profile.resolution
    else:
        said = rule.angle(rule.tolerance) or case.profile.angle_resolution
    return Decimal(0) if said is None else said.base


def _largest_group(shifted: list[_Moved], tolerance: Decimal) -> list[_Moved]:
    """The most readings that moved by the same amount."""
    groups = [[m for m in shifted if abs(m.by.base - one.by.base) <= tolerance] for one in shifted]
    return max(groups, key=len)


def _wrong_marker(
    rule: Rule, case: Case, axis: Axis, group: list[_Moved], stayed: tuple[_Moved, ...], turns: Decimal
) -> Finding:
    by = case.signed(group[0].by)
    what = "one motor turn" if turns == 1 else f"{turns:f} motor turns"
    return _finding(
        rule, Verdict.FAILS, axis, group, stayed,
        f"{_named(group)} all moved by {by}, which is {what} of {axis.name}, while {_named(stayed)} did not move: "
        f"{axis.name} has most likely referenced on the wrong marker.",
        f"key nothing and move nothing by program; compare {axis.name} with its witness mark, reference it anew, "
        f"then put back the {axis.name} readings that moved",
    )  # fmt: skip


def _single(rule: Rule, case: Case, axis: Axis, one: _Moved, stayed: tuple[_Moved, ...], turns: Decimal) -> Finding:
    what = "one motor turn" if turns == 1 else f"{turns:f} motor turns"
    return _finding(
        rule, Verdict.UNKNOWN, axis, [one], stayed,
        f"{place(one.pointer)} moved by {case.signed(one.by)}, which is {what} of {axis.name}; one reading alone "
        "does not tell whether the reference is off.",
        f"compare {axis.name} with its witness mark",
    )  # fmt: skip


def _alone(rule: Rule, case: Case, axis: Axis, one: _Moved, stayed: tuple[_Moved, ...], turns: Decimal) -> Finding:
    what = "one motor turn" if turns == 1 else f"{turns:f} motor turns"
    return _finding(
        rule, Verdict.CLEAR, axis, [one], stayed,
        f"{place(one.pointer)} moved by {case.signed(one.by)}, which happens to be {what} of {axis.name}; "
        f"{len(stayed)} other readings of {axis.name} did not move, and such a position is keyed, not taught.",
        "",
    )  # fmt: skip


def _no_turn(rule: Rule, case: Case, axis: Axis, group: list[_Moved], stayed: tuple[_Moved, ...]) -> Finding:
    lacks = f"{axis.pointer}/reference/per_motor_turn"
    return _finding(
        rule, Verdict.UNKNOWN, axis, group, stayed,
        f"{_named(group)} all moved by {case.signed(group[0].by)} while {_named(stayed)} did not move; whether that "
        "is a turn of the motor cannot be told.",
        f"record how far {axis.name} goes in one motor turn, and compare it with its witness mark",
        missing=(lacks,),
    )  # fmt: skip


def _no_pattern(rule: Rule, case: Case, axis: Axis, group: list[_Moved]) -> Finding:
    verb = "all moved" if len(group) > 1 else "moved"
    sentence = f"{_named(group)} {verb} by {case.signed(group[0].by)}, which is no whole number of motor turns."
    return _finding(rule, Verdict.CLEAR, axis, group, (), sentence, "")


def _named(moved: list[_Moved] | tuple[_Moved, ...]) -> str:
    return listed(place(m.pointer) for m in moved)


def _finding(
    rule: Rule, verdict: Verdict, axis: Axis, group: list[_Moved], stayed: tuple[_Moved, ...],
    sentence: str, mend: str, *, missing: tuple[str, ...] = (),
) -> Finding:  # fmt: skip
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=axis.pointer,
        sentence=sentence,
        source=rule.source,
        settings=tuple(m.pointer for m in (*group, *stayed)),
        value=group[0].by,
        required=axis.per_motor_turn,
        mend=mend,
        missing=missing,
    )
