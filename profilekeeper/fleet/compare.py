"""Sister machines beside each other: which settings agree, which deviate, by how much and from what.

Machines are compared within their class only, by exact values whatever unit each displays.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from profilekeeper.changes.titles import GROUPS, title
from profilekeeper.fleet.columns import Cell, Column, Columns, Copying, cell
from profilekeeper.fleet.judging import Judged, Point, judged
from profilekeeper.fleet.rows import JUDGED, ClassComparison, Comparison, Row, State, Verdict
from profilekeeper.fleet.toolkinds import tool_kinds
from profilekeeper.model.kinds import AGREEMENTS
from profilekeeper.model.pointer import is_prefix
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import LengthUnit

__all__ = ["MachineColumns", "compare_columns"]

_ZERO = Decimal(0)
# A record without content: titles are made from names alone.
_NAMES_ONLY = Profile(data={}, settings={}, version=(2, 0), notices=(), source="")


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineColumns:
    """One machine in a comparison, under the name the store has for it; `disputed` are pointers in its own record."""

    machine: str
    columns: Columns
    disputed: frozenset[str] = frozenset()


def compare_columns(
    machines: Sequence[MachineColumns],
    *,
    machine_class: str = "",
    include: Collection[str] = (),
    unit: LengthUnit | None = None,
    unreadable: Mapping[str, str] = MappingProxyType({}),
) -> Comparison:
    """The machines beside each other, within their classes; the order in which they are given means nothing.

    `machine_class` keeps to one class; `include` shows settings that are not judged too (own, wears, daily, note);
    `unit` is that of the differences of lengths (None: the unit of the two values, else millimetres).
    """
    named = sorted({m.machine: m for m in machines}.values(), key=lambda m: m.machine)
    by_class: dict[str, list[MachineColumns]] = defaultdict(list)
    for m in named:
        by_class[m.columns.machine_class.strip().casefold()].append(m)
    unclassed = by_class.pop("", [])
    wanted = machine_class.strip().casefold()
    shown = frozenset((*JUDGED, *include))
    return Comparison(
        classes=tuple(
            _one_class(sisters, shown, unit) for key, sisters in sorted(by_class.items()) if wanted in ("", key)
        ),
        unclassed=tuple(m.machine for m in unclassed),
        unreadable=unreadable,
        unit=unit,
    )


def _one_class(sisters: Sequence[MachineColumns], shown: frozenset[str], unit: LengthUnit | None) -> ClassComparison:
    spelling = Counter(m.columns.machine_class.strip() for m in sisters)
    recorded = [m for m in sisters if m.columns.is_recorded]
    kinds, notes = tool_kinds([m.columns for m in recorded])
    gathered = _gathered(recorded, kinds)
    rows, hidden = [], Counter[str]()
    for key, parts in gathered.items():
        agreement = min((part.column.agreement for part in parts), key=_rank)
        if agreement in shown:
            rows.append(_row(key, agreement, parts, recorded, kinds, unit))
        else:
            hidden[agreement] += 1
    return ClassComparison(
        machine_class=min(spelling, key=lambda text: (-spelling[text], text)),
        machines=tuple(m.machine for m in recorded),
        never_recorded=tuple(m.machine for m in sisters if not m.columns.is_recorded),
        rows=tuple(sorted(rows, key=_order)),
        hidden=dict(sorted(hidden.items(), key=lambda item: _rank(item[0]))),
        notes=(*notes, *(f"{m.machine}: {why}, not compared" for m in recorded for why in m.columns.unmatched)),
    )


@dataclass(frozen=True, slots=True)
class _Part:
    """Machines that hold the same packed value of a column, and whose controls show the same steps."""

    column: Column
    packed: str
    machines: list[MachineColumns]


def _gathered(machines: Sequence[MachineColumns], kinds: Mapping[str, str]) -> dict[str, list[_Part]]:
    """By the key that all machines share: who holds what. Machines laid out alike are gone through column by column."""
    alike: dict[tuple[object, ...], list[MachineColumns]] = {}
    for machine in machines:
        columns = machine.columns
        alike.setdefault((id(columns.columns), columns.step("mm"), columns.step("deg")), []).append(machine)
    result: dict[str, dict[tuple[object, ...], _Part]] = {}
    for (_, *steps), group in alike.items():
        by_column = zip(*(machine.columns.packed for machine in group), strict=True)
        for column, values in zip(group[0].columns.columns, by_column, strict=True):
            key = kinds[column.thing] + column.rest if column.thing in kinds else column.key
            parts = result.setdefault(key, {})
            for packed, holders in _holders(values, group):
                part = parts.setdefault((column, packed, *steps), _Part(column, packed, []))
                part.machines.extend(holders)
    return {key: list(parts.values()) for key, parts in result.items()}


def _holders(
    values: Sequence[str], machines: Sequence[MachineColumns]
) -> Iterable[tuple[str, Sequence[MachineColumns]]]:
    """Each packed value once, with the machines that hold it."""
    if len(set(values)) == 1:
        return ((values[0], machines),)
    holders: dict[str, list[MachineColumns]] = {}
    for packed, machine in zip(values, machines, strict=True):
        holders.setdefault(packed, []).append(machine)
    return holders.items()


def _row(
    key: str, agreement: str, parts: Sequence[_Part], machines: Sequence[MachineColumns],
    kinds: Mapping[str, str], unit: LengthUnit | None,
) -> Row:  # fmt: skip
    points = [point for part in parts for point in _points(part)]
    within = _within(parts)
    outcome = judged(points, within, unit)
    missing, without = _lacking(parts, machines, kinds)
    verdict = outcome.verdict
    if verdict is Verdict.ALL_AGREE and missing:
        verdict = Verdict.AGREE_WHERE_KNOWN
    return Row(
        setting=key,
        title=_title(key),
        group=GROUPS.get(key.split("/", 2)[1], "free keys"),
        agreement=agreement,
        within=_within_shown(within, points),
        copying=_strictest([part.column.copying for part in parts]),
        verdict=verdict,
        shared=outcome.shared.cell.shown if outcome.shared and verdict is not Verdict.NOT_JUDGED else "",
        tied=outcome.tied,
        held=outcome.held,
        missing=missing,
        without=without,
        sentence=_sentence(verdict, outcome, missing),
        pointers=_pointers(key, parts),
    )


def _points(part: _Part) -> Iterable[Point]:
    """The part as one value; machines on which it is disputed stand apart."""
    value = cell(part.packed)
    step = part.machines[0].columns.step(value.kind)
    state = _state(part.column, value)
    is_judged = state is not State.NOT_JUDGED
    apart = {m.machine for m in part.machines if is_judged and m.disputed and _is_disputed(m, part.column)}
    rest = {m.machine for m in part.machines} - apart
    if apart:
        yield Point(cell=value, step=step, machines=tuple(sorted(apart)), state=State.DISPUTED)
    if rest:
        yield Point(cell=value, step=step, machines=tuple(sorted(rest)), state=state)


def _is_disputed(machine: MachineColumns, column: Column) -> bool:
    """Whether the setting, or a whole thing that holds it, is disputed on this machine."""
    pointer = machine.columns.pointer(column)
    return any(is_prefix(disputed, pointer) for disputed in machine.disputed)


def _state(column: Column, value: Cell) -> State | None:
    if column.agreement not in JUDGED:
        return State.NOT_JUDGED
    return None if value.is_read else State.UNREAD


def _within(parts: Sequence[_Part]) -> Decimal:
    """How closely the sisters must agree: where their records say it differently, the strictest."""
    return min((part.column.within or _ZERO for part in parts if part.column.agreement in JUDGED), default=_ZERO)


def _within_shown(within: Decimal, points: Sequence[Point]) -> str:
    kind = next((p.cell.kind for p in points if p.cell.base is not None), "")
    return f"± {within:f} {'°' if kind == 'deg' else kind}" if within else ""


def _strictest(words: Sequence[Copying]) -> Copying:
    return max(words, key=lambda word: list(Copying).index(word))


def _lacking(
    parts: Sequence[_Part], machines: Sequence[MachineColumns], kinds: Mapping[str, str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The machines that lack the setting though they have its thing, and those that lack the thing."""
    having = {m.machine for part in parts for m in part.machines}
    if len(having) == len(machines):
        return (), ()
    here = {part.column.thing for part in parts}
    alike = {kinds.get(thing, thing) for thing in here}
    things = here | {thing for thing, kind in kinds.items() if kind in alike}
    lacking = [m for m in machines if m.machine not in having]
    missing = tuple(m.machine for m in lacking if not things.isdisjoint(m.columns.things))
    return missing, tuple(m.machine for m in lacking if things.isdisjoint(m.columns.things))


