"""What a touch-off gives for its tool, from the circumstances of its own day, beside what is stored.

Spindle down:  length = Z at touch - table height - under the slab - thickness - shim.
Blade upright: radius = Z at touch + g + o - table height - under the slab - thickness - shim, where g is pivot
               to spindle nose and o the spindle axis off the tilt axis.
Source:  docs/reference/rules.md, adds-up, where both are derived.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.conventions import DIFFERENCE, NOSE_TO_TIP, Z_AT_TOUCH
from profilekeeper.model.known import Known
from profilekeeper.model.position import MACHINE
from profilekeeper.model.table import Table
from profilekeeper.model.tool import Tool, TouchOff
from profilekeeper.quantities import Length
from profilekeeper.rules.case import Case
from profilekeeper.rules.numbers import total
from profilekeeper.rules.tilt_error import BLADE_UPRIGHT, SPINDLE_DOWN, attitude_of, tilt_error

__all__ = ["Closing", "closing_of", "table_nose_height"]

_NOTHING: Known[Length] = Known(value=None)

_STANDS_ON_TABLE = ("plate", "setter", "puck")


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """Both sides of one touch-off.

    `noted` is what is stored, `given` what the touch-off gives for it, both in the sense of the stored value
    (its sign taken out); `pointer` names the stored value, `word` is length or radius, `times` what a radius is
    multiplied by to be the stored diameter. `too_long_by` is what a tilt reading off its mark adds to it.
    """

    tool: Tool
    touch: TouchOff
    table: Table | None
    pointer: str
    word: str
    times: int
    noted: Known[Length]
    given: Known[Length]
    too_long_by: Length | None
    notes: tuple[str, ...]

    @property
    def error(self) -> Length | None:
        """Stored minus given; None where either is not known."""
        if self.noted.value is None or self.given.value is None:
            return None
        return self.noted.value - self.given.value

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not recorded and would be needed."""
        return tuple(dict.fromkeys((*self.noted.missing, *self.given.missing)))


def closing_of(tool: Tool, case: Case, surface: Known[Length] | None = None) -> Closing | None:
    """Both sides of a tool's touch-off, closed against the table height of that day (or the one given).

    None for a tool without a touch-off.
    """
    if surface is not None:
        return _closed(tool, case, surface)
    if tool.number not in case.closings:
        case.closings[tool.number] = _closed(tool, case, None)
    return case.closings[tool.number]


def table_nose_height(table: Table, case: Case) -> Known[Length]:
    """The upward Z at which the bare nose, spindle down, would meet a table, whatever its height was taken with."""
    pointer = f"{table.pointer}/surface"
    if table.surface is None:
        return Known(value=None, missing=(pointer,))
    return _negative(_sum(list(_table_height(case, Known(value=table.surface, used=(pointer,)), table))))


def _closed(tool: Tool, case: Case, surface: Known[Length] | None) -> Closing | None:
    touch = tool.touch_off
    if touch is None:
        return None
    table = case.table_named(touch.table)
    attitude, notes = attitude_of(tool, touch, case.head)
    upright = attitude == BLADE_UPRIGHT
    pointer, noted = _noted_radius(tool) if upright else _noted_length(tool, case)
    day = surface or _surface_of_the_day(touch)
    if attitude in (SPINDLE_DOWN, BLADE_UPRIGHT):
        given = _given(case, touch, day, table, upright)
        tilt = tilt_error(tool, touch, case.head, attitude)
    else:
        given, tilt = _NOTHING, _NOTHING
    return Closing(
        tool=tool,
        touch=touch,
        table=table,
        pointer=pointer,
        word="radius" if upright else "length",
        times=2 if upright and not pointer.endswith("radius_in_control") else 1,
        noted=noted,
        given=given,
        too_long_by=tilt.value,
        notes=(*notes, *given.notes, *tilt.notes),
    )


def _noted_length(tool: Tool, case: Case) -> tuple[str, Known[Length]]:
    pointer = f"{tool.pointer}/length"
    if tool.length is None:
        return pointer, Known(value=None, missing=(pointer,))
    return pointer, Known(value=case.conventions.noted(tool.length), used=(pointer,))


def _noted_radius(tool: Tool) -> tuple[str, Known[Length]]:
    """The radius that the control holds, else the one last measured: a blade wears in diameter."""
    held = tool.diameter_in_control, tool.radius_in_control, tool.diameter.now
    keys = "diameter_in_control", "radius_in_control", "diameter/now"
    for value, key in zip(held, keys, strict=True):
        if value is not None:
            pointer = f"{tool.pointer}/{key}"
            radius = value if key == "radius_in_control" else value * Decimal("0.5")
            return pointer, Known(value=radius, used=(pointer,))
    pointer = f"{tool.pointer}/diameter_in_control"
    return pointer, Known(value=None, missing=(pointer,))


