"""mount: does every joint from the spindle nose to the tool go together and hold, and may the tool turn so fast."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from profilekeeper.model.profile import Branch
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.tool import Joint, Tool, joint_of
from profilekeeper.quantities import Quantity
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.say import listed, place, recorded
from profilekeeper.rules.threads import differences, thread_of
from profilekeeper.rules.turning import Hold, directions, holds

__all__ = ["judge_mount"]

_NOT_TURNED = ("probe", "gauge", "jet")
_PER_MIN = "1/min"
# Source: OEIS A000796 (pi), 20 digits.
_PI = Decimal("3.14159265358979323846")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spindle:
    """What a mount asks of a spindle; None where it is not recorded."""

    pointer: str
    nose: Joint | None
    rotation: str | None
    max_speed: Decimal | None
    ramp_down: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One thing seen of a joint: verdict, words, what was used and what is missing, what would mend it."""

    verdict: Verdict
    says: str
    used: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    mend: str = ""


def judge_mount(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every joint of every tool, and one for the speed of every tool that turns.

    A tool without recorded joints is one unknown. Nothing is said of a thing that is not screwed, such as a taper,
    but that it fits.
    """
    spindles = {name: _spindle(branch) for name, branch in case.profile.root.each("spindles")}
    for tool in case.tools.values():
        if tool.kind == "jet":
            continue
        spindle = spindles.get(tool.spindle) if tool.spindle else _only(spindles)
        if not tool.joints:
            yield _no_joints(rule, tool)
        for index, joint in enumerate(tool.joints):
            yield _joint(rule, tool, joint, spindle, is_first=index == 0)
        if tool.kind not in _NOT_TURNED:
            yield from _turning(rule, tool, spindle)
            yield _speed(rule, case, tool, spindle)


def _spindle(branch: Branch) -> _Spindle:
    nose = branch.at("nose")
    return _Spindle(
        pointer=branch.pointer,
        nose=joint_of(nose) if nose else None,
        rotation=branch.text("rotation"),
        max_speed=branch.number("max_speed"),
        ramp_down=branch.number("ramp_down"),
    )


def _only(spindles: dict[str, _Spindle]) -> _Spindle | None:
    return next(iter(spindles.values())) if len(spindles) == 1 else None


def _joint(rule: Rule, tool: Tool, joint: Joint, spindle: _Spindle | None, *, is_first: bool) -> Finding:
    seen = [*_own(joint), *(_at_nose(joint, tool, spindle) if is_first else ()), *_hold(tool, joint, spindle)]
    verdict = max((s.verdict for s in seen), key=lambda v: v.rank, default=Verdict.CLEAR)
    told = [s for s in seen if s.verdict is verdict] or [_Seen(verdict=verdict, says="not screwed, nothing to unscrew")]
    missing = tuple(dict.fromkeys(p for s in seen for p in s.missing))
    mends = [s.mend for s in told if s.mend] or [recorded(missing)]
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=joint.pointer,
        sentence=f"{tool.title}, {joint.name or 'joint'}: {'; '.join(s.says for s in told)}.",
        source=rule.source,
        settings=tuple(dict.fromkeys((joint.pointer, *(p for s in seen for p in s.used)))),
        mend=mends[0],
        missing=missing,
        notes=tuple(f"{s.says[:1].upper()}{s.says[1:]}." for s in seen if s not in told and s.missing),
    )


def _own(joint: Joint) -> Iterator[_Seen]:
    """A joint whose mark, size and pitch do not say the same thread."""
    thread = thread_of(joint.thread)
    if thread is None or thread.series in ("G", "R"):
        return
    off = [
        f"{what} {said}"
        for what, said, by_mark, within in (
            ("size", joint.size, thread.major, Decimal("0.05")),
            ("pitch", joint.pitch, thread.pitch, Decimal("0.01")),
        )
        if said is not None and by_mark is not None and abs(said.mm - by_mark) > within
    ]
    if off:
        says = f"recorded as {joint.thread}, but with {listed(off)}"
        yield _Seen(verdict=Verdict.UNKNOWN, says=says, mend="measure the thread and record it once")


def _at_nose(joint: Joint, tool: Tool, spindle: _Spindle | None) -> Iterator[_Seen]:
    """Whether the first joint goes onto the spindle nose."""
    if spindle is None or spindle.nose is None:
        lacks = f"{spindle.pointer}/nose" if spindle else f"{tool.pointer}/spindle"
        yield _Seen(verdict=Verdict.UNKNOWN, says="what nose it goes on is not recorded", missing=(lacks,))
        return
    nose = spindle.nose
    off = list(differences(nose, joint))
    used = (nose.pointer,)
    if off:
        says = f"it does not go on the nose: {listed(off)}"
        yield _Seen(verdict=Verdict.FAILS, says=says, used=used, mend="fit the adapter that belongs to this nose")
    elif (nose.thread or nose.size) is None or (joint.thread or joint.size) is None:
        lacking = nose if (nose.thread or nose.size) is None else joint
        key = "size" if lacking.kind not in (None, "thread") else "thread"
        missing = (f"{lacking.pointer}/{key}",)
        yield _Seen(verdict=Verdict.UNKNOWN, says="whether it fits the nose is not recorded", missing=missing)
    else:
        yield _Seen(verdict=Verdict.CLEAR, says=f"fits the nose ({joint.thread or joint.size})", used=used)


def _hold(tool: Tool, joint: Joint, spindle: _Spindle | None) -> Iterator[_Seen]:
    """Whether a threaded joint stays tight in every direction the tool may run."""
    if tool.kind in _NOT_TURNED or (joint.kind is not None and joint.kind != "thread"):
        return
    if joint.kind is None and joint.thread is None and joint.hand is None:
        missing = (f"{joint.pointer}/kind",)
        yield _Seen(verdict=Verdict.UNKNOWN, says="how it holds is not recorded", missing=missing)
        return
    turning = directions(tool.runs, spindle.rotation if spindle else None)
    lacks = [f"{joint.pointer}/hand"] if joint.hand is None else []
    lacks += [f"{tool.pointer}/runs"] if turning is None else []
    if lacks or turning is None:
        says = f"whether it unscrews cannot be told; {listed(place(p) for p in lacks)} not recorded"
        yield _Seen(verdict=Verdict.UNKNOWN, says=says, missing=tuple(lacks))
        return
    used: tuple[str, ...] = (f"{tool.pointer}/runs",) if tool.runs else ()
    used += (f"{spindle.pointer}/rotation",) if spindle and spindle.rotation else ()
    for hold in holds(joint, turning, tool.weight, spindle.ramp_down if spindle else None):
        yield _Seen(
            verdict=hold.verdict,
            says=hold.says,
            used=used,
            missing=_lacking(tool, joint, hold),
            mend=_mend(joint, hold),
        )


def _lacking(tool: Tool, joint: Joint, hold: Hold) -> tuple[str, ...]:
    if hold.verdict is not Verdict.UNKNOWN:
        return ()
    if "weight" in hold.says:
        return (f"{tool.pointer}/weight",)
    return (f"{joint.pointer}/lock",)


def _mend(joint: Joint, hold: Hold) -> str:
    if hold.verdict is Verdict.FAILS:
        other = "left" if joint.hand == "right" else "right"
        return f"do not run it: fit a {other}-hand joint, or one that a key or pins hold"
    if hold.verdict is not Verdict.TIGHT:
        return ""
    if "braking" in hold.says:
        return "hold it by a key, pins or a grub screw, and look at it after every hard stop"
    return f"look at the {joint.lock} before every run, or fit a joint of the other hand"


def _turning(rule: Rule, tool: Tool, spindle: _Spindle | None) -> Iterator[Finding]:
    """A tool that has to run the way its spindle cannot turn."""
    if spindle is None or directions(tool.runs, spindle.rotation) != frozenset():
        return
    yield Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS,
        subject=f"{tool.pointer}/runs",
        sentence=f"{tool.title} runs {tool.runs}, but its spindle turns {spindle.rotation} only.",
        source=rule.source,
        settings=(f"{tool.pointer}/runs", f"{spindle.pointer}/rotation"),
        mend="look at the arrow on the tool and at how the spindle really turns, and correct the one that is wrong",
    )


def _speed(rule: Rule, case: Case, tool: Tool, spindle: _Spindle | None) -> Finding:
    """The speed at the tool against the mark on it. Geared heads: tool speed = spindle speed times the ratio."""
    set_to, at = _set_speed(tool, spindle)
    marked = tool.marked_speed
    missing = [f"{tool.pointer}/marked_speed"] if marked is None else []
    if set_to is None:
        missing.append(f"{tool.pointer}/speed")
    if set_to is None or marked is None:
        return _no_speed(rule, tool, tuple(missing), at)
    turns = set_to * (Decimal(1) if tool.gear_ratio is None else abs(tool.gear_ratio))
    if at != f"{tool.pointer}/speed" and turns > marked:
        return _no_speed(rule, tool, (f"{tool.pointer}/speed",), at)
    verdict = Verdict.FAILS if turns > marked else Verdict.CLEAR
    ratio = (f"{tool.pointer}/gear_ratio",) if tool.gear_ratio is not None else ()
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=f"{tool.pointer}/speed",
        sentence=_speed_sentence(tool, turns, marked),
        source=rule.source,
        settings=(at, f"{tool.pointer}/marked_speed", *ratio, *_diameter_used(tool)),
        value=Quantity(turns, _PER_MIN),
        required=Quantity(marked, _PER_MIN),
        margin=Quantity(marked - turns, _PER_MIN),
        mend=f"set it to {_most(tool, marked)} {_PER_MIN} or less" if verdict is Verdict.FAILS else "",
        notes=() if at.endswith("/speed") and at.startswith("/tools") else ("Judged by the spindle's highest speed.",),
    )


def _set_speed(tool: Tool, spindle: _Spindle | None) -> tuple[Decimal | None, str]:
    """The speed set for a tool; where none is recorded the fastest the spindle turns is the worst that can be."""
    if tool.speed is not None or spindle is None:
        return tool.speed, f"{tool.pointer}/speed"
    return spindle.max_speed, f"{spindle.pointer}/max_speed"


def _speed_sentence(tool: Tool, turns: Decimal, marked: Decimal) -> str:
    """Rim speed = pi times diameter (as new) times turns a minute over 60. Source: geometry; the mark: EN 13236."""
    size = tool.diameter.new
    rim = "" if size is None else f", {_rim(size.mm, turns)} m/s at the rim"
    allowed = "" if size is None else f" ({_rim(size.mm, marked)} m/s)"
    word = "turns" if tool.gear_ratio is not None else "is set to"
    start = f"{tool.title} {word} {_plain(turns)} {_PER_MIN}{rim}"
    if turns > marked:
        return f"{start}; it is marked for {_plain(marked)} {_PER_MIN}{allowed} and may burst."
    return f"{start}; marked for {_plain(marked)} {_PER_MIN}{allowed}."


def _rim(diameter_mm: Decimal, turns: Decimal) -> Decimal:
    return (_PI * diameter_mm * turns / 60000).quantize(Decimal("0.1"), ROUND_HALF_EVEN)


def _plain(number: Decimal) -> str:
    return f"{number.quantize(Decimal(1), ROUND_HALF_EVEN):f}" if number != number.to_integral() else f"{number:.0f}"


def _most(tool: Tool, marked: Decimal) -> Decimal:
    """The fastest setting at which the tool turns no faster than marked, in whole turns."""
    ratio = Decimal(1) if tool.gear_ratio is None else abs(tool.gear_ratio)
    return (marked / ratio).quantize(Decimal(1), ROUND_FLOOR)


def _diameter_used(tool: Tool) -> tuple[str, ...]:
    return (f"{tool.pointer}/diameter/new",) if tool.diameter.new is not None else ()


def _no_speed(rule: Rule, tool: Tool, missing: tuple[str, ...], at: str) -> Finding:
    lacks = listed(place(p) for p in missing)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=f"{tool.pointer}/speed",
        sentence=f"{tool.title}: whether it turns faster than it is marked for cannot be told; {lacks} not recorded.",
        source=rule.source,
        settings=(at,),
        mend=recorded(missing),
        missing=missing,
    )


def _no_joints(rule: Rule, tool: Tool) -> Finding:
    pointer = f"{tool.pointer}/joints"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=pointer,
        sentence=f"{tool.title}: how it is fixed to the spindle is not recorded, so nothing is known of its mount.",
        source=rule.source,
        settings=(tool.pointer,),
        mend=f"record the joints of {tool.title} from the nose on: thread, hand and lock",
        missing=(pointer,),
    )