def _pointers(key: str, parts: Sequence[_Part]) -> Mapping[str, str]:
    """Where the setting stands on machines that know it under another name than `key`."""
    if not key.startswith("/tools/"):
        return MappingProxyType({})
    return {m.machine: m.columns.pointer(part.column) for part in parts for m in part.machines}


def _sentence(verdict: Verdict, outcome: Judged, missing: Sequence[str]) -> str:
    counts: Counter[State] = Counter()
    for held in outcome.held:
        counts[held.state] += len(held.machines)
    total = sum(counts[s] for s in (State.SHARED, State.ROUNDED, State.WITHIN))
    words = [f"{total} hold {outcome.shared.cell.shown}" if total > 1 and outcome.shared else ""]
    words += [f"{counts[state]} {word}" for state, word in _COUNTED if counts[state]]
    if outcome.tied:
        words.append(f"no value is shared by most ({', '.join(outcome.tied[:3])})")
    if missing:
        words.append(f"{len(missing)} without a record of it")
    told = ", ".join(word for word in words if word)
    return f"{verdict}: {told}" if told else str(verdict)


_COUNTED = (
    (State.ROUNDED, "of them as the control rounds it"), (State.WITHIN, "of them within what is allowed"),
    (State.DEVIATES, "off it"), (State.DIFFERS, "unlike"), (State.NOT_COMPARABLE, "in a unit that cannot be compared"),
    (State.DISPUTED, "disputed"), (State.UNREAD, "not read"),
)  # fmt: skip


def _rank(agreement: str) -> int:
    return AGREEMENTS.index(agreement) if agreement in AGREEMENTS else len(AGREEMENTS)


def _order(row: Row) -> tuple[int, int, list[tuple[int, int, str]]]:
    groups = list(GROUPS)
    first = row.setting.split("/", 2)[1]
    steps = [(0, int(step), "") if step.isdecimal() else (1, 0, step) for step in row.setting.split("/")[1:]]
    return _rank(row.agreement), groups.index(first) if first in groups else len(groups), steps


@lru_cache(maxsize=8192)
def _title(key: str) -> str:
    return title(_NAMES_ONLY, key)
