"""safe-z: every tool's safe Z is its touch on the highest of stone, clamps and bow, plus a margin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.axis import Reading
from profilekeeper.model.known import Known
from profilekeeper.model.place import machine_reading, nose_reading
from profilekeeper.model.position import Position
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.table import Table
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case
from profilekeeper.rules.closing import table_nose_height
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.hanging import hang_below_nose
from profilekeeper.rules.heights import Doubt, doubt_of, flatness, height_under, known_sum, z_ends
from profilekeeper.rules.say import listed, place, recorded

__all__ = ["Height", "judge_safe_z", "standing_at_safe_z", "touch_height"]

_MEASURED = ("surface", "height", "thickness", "laminated", "highest_clamp", "pivot_to_gauge_line", "length")


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """Where a tool as new touches the highest thing on the table (upward Z of the nose), and how sure that is."""

    touch: Known[Length]
    doubt: Doubt


def touch_height(tool: Tool, case: Case) -> Height:
    """The upward Z of the nose at which a tool touches the highest of stone, clamps and bow, at its worst tilt."""
    tops = [_top(case, table) for table in case.tables.values()]
    lacking = [top for top in tops if top.value is None]
    if not tops or lacking:
        missing = tuple(p for top in lacking for p in top.missing) or ("/tables/main/surface",)
        top: Known[Length] = Known(value=None, missing=missing)
    else:
        top = max(tops, key=_base)
    touch = known_sum((top, hang_below_nose(tool, case)))
    measured = (p for p in touch.used if p.rpartition("/")[2] in _MEASURED or _is_drawn(p))
    return Height(touch=touch, doubt=doubt_of(case, measured))


def judge_safe_z(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for every tool: its own safe Z, else the general one, against touch plus margin.

    Within the margin it is short, at or below the touch it hits. The margin is there for what is not known: more
    doubt than the margin is tight, more than all that is above the touch unknown.
    """
    for tool in case.tools.values():
        if tool.kind != "jet":
            yield _judged(rule, case, tool)


def _base(known: Known[Length]) -> Decimal:
    assert known.value is not None  # only known ones are compared
    return known.value.base


def _is_drawn(pointer: str) -> bool:
    return "/sections/" in pointer or "/body/" in pointer or "/zones/" in pointer


def _top(case: Case, table: Table) -> Known[Length]:
    """The highest thing on a table: stone at its thickest with its bow, or the highest clamp."""
    stone = known_sum((height_under(case, table, highest=True), _thickest(case), _said(case, "bow")))
    clamp = _said(case, "highest_clamp")
    if stone.value is None or clamp.value is None:
        over: Known[Length] = Known(value=None, missing=(*stone.missing, *clamp.missing))
    else:
        over = max((stone, clamp), key=_base)
    return known_sum((table_nose_height(table, case), flatness(table, "highest"), over))


def _thickest(case: Case) -> Known[Length]:
    slab = case.profile.root.at("slab")
    largest, laminated = slab.at("largest").length("thickness"), slab.length("laminated")
    if largest is None:
        return Known(value=None, missing=("/slab/largest/thickness",))
    if laminated is not None and laminated > largest:
        return Known(value=laminated, used=("/slab/laminated",))
    return Known(value=largest, used=("/slab/largest/thickness",))


def _said(case: Case, key: str) -> Known[Length]:
    value = case.profile.root.at("safe_z").length(key)
    pointer = f"/safe_z/{key}"
    return Known(value=None, missing=(pointer,)) if value is None else Known(value=value, used=(pointer,))


def _margin(rule: Rule, case: Case) -> Known[Length]:
    said = _said(case, "margin")
    usual = rule.length(rule.margin)
    return said if said.value is not None or usual is None else Known(value=usual)


def _judged(rule: Rule, case: Case, tool: Tool) -> Finding:
    height, margin, stands = touch_height(tool, case), _margin(rule, case), standing_at_safe_z(case, tool)
    needed = known_sum((height.touch, margin))
    missing = tuple(dict.fromkeys((*stands.missing, *needed.missing)))
    if needed.value is None or not isinstance(stands.value, Length):
        return _unknown(rule, case, tool, needed, missing, height)
    room = case.conventions.up(stands.value) - needed.value
    verdict = _verdict(rule, room, needed.value - _sure(height.touch), height.doubt)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=f"{tool.pointer}/safe_z",
        sentence=_sentence(case, tool, stands.value, needed.value, room, verdict),
        source=rule.source,
        settings=tuple(dict.fromkeys((*stands.used, *needed.used))),
        value=stands.value,
        required=case.conventions.shown(needed.value),
        margin=room,
        mend=_mend(case, tool, needed.value, verdict),
        notes=(*height.touch.notes, *stands.notes, *height.doubt.note(case)),
    )


