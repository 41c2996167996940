"""Sister machines beside each other, from the latest values of each, and since when a deviating value stands.

Sisters are machines of one class. Which settings ought to agree stands in the schema and in each record.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from profilekeeper.actions.compared_forms import to_csv, to_json
from profilekeeper.actions.kept_columns import PROFILE, kept_columns, since_when
from profilekeeper.errors import UsageError
from profilekeeper.fleet.columns import Columns
from profilekeeper.fleet.compare import MachineColumns, compare_columns
from profilekeeper.fleet.rows import ClassComparison, Comparison, Row, Since
from profilekeeper.model.identity import from_identity
from profilekeeper.model.kinds import AGREEMENTS
from profilekeeper.quantities import LengthUnit

if TYPE_CHECKING:
    from profilekeeper.actions.opened import Opened
    from profilekeeper.store import BlobId, Store

__all__ = ["compare_machines", "to_csv", "to_json"]

_DISPUTES = "/disputes.yaml"


def compare_machines(
    opened: Opened,
    names: tuple[str, ...] = (),
    *,
    settings: tuple[str, ...] = (),
    machine_class: str | None = None,
    include: Collection[str] = (),
    include_all: bool = False,
    unit: str | None = None,
    with_since: bool = True,
    look_back: int = 500,
    walks: int = 100,
) -> Comparison:
    """The latest values of some machines or shops (all where none is named), compared within their classes.

    `settings` are pointers, `*` for any one step, tools under their names (`/tools/blade 400/speed`); `include`
    adds settings that are not judged: own, wears, daily, note; `include_all` all of them. Since when and by whom
    a deviating value stands is looked up for at most `walks` machines, `look_back` snapshots back.
    Raises:  UnknownName, for a machine or shop that is not recorded; UsageError, for a unit or class of
             settings that is none, or a pattern that names no setting.
    """
    shown = AGREEMENTS if include_all else _relations(include)
    in_unit = _unit(unit)
    wanted = tuple(_pattern(text) for text in settings)
    files = opened.store.list_files()
    blobs = {name: files[name + PROFILE] for name in _chosen(opened, names, files)}
    columns, unreadable = kept_columns(opened.store, blobs, wanted)
    disputed = {name: _disputed(opened, name) for name in columns if name + _DISPUTES in files}
    machines = [
        MachineColumns(machine=name, columns=columns[name], disputed=disputed.get(name, frozenset()))
        for name in columns
    ]
    result = compare_columns(
        machines, machine_class=machine_class or "", include=shown, unit=in_unit, unreadable=unreadable
    )
    _refuse_nothing(settings, columns)
    if machine_class and columns and not result.classes:
        raise UsageError(_no_such_class(machine_class, columns))
    return _with_since(opened.store, result, columns, look_back, walks) if with_since else result


def _chosen(opened: Opened, names: tuple[str, ...], files: Mapping[str, BlobId]) -> list[str]:
    """The machines meant, from the one listing that is at hand."""
    known = [path.removesuffix(PROFILE) for path in files if path.endswith(PROFILE)]
    if not names:
        return known
    chosen = set(opened.chosen(names))
    return [name for name in known if name in chosen]


def _disputed(opened: Opened, machine: str) -> frozenset[str]:
    """Where in a machine's own record two readings stand against each other."""
    profile = opened.profile(machine)
    found = (from_identity(profile, pointer) for pointer in opened.disputes(machine).settings)
    return frozenset(pointer for pointer in found if pointer is not None)


def _relations(include: Collection[str]) -> Collection[str]:
    for word in include:
        if word not in AGREEMENTS:
            raise UsageError(f"{word!r} is no relation to sister machines; it is one of {', '.join(AGREEMENTS)}")
    return include


def _unit(text: str | None) -> LengthUnit | None:
    if not text:
        return None
    if text not in (LengthUnit.MM, LengthUnit.IN):
        raise UsageError(f"{text!r} is no unit to show differences in; choose mm or in")
    return LengthUnit(text)


def _pattern(text: str) -> str:
    if not text.startswith("/"):
        raise UsageError(f"{text!r} names no setting: a name starts with /, e.g. /axes/*/backlash")
    return text.rstrip("/")


def _refuse_nothing(settings: tuple[str, ...], columns: Mapping[str, Columns]) -> None:
    """A pattern that finds nothing anywhere is a slip of the hand, not agreement."""
    if not settings or not columns or any(c.columns for c in columns.values()):
        return
    hint = "; a tool goes by its name here, e.g. /tools/blade 400/speed" if settings[0].startswith("/tools/") else ""
    raise UsageError(f"no machine records {' or '.join(settings)}{hint}; see the settings of one with `show`")


def _no_such_class(machine_class: str, columns: Mapping[str, Columns]) -> str:
    known = sorted({c.machine_class for c in columns.values() if c.machine_class})
    listed = f"the classes here are {', '.join(known)}" if known else "none here says its class"
    return f"no machine is of the class {machine_class}; {listed}"


def _with_since(
    store: Store, result: Comparison, columns: Mapping[str, Columns], look_back: int, walks: int
) -> Comparison:
    """The comparison with since when and by whom each value that is at odds stands."""
    at_odds: dict[str, list[str]] = {}
    for row in result.deviations:
        for machine in row.at_odds:
            at_odds.setdefault(machine, []).append(row.pointers.get(machine, row.setting))
    followed = sorted(at_odds)[:walks]
    since = {m: since_when(store, m, at_odds[m], columns[m], look_back=look_back) for m in followed}
    left = len(at_odds) - len(followed)
    note = f"since when was looked up for {len(followed)} machines; {left} more are at odds: name fewer machines"
    return replace(
        result,
        classes=tuple(_class_since(c, since) for c in result.classes),
        notes=(*result.notes, note) if left else result.notes,
    )


def _class_since(sisters: ClassComparison, since: Mapping[str, Mapping[str, Since]]) -> ClassComparison:
    return replace(sisters, rows=tuple(_row_since(r, since) if r.is_at_odds else r for r in sisters.rows))


def _row_since(row: Row, since: Mapping[str, Mapping[str, Since]]) -> Row:
    found = {}
    for machine in row.at_odds:
        known = since.get(machine, {}).get(row.pointers.get(machine, row.setting))
        if known is not None:
            found[machine] = known
    return replace(row, since=found)
