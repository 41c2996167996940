"""reach: worn-out tools still cut through with the table at its lowest, and how far the table may go down.

Upright blade:  Z needed = table - lowest + under the slab - overcut + R worn - g - o.
Pointing down:  Z needed = table - lowest + under the slab - overcut + L worn.
Blade at 45:    depth = (R - r) cos 45 - (e - s) sin 45 for every slice of radius r that ends e from the nose, s being
                the blade's mid-plane: at e <= s the trade's (R - R flange) cos 45.
Source:         docs/reference/rules.md, reach, where these are derived.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal

from profilekeeper.model.conventions import NOSE_TO_TIP
from profilekeeper.model.known import Known
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.table import Table
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length, LengthUnit
from profilekeeper.rules.case import Case
from profilekeeper.rules.closing import table_nose_height
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.heights import doubt_of, flatness, height_under, known_sum, pivot_above_nose, z_ends
from profilekeeper.rules.milling import millings_of
from profilekeeper.rules.say import listed, place, recorded

__all__ = ["judge_reach", "z_needed"]

# Kinds that come out below the stone; the others work on its face.
_DOWN_THROUGH = ("core drill", "drill", "router")
_HALF = Decimal("0.5")
_DIGITS = Context(prec=40, rounding=ROUND_FLOOR)
_COS_45 = _DIGITS.sqrt(_HALF)
_MEASURED = ("surface", "height", "zones", "pivot_to_gauge_line", "spindle_offset")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Need:
    """The Z (upward) that one worn-out tool needs on one table."""

    tool: Tool
    worn: str
    z: Known[Length]


def judge_reach(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every table with the tool that reaches least, one for every tool that cannot be told, and one
    for every blade cutting at 45 degrees where the head tilts.
    """
    through = [tool for tool in case.tools.values() if tool.kind == "blade" or tool.kind in _DOWN_THROUGH]
    for table in case.tables.values():
        needs = [z_needed(rule, case, table, tool) for tool in through]
        known = [need for need in needs if need.z.value is not None]
        yield from (_unknown(rule, need, table) for need in needs if need.z.value is None)
        if known:
            yield _table(rule, case, table, min(known, key=_height))
    if any(axis.kind == "tilt" for axis in case.axes.values()):
        yield from (_tilted(rule, case, tool) for tool in through if tool.kind == "blade")


def _height(need: _Need) -> Decimal:
    assert need.z.value is not None  # only known ones are compared
    return need.z.value.base


def z_needed(rule: Rule, case: Case, table: Table, tool: Tool) -> _Need:
    """The upward Z of the nose at which a worn-out tool has cut through on a table."""
    worn = _worn(tool, case)
    lowest = flatness(table, "lowest")
    parts = [
        table_nose_height(table, case),
        _negative(lowest if lowest.value is not None else Known(value=Length(Decimal(0), case.unit))),
        height_under(case, table, highest=False),
        _negative(_overcut(rule, case)),
        worn,
    ]
    if tool.kind == "blade":
        parts.append(_negative(pivot_above_nose(case)))
    return _Need(tool=tool, worn=_worn_said(tool, case), z=known_sum(parts))


def _worn(tool: Tool, case: Case) -> Known[Length]:
    """How far a worn-out tool stands below the nose (down) or below its axis (blade)."""
    if tool.kind == "blade":
        pointer = f"{tool.pointer}/diameter/worn_out"
        if tool.diameter.worn_out is None:
            return Known(value=None, missing=(pointer,))
        return Known(value=tool.diameter.worn_out * _HALF, used=(pointer,))
    pointer = f"{tool.pointer}/length_size/worn_out"
    if tool.length_size.worn_out is not None:
        return Known(value=abs(tool.length_size.worn_out), used=(pointer,))
    if tool.length_limit is not None and case.conventions.kind == NOSE_TO_TIP:
        return Known(value=case.conventions.noted(tool.length_limit), used=(f"{tool.pointer}/length_limit",))
    return Known(value=None, missing=(pointer,))


def _worn_said(tool: Tool, case: Case) -> str:
    worn = _worn(tool, case).value
    if worn is None:
        return tool.title
    size = case.said(worn * 2 if tool.kind == "blade" else worn)
    return f"{tool.title} worn to {size}"


def _overcut(rule: Rule, case: Case) -> Known[Length]:
    said = case.profile.root.at("slab").length("overcut")
    if said is not None:
        return Known(value=said, used=("/slab/overcut",))
    usual = rule.length(rule.overcut)
    return Known(value=usual) if usual is not None else Known(value=None, missing=("/slab/overcut",))