def _surface_of_the_day(touch: TouchOff) -> Known[Length]:
    pointer = f"{touch.pointer}/surface"
    if touch.surface is None:
        return Known(value=None, missing=(pointer,))
    return Known(value=touch.surface, used=(pointer,))


def _given(case: Case, touch: TouchOff, surface: Known[Length], table: Table | None, upright: bool) -> Known[Length]:
    """The length or radius that the touch-off gives, in the sense of the stored value."""
    parts = [_z(case, touch), *_under(touch)]
    if upright or case.conventions.kind != Z_AT_TOUCH:  # a length kept as Z at touch holds the table height
        parts += _table_height(case, surface, table)
    if upright:
        parts += _pivot(case)
    elif case.conventions.kind == DIFFERENCE:
        parts.append(_negative(_master(case)))
    elif case.conventions.kind not in (NOSE_TO_TIP, Z_AT_TOUCH):
        parts.append(Known(value=None, missing=("/conventions/length_kind",)))
    return _sum(parts)


def _sum(parts: list[Known[Length]]) -> Known[Length]:
    used = tuple(p for part in parts for p in part.used)
    missing = tuple(p for part in parts for p in part.missing)
    notes = tuple(n for part in parts for n in part.notes)
    values = [part.value for part in parts if part.value is not None]
    if len(values) < len(parts) or not values:
        return Known(value=None, used=used, missing=missing, notes=notes)
    return Known(value=total(values), used=used, notes=notes)


def _z(case: Case, touch: TouchOff) -> Known[Length]:
    """The upward Z of the spindle nose at touch, counted as the table height is."""
    pointer = f"{touch.pointer}/Z"
    if touch.z is None:
        return Known(value=None, missing=(pointer,))
    if touch.frame not in (None, MACHINE):
        note = f"Z was read from {touch.frame}; where that zero stood that day is not kept."
        return Known(value=None, missing=(f"{touch.pointer}/frame",), notes=(note,))
    if touch.tool_length_active:
        note = "Z was read with a tool length active, so it holds the length that it should give."
        return Known(value=None, missing=(f"{touch.pointer}/tool_length_active",), notes=(note,))
    return Known(value=case.conventions.up(touch.z), used=(pointer,))


def _under(touch: TouchOff) -> Iterator[Known[Length]]:
    """What lay between table and tool, each as a negative height."""
    if touch.touched == "table":
        wanted: tuple[str, ...] = ()
    elif touch.touched in _STANDS_ON_TABLE:
        wanted = ("shim",)
    else:
        wanted = ("support", "thickness")
    heights = {"support": touch.support, "thickness": touch.governing_thickness, "shim": touch.shim}
    for key, height in heights.items():
        pointer = f"{touch.pointer}/{key}"
        if key == "thickness" and touch.thicknesses:
            pointer = f"{touch.pointer}/thicknesses"
        if height is not None:
            yield _negative(Known(value=height, used=(pointer,)))
        elif key in wanted:
            yield Known(value=None, missing=(pointer,))


def _table_height(case: Case, surface: Known[Length], table: Table | None) -> Iterator[Known[Length]]:
    """The upward height at which the bare nose would meet the table, as a negative: whatever it was taken with."""
    if surface.value is None:
        yield surface
        return
    yield _negative(Known(value=case.conventions.up(surface.value), used=surface.used))
    taken = table.taken_with if table else None
    if table is not None and taken == "master tool":
        yield _master(case)
    elif table is not None and taken == "reference blade":
        diameter = table.reference_blade_diameter
        pointer = f"{table.pointer}/reference_blade_diameter"
        if diameter is None:
            yield Known(value=None, missing=(pointer,))
        else:
            yield Known(value=diameter * Decimal("0.5"), used=(pointer,))
        yield from (_negative(part) for part in _pivot(case))
    elif table is not None and taken == "not known":
        yield Known(value=None, missing=(f"{table.pointer}/taken_with",))


def _pivot(case: Case) -> Iterator[Known[Length]]:
    """How far the axis of a level spindle lies above the Z of the nose: g, and the spindle axis off the tilt axis."""
    pointer = f"{case.head.pointer}/pivot_to_gauge_line"
    if case.head.pivot_to_gauge_line is None:
        yield Known(value=None, missing=(pointer,))
    else:
        yield Known(value=case.head.pivot_to_gauge_line, used=(pointer,))
    if case.head.spindle_offset is not None:
        yield Known(value=case.head.spindle_offset, used=(f"{case.head.pointer}/spindle_offset",))


def _master(case: Case) -> Known[Length]:
    pointer = "/conventions/master_length"
    if case.conventions.master_length is None:
        return Known(value=None, missing=(pointer,))
    return Known(value=case.conventions.master_length, used=(pointer,))


def _negative(part: Known[Length]) -> Known[Length]:
    if part.value is None:
        return part
    return Known(value=-part.value, used=part.used, notes=part.notes)
