"""Which settings hang on which hardware, and which hardware an event touches.

What a setting hangs on stands in the schema (`x-hangs-on`) and, for page values, in the profile (`hangs_on`).
Source: common practice, no source; the list is explained in docs/reference/rules.md, invalid.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.conventions import Z_AT_TOUCH
from profilekeeper.model.event import Event
from profilekeeper.model.position import LETTERS, MACHINE
from profilekeeper.rules.case import Case

__all__ = ["Dependent", "Effect", "dependents_of", "effects_of", "hits"]

_REFERENCE, _DRIVE = "axis reference", "axis drive"
# What each kind of event changes, and whether it surely makes values wrong or only doubtful.
_CHANGES: dict[str, tuple[tuple[str, ...], bool]] = {
    "home switch moved": ((_REFERENCE,), True),
    "reference moved": ((_REFERENCE,), True),
    "motor changed": ((_REFERENCE, _DRIVE), True),
    "encoder changed": ((_REFERENCE, _DRIVE), True),
    "encoder battery lost": ((_REFERENCE,), True),
    "belt changed": ((_REFERENCE, _DRIVE), True),
    "drive changed": ((_REFERENCE, _DRIVE), True),
    "spindle swapped": (("spindle",), True),
    "head changed": (("head", "spindle"), True),
    "pivot adjusted": (("head",), True),
    "table milled": (("table",), True),
    "table replaced": (("table",), True),
    "machine moved": (("machine", _DRIVE), True),
    "machine relevelled": (("machine",), False),
    "software updated": (("software",), False),
    "crash": ((_REFERENCE, "head", "spindle"), False),
    "tool replaced": (("tool touch-off",), True),
    "instrument moved": (("instrument",), True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """One piece of hardware that an event changed; `name` narrows it to one axis, table, spindle or tool."""

    event: Event
    hardware: str
    name: str | None
    also: str
    is_certain: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Dependent:
    """One setting and what it hangs on; axis, table, tool are those it belongs to, None if no single one."""

    pointer: str
    hangs_on: tuple[str, ...]
    axis: str | None = None
    table: str | None = None
    tool: str | None = None


def effects_of(event: Event, case: Case) -> Iterator[Effect]:
    """What hardware an event changed."""
    kinds, is_certain = _CHANGES.get(event.kind, ((), False))
    for hardware in kinds:
        name, also = _narrowed(event, hardware, case)
        yield Effect(event=event, hardware=hardware, name=name, also=also, is_certain=is_certain)


def hits(effect: Effect, dependent: Dependent) -> bool:
    """Whether a setting hangs on what was changed."""
    if effect.also and effect.also in dependent.hangs_on:
        return True
    if effect.hardware not in dependent.hangs_on:
        return _is_named_by_axis(effect, dependent)
    if effect.hardware in (_REFERENCE, _DRIVE):
        return effect.name is None or dependent.axis in (None, effect.name)
    if effect.hardware == "table":
        return effect.name is None or dependent.table in (None, effect.name)
    if effect.hardware == "tool touch-off":
        return effect.name is not None and dependent.tool == effect.name
    return True


def dependents_of(case: Case) -> Iterator[Dependent]:
    """Every setting that hangs on hardware, an outline as one; page values too."""
    seen: set[str] = set()
    for pointer, setting in case.profile.settings.items():
        hangs_on = setting.kind.hangs_on
        if not hangs_on and not _is_page_value(pointer):
            continue
        found = _dependent(case, pointer, hangs_on)
        if found is not None and found.pointer not in seen:
            seen.add(found.pointer)
            yield found


def _narrowed(event: Event, hardware: str, case: Case) -> tuple[str | None, str]:
    """Which single thing an event names, and by what further word a setting may hang on that thing."""
    if hardware in (_REFERENCE, _DRIVE):
        return event.axis, ""
    if hardware == "table":
        table = case.table_named(event.table)
        return (event.table or (table.name if table else None)), ""
    return (event.tool, "") if hardware == "tool touch-off" else (event.spindle, "")


def _is_named_by_axis(effect: Effect, dependent: Dependent) -> bool:
    """Settings that hang on "X reference" or "Z drive" by name; any axis where the event names none."""
    if effect.hardware not in (_REFERENCE, _DRIVE):
        return False
    word = effect.hardware.removeprefix("axis ")
    if effect.name is not None:
        return f"{effect.name} {word}" in dependent.hangs_on
    return any(h.endswith(f" {word}") for h in dependent.hangs_on)


def _is_page_value(pointer: str) -> bool:
    return pointer.startswith("/control_pages/") and pointer.endswith("/value")


def _dependent(case: Case, pointer: str, hangs_on: tuple[str, ...]) -> Dependent | None:
    steps = json_pointer.parse(pointer)
    if steps[0] == "control_pages":
        return Dependent(pointer=pointer, hangs_on=(*hangs_on, "software"))
    if steps[0] == "tools":
        if case.conventions.kind == Z_AT_TOUCH and steps[-1] == "length":
            hangs_on = (*hangs_on, "Z reference", "table")
        return Dependent(pointer=pointer, hangs_on=hangs_on, table=_touched_on(case, steps[1]), tool=steps[1])
    if "outline" in steps:
        return _of_outline(case, pointer, steps, hangs_on)
    if steps[0] == "no_go_zones":
        return _of_zone(case, pointer, steps, hangs_on)
    if steps[0] == "tables":
        return Dependent(pointer=pointer, hangs_on=hangs_on, axis="Z", table=steps[1])
    if "pitch_table" in steps:  # some hundred numbers, one act
        return Dependent(pointer=json_pointer.format(steps[:3]), hangs_on=hangs_on, axis=steps[1])
    if steps[0] == "axes":
        return Dependent(pointer=pointer, hangs_on=hangs_on, axis=steps[1])
    if steps[0] == "head":
        return Dependent(pointer=pointer, hangs_on=_with_tilt(case, hangs_on))
    return _of_position(case, pointer, steps, hangs_on)


def _touched_on(case: Case, number: str) -> str | None:
    touch = case.tools[number].touch_off
    table = case.table_named(touch.table if touch else None)
    return table.name if table else None


def _with_tilt(case: Case, hangs_on: tuple[str, ...]) -> tuple[str, ...]:
    """The tilt reference by the letter of the tilt axis: "A reference"."""
    if "tilt reference" not in hangs_on:
        return hangs_on
    tilting = [axis.name for axis in case.axes.values() if axis.kind == "tilt"] or ["A", "B"]
    return (*(h for h in hangs_on if h != "tilt reference"), *(f"{name} reference" for name in tilting))


def _of_outline(case: Case, pointer: str, steps: tuple[str, ...], hangs_on: tuple[str, ...]) -> Dependent | None:
    """An outline as one setting of X and Y; one that rides along hangs on nothing of the floor."""
    whole = json_pointer.format(steps[: steps.index("outline") + 1])
    if steps[0] == "no_go_zones" and not _is_on_floor(case, steps[1]):
        return None
    names = tuple(f"{letter} reference" for letter in ("X", "Y"))
    return Dependent(pointer=whole, hangs_on=(*(h for h in hangs_on if h != _REFERENCE), *names))


def _of_zone(case: Case, pointer: str, steps: tuple[str, ...], hangs_on: tuple[str, ...]) -> Dependent | None:
    if steps[-1] not in ("from", "to") or not _is_on_floor(case, steps[1]):
        return None
    return Dependent(pointer=pointer, hangs_on=hangs_on, axis="Z")


def _is_on_floor(case: Case, zone: str) -> bool:
    return case.profile.root.at("no_go_zones").at(zone).text("frame") in ("floor", None)


def _of_position(case: Case, pointer: str, steps: tuple[str, ...], hangs_on: tuple[str, ...]) -> Dependent | None:
    """A reading of a place: it hangs on the reference only if it is counted from the machine zero."""
    branch = case.profile.branch(json_pointer.format(steps[:-1]))
    if steps[-1] in LETTERS:
        if branch.text("frame") not in (MACHINE, None):
            hangs_on = tuple(h for h in hangs_on if h != _REFERENCE)
        return Dependent(pointer=pointer, hangs_on=hangs_on, axis=steps[-1]) if hangs_on else None
    if steps[0] == "instruments":
        return Dependent(pointer=pointer, hangs_on=("instrument",)) if steps[-1] in ("zero", "trip") else None
    if steps[-1] in ("general", "safe_z"):
        return Dependent(pointer=pointer, hangs_on=hangs_on, axis="Z")
    return None