def _negative(part: Known[Length]) -> Known[Length]:
    return part if part.value is None else replace(part, value=-part.value)


def _table(rule: Rule, case: Case, table: Table, need: _Need) -> Finding:
    """How far a table may go down: what its shortest worn tool still reaches, and the bed under the topping."""
    low, _ = z_ends(case)
    pointer = f"{table.pointer}/surface"
    assert table.surface is not None  # the need is known
    assert need.z.value is not None
    if low.value is None:
        return _unknown(rule, replace(need, z=low), table)
    keep = rule.length(rule.margin) or Length(Decimal(0), case.unit)
    room, by_bed = _room(rule, case, table, need.z.value - low.value - keep)
    lacks = flatness(table, "lowest").missing
    doubt = doubt_of(case, (p for p in need.z.used if p.rpartition("/")[2] in _MEASURED or "/zones/" in p))
    verdict = _verdict(rule, room, doubt.amount, lacks)
    limit = case.conventions.shown(case.conventions.up(table.surface) - room)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=pointer,
        sentence=_sentence(case, table, need, low.value, limit, room),
        source=rule.source,
        settings=tuple(dict.fromkeys((pointer, *need.z.used, *low.used, *by_bed))),
        value=table.surface,
        required=limit,
        margin=room,
        mend=_mend(case, table, need, room, verdict, lacks),
        missing=lacks if verdict is Verdict.UNKNOWN else (),
        notes=(*need.z.notes, *doubt.note(case), *_notes(rule, case, table, limit, room, by_bed)),
    )


def _room(rule: Rule, case: Case, table: Table, by_reach: Length) -> tuple[Length, tuple[str, ...]]:
    """The lesser of what reach and topping leave, and the setting of the bed where that is the lesser."""
    overcut, down = _overcut(rule, case).value, flatness(table, "lowest").value
    if table.bed is None or table.surface is None or overcut is None:
        return by_reach, ()
    above = case.conventions.up(table.surface) - case.conventions.up(table.bed) - overcut
    above = above if down is None else above - down
    return (above, (f"{table.pointer}/topping/bed",)) if above < by_reach else (by_reach, ())


def _verdict(rule: Rule, room: Length, doubt: Length, lacks: tuple[str, ...]) -> Verdict:
    if room.base < 0:
        return Verdict.FAILS
    if lacks or room < doubt:
        return Verdict.UNKNOWN
    warn = rule.length(rule.warn_within)
    return Verdict.TIGHT if warn is not None and room - doubt < warn else Verdict.CLEAR


def _sentence(case: Case, table: Table, need: _Need, low: Length, limit: Length, room: Length) -> str:
    z = case.said(case.conventions.shown(need.z.value)) if need.z.value is not None else "?"
    end = case.said(case.conventions.shown(low))
    start = f"table {table.name}: {need.worn} needs Z {z} to cut through, Z ends at {end}"
    may = f"the table may go down to {case.said(limit)}"
    if room.base < 0:
        return f"{start}; {may}, it is at {case.said(table.surface)}, {case.said(abs(room))} too low."
    return f"{start}; {may}, {_millings(case, table, room)}."


