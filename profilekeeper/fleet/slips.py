"""Why a value may be at odds with its sisters': a number keyed in the other unit of length."""

from __future__ import annotations

from decimal import Decimal

from profilekeeper.fleet.columns import Cell
from profilekeeper.quantities import Length, LengthUnit, round_to
from profilekeeper.quantities.exact import EXACT

__all__ = ["unit_slip"]

_INCH = LengthUnit.IN.mm_each
# A step this coarse beside the value would let any small number pass for a slip.
# Source: common practice, no source: a ratio known to a tenth at least.
_SHARPEST = Decimal("0.1")
_ZERO = Decimal(0)


def unit_slip(value: Cell, step: Decimal | None, shared: Cell, shared_step: Decimal | None) -> str:
    """The sentence that names an inch-for-millimetre slip, or "" where the ratio is not 25.4 within rounding.

    Units:   steps in the base unit of the values' kind; None where a control's step is not known.
    Source:  1 in = 25.4 mm exactly (see `LengthUnit`).
    """
    if value.kind != shared.kind or value.measure is None or shared.measure is None:
        return ""
    if not value.kind.startswith("mm") or not value.base or not shared.base:
        return ""
    mine, its = step or _ZERO, shared_step or _ZERO
    if _is_times(value.base, mine, shared.base, its):
        return _too_large(value, shared)
    if _is_times(shared.base, its, value.base, mine):
        return _too_small(value, shared)
    return ""


def _is_times(large: Decimal, large_step: Decimal, small: Decimal, small_step: Decimal) -> bool:
    """Whether one is 25.4 times the other, as closely as the two controls' steps can tell."""
    steps = max(large_step, EXACT.multiply(small_step, _INCH))
    if steps > EXACT.abs(large) * _SHARPEST * 2:
        return False
    apart = EXACT.abs(EXACT.subtract(large, EXACT.multiply(small, _INCH)))
    return EXACT.multiply(apart, 2) <= steps


def _too_large(value: Cell, shared: Cell) -> str:
    if _is_inches(value):
        return f"looks like {value.shown} keyed for {shared.shown}"
    return f"{value.shown} is 25.4 times {shared.shown}: converted from inches once too often?"


def _too_small(value: Cell, shared: Cell) -> str:
    if not _is_inches(value):
        return f"looks like {value.shown} keyed for {_in_inches(shared)}"
    return f"{value.shown} is a 25.4th of {shared.shown}: converted to inches once too often?"


def _is_inches(value: Cell) -> bool:
    return value.measure is not None and value.measure.unit.startswith("in")


def _in_inches(shared: Cell) -> str:
    """The shared value as shown, and the number of inches that was taken for millimetres."""
    if _is_inches(shared) or not isinstance(shared.measure, Length):
        return shared.shown
    inches = round_to(shared.measure, Length(Decimal("0.00001"), LengthUnit.IN)).value.number
    return f"{shared.shown} ({f'{inches:f}'.rstrip('0').rstrip('.')} in)"