def _sure(known: Known[Length]) -> Length:
    assert known.value is not None  # a known sum has known parts
    return known.value


def standing_at_safe_z(case: Case, tool: Tool) -> Known[Reading]:
    """Where the nose stands, as shown, at the safe Z that holds for a tool."""
    said = case.profile.root.at("safe_z")
    own = tool.safe_z is not None
    height = tool.safe_z if own else said.length("general")
    pointer = f"{tool.pointer}/safe_z" if own else "/safe_z/general"
    active = said.flag("tool_length_active")
    if height is None:
        return Known(value=None, missing=(f"{tool.pointer}/safe_z",))
    at = Position(
        pointer="/safe_z", what="safe Z", name="", readings={"Z": height}, frame=said.text("frame"),
        tool_length_active=active, table=None, tools=(), routine=None,
    )  # fmt: skip
    found = machine_reading(at, "Z", case.zeros, case.conventions)
    used = (pointer, *found.used[1:])
    if active is None:
        return Known(value=None, used=used, missing=(*found.missing, "/safe_z/tool_length_active"))
    if not active or not isinstance(found.value, Length):
        return Known(value=found.value, used=used, missing=found.missing)
    length = case.nose_to_tip(tool)
    if length.value is None:
        return Known(value=None, used=used, missing=length.missing)
    return Known(value=nose_reading(found.value, length.value, case.conventions), used=(*used, *length.used))


def _verdict(rule: Rule, room: Length, margin: Length, doubt: Doubt) -> Verdict:
    above_touch = room + margin
    if above_touch.base <= 0:
        return Verdict.HITS
    if room.base < 0:
        return Verdict.SHORT
    if above_touch <= doubt.amount:
        return Verdict.UNKNOWN
    warn = rule.length(rule.warn_within)
    is_near = warn is not None and room < warn
    return Verdict.TIGHT if is_near or doubt.amount > margin else Verdict.CLEAR


def _sentence(case: Case, tool: Tool, stands: Length, needed: Length, room: Length, verdict: Verdict) -> str:
    wanted = case.said(case.conventions.shown(needed))
    start = (
        f"{tool.title}: safe Z {case.said(stands)}, touch on the highest of stone and clamps plus margin is {wanted}"
    )
    if verdict is Verdict.HITS:
        return f"{start}: it goes through what lies on the table, {case.said(abs(room))} too low."
    if room.base < 0:
        return f"{start}: {case.said(abs(room))} too low."
    return f"{start}: {case.said(room)} to spare."


def _mend(case: Case, tool: Tool, needed: Length, verdict: Verdict) -> str:
    """How high the safe Z has to be, or that there is none below the top of Z."""
    if verdict in (Verdict.CLEAR, Verdict.TIGHT):
        return ""
    if verdict is Verdict.UNKNOWN:
        return "measure table, slab, clamps and pivot more closely, or raise the safe Z"
    return _raise(case, tool, needed)


def _raise(case: Case, tool: Tool, needed: Length) -> str:
    _, high = z_ends(case)
    wanted = case.said(case.conventions.shown(needed))
    if high.value is not None and needed > high.value:
        over = case.said(needed - high.value)
        top = case.said(case.conventions.shown(high.value))
        return (
            f"there is no safe Z for {tool.title}: {wanted} is {over} above the top of Z ({top}); lay less on the table"
        )
    return f"raise the safe Z of {tool.title} to {wanted} or higher"


def _unknown(
    rule: Rule, case: Case, tool: Tool, needed: Known[Length], missing: tuple[str, ...], height: Height
) -> Finding:
    lacks = listed(place(p) for p in missing[:6])
    wanted = None if needed.value is None else case.conventions.shown(needed.value)
    told = "" if needed.value is None else f" It needs Z {case.said(wanted)} or higher."
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=f"{tool.pointer}/safe_z",
        sentence=f"{tool.title}: whether its safe Z is safe cannot be told; {lacks} not recorded.{told}",
        source=rule.source,
        settings=needed.used,
        required=wanted,
        mend=recorded(missing) if needed.value is None else _raise(case, tool, needed.value),
        missing=missing,
        notes=height.touch.notes,
    )