def _millings(case: Case, table: Table, room: Length) -> str:
    """How many more millings that is, as deep as the last one."""
    depths = [m.event.by_how_much for m in millings_of(table, case) if m.event.by_how_much is not None]
    left = f"{case.said(room)} more"
    if not depths or depths[-1].base == 0:
        return f"{left} (how much a milling takes is not recorded)"
    count = int(room.base // abs(depths[-1]).base)
    return f"{left}: {count} more milling{'' if count == 1 else 's'} of {case.said(abs(depths[-1]))}"


def _mend(case: Case, table: Table, need: _Need, room: Length, verdict: Verdict, lacks: tuple[str, ...]) -> str:
    if lacks and verdict is Verdict.UNKNOWN:
        return recorded(lacks)
    if verdict is Verdict.UNKNOWN:
        return f"measure {place(table.pointer)} surface and the pivot more closely"
    if verdict is not Verdict.FAILS:
        return ""
    worn = _worn(need.tool, case).value
    if worn is None:
        return "put a new topping on"
    least = (worn - room) * 2 if need.tool.kind == "blade" else worn - room
    return f"put a new topping on, or take {need.tool.title} out of use at {case.said(least)} already"


def _notes(rule: Rule, case: Case, table: Table, limit: Length, room: Length, by_bed: tuple[str, ...]) -> Iterator[str]:
    if by_bed:
        yield "The bed under the topping is the limit, not the reach."
    if table.bed is not None and table.surface is not None:
        left = case.conventions.up(table.surface) - case.conventions.up(table.bed)
        yield f"{case.said(left)} of topping left above the bed; every through cut goes {_cut(rule, case)} into it."
    else:
        yield "How high the bed under the topping lies is not recorded, so it is not looked at."
    stored = table.surface_limit
    if stored is not None and case.conventions.up(stored) < case.conventions.up(limit):
        yield f"The stored limit {case.said(stored)} is lower: it would let the table go down too far."


def _cut(rule: Rule, case: Case) -> str:
    return case.said(_overcut(rule, case).value)


def _tilted(rule: Rule, case: Case, tool: Tool) -> Finding:
    """How deep a worn-out blade cuts at 45 degrees before flange or motor meet the slab."""
    root = case.profile.root
    thick = root.at("slab").at("largest").length("thickness")
    overcut, depth = _overcut(rule, case), _depth_at_45(tool, case)
    lacks = [*overcut.missing, *depth.missing, *(["/slab/largest/thickness"] if thick is None else [])]
    subject = f"{tool.pointer}/flange_diameter"
    if lacks or thick is None or depth.value is None or overcut.value is None:
        sentence = f"{tool.title}: how deep it cuts at 45° cannot be told; {listed(map(place, lacks))} not recorded."
        return _plain(rule, subject, sentence, tuple(lacks))
    keep = rule.length(rule.margin) or Length(Decimal(0), case.unit)
    kept = Length((_COS_45 * keep.mm).quantize(Decimal("0.001"), ROUND_CEILING), LengthUnit.MM)
    room = depth.value - kept - thick - overcut.value
    doubt = doubt_of(case, (p for p in depth.used if "/sections" in p or "/body" in p))
    verdict = _verdict(rule, room, doubt.amount, ())
    need = case.said(thick + overcut.value)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=subject,
        sentence=f"{_worn_said(tool, case)} cuts {case.said(depth.value)} deep at 45°, {need} wanted.",
        source=rule.source,
        settings=(*depth.used, "/slab/largest/thickness", *overcut.used),
        value=depth.value,
        required=thick + overcut.value,
        margin=room,
        mend="use a bigger blade or a smaller flange for cuts at 45°" if verdict is Verdict.FAILS else "",
        notes=(*depth.notes, *doubt.note(case)),
    )


def _depth_at_45(tool: Tool, case: Case) -> Known[Length]:
    """The depth that a worn blade reaches at 45 degrees: the least over flanges, nut and head, rounded down."""
    worn = _worn(tool, case)
    if worn.value is None:
        return worn
    least, pointer = min(_rims(tool, case, worn.value.mm), default=(None, ""))
    if least is None:
        return Known(value=None, missing=(f"{tool.pointer}/flange_diameter",))
    value = Length(_DIGITS.multiply(least, _COS_45).quantize(Decimal("0.001"), ROUND_FLOOR), LengthUnit.MM)
    seat = () if tool.seat is not None else ("Without the seat of the blade only its flange is looked at.",)
    note = f"There {place(pointer)} meets the slab first, with stone on both sides of the cut."
    return Known(value=value, used=(*worn.used, pointer), notes=(note, *seat))


def _rims(tool: Tool, case: Case, worn_mm: Decimal) -> Iterator[tuple[Decimal, str]]:
    """For flange, nut and head: what is left in mm of a worn blade's radius when they come down to the slab at 45."""
    if tool.flange_diameter is not None:
        yield worn_mm - (tool.flange_diameter * _HALF).mm, f"{tool.pointer}/flange_diameter"
    if tool.seat is None:
        return
    for section in (*tool.sections, *case.head.body):
        radii = [radius.mm for radius in (section.radius, section.end_radius) if radius is not None]
        if not radii or section.start is None or section.to is None:
            continue
        if section.pointer.startswith(tool.pointer) and section.start <= tool.seat <= section.to:
            continue  # the blade itself
        yield worn_mm - max(radii) - (section.to.mm - tool.seat.mm), section.pointer


def _plain(rule: Rule, subject: str, sentence: str, missing: tuple[str, ...]) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=subject,
        sentence=sentence,
        source=rule.source,
        settings=(subject,),
        mend=recorded(missing),
        missing=missing,
    )


def _unknown(rule: Rule, need: _Need, table: Table) -> Finding:
    lacks = need.z.missing
    where = f"on table {table.name}"
    sentence = (
        f"{need.tool.title} {where}: whether it still cuts through when worn out cannot be told; "
        f"{listed(place(p) for p in lacks)} not recorded."
    )
    return _plain(
        rule,
        f"{need.tool.pointer}/{'diameter' if need.tool.kind == 'blade' else 'length_size'}/worn_out",
        sentence,
        lacks,
    )
