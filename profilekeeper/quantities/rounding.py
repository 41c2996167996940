"""Rounding to what a control can hold, said aloud, and whether two values are the same setting."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from typing import Generic, TypeVar

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import EXACT
from profilekeeper.quantities.measure import Measure, check_like

M = TypeVar("M", bound=Measure)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounded(Generic[M]):
    """A value on a control's grid, and what rounding did to it.

    Units:   `value` is in the resolution's unit and shows its decimals; `error` = value minus
             the original, exact, in the base unit of the kind (mm, deg); `exact` if error is zero.
    """

    value: M
    error: M
    exact: bool


class Sameness(Enum):
    """How two values of one setting compare."""

    EQUAL = "equal"
    SAME_AS_ROUNDED = "same as rounded"
    CHANGED = "changed"


def round_to(value: M, resolution: M) -> Rounded[M]:
    """The multiple of the resolution nearest to the value, ties to the even multiple.

    Units:   the result is in the resolution's unit: 10 mm at 0.0001 in gives 0.3937 in.
    Raises:  InvalidQuantity, if the resolution is not above zero or of another kind.
    Source:  ISO 80000-1:2009, annex B, rule A; in one step from the exact value.
    """
    below, rest = _steps_below(value, resolution)
    twice = EXACT.multiply(rest, 2)
    is_up = twice > resolution.base or (twice == resolution.base and EXACT.remainder(below, 2) != 0)
    return _on_grid(value, resolution, EXACT.add(below, int(is_up)))


def round_down(value: M, resolution: M) -> Rounded[M]:
    """The greatest multiple of the resolution that is not above the value (-1.5 goes to -2).

    Raises:  as `round_to`.
    """
    below, _ = _steps_below(value, resolution)
    return _on_grid(value, resolution, below)


def round_up(value: M, resolution: M) -> Rounded[M]:
    """The least multiple of the resolution that is not below the value (-1.5 goes to -1).

    Raises:  as `round_to`.
    """
    below, rest = _steps_below(value, resolution)
    return _on_grid(value, resolution, EXACT.add(below, int(rest > 0)))


def round_inward(value: M, resolution: M, towards: M) -> Rounded[M]:
    """A limit on the control's grid that never exceeds the original: between it and `towards`.

    `towards` is a value on the permitted side: the opposite limit, or the middle of the range.
    Raises:  InvalidQuantity, as `round_to`, and if no multiple lies between the two.
    Source:  ASME A112.18.1 / CSA B125.1, annex A: converted limits are rounded inward.
    """
    check_like(value, towards)
    rounded = round_up(value, resolution) if towards > value else round_down(value, resolution)
    low, high = min(value, towards), max(value, towards)
    if not low <= rounded.value <= high:
        raise InvalidQuantity(f"no multiple of {resolution} lies between {low} and {high}; use a finer resolution")
    return rounded


def sameness(a: M, b: M, resolution_a: M | None = None, resolution_b: M | None = None) -> Sameness:
    """Whether two values are equal, the same as a control rounds them, or changed.

    SAME_AS_ROUNDED: they differ by at most half the coarser resolution. Where a resolution is
    not known only the other counts; where both are unknown nothing is called the same that is
    not equal. Values of different kinds (bar and psi) are CHANGED.
    Raises:  InvalidQuantity, if a resolution is not above zero or not of the values' kind.
    """
    if not a.is_like(b):
        return Sameness.CHANGED
    if a.base == b.base:
        return Sameness.EQUAL
    coarser = max((_step(r, a) for r in (resolution_a, resolution_b) if r is not None), default=None)
    if coarser is None:
        return Sameness.CHANGED
    twice = EXACT.multiply(EXACT.abs(EXACT.subtract(a.base, b.base)), 2)
    return Sameness.SAME_AS_ROUNDED if twice <= coarser else Sameness.CHANGED


def _steps_below(value: Measure, resolution: Measure) -> tuple[Decimal, Decimal]:
    """Whole steps not above the value, and the rest in base units, 0 <= rest < step."""
    step = _step(resolution, value)
    steps = EXACT.divide_int(value.base, step)
    rest = EXACT.subtract(value.base, EXACT.multiply(steps, step))
    if rest < 0:
        return EXACT.subtract(steps, 1), EXACT.add(rest, step)
    return steps, rest


def _step(resolution: Measure, value: Measure) -> Decimal:
    check_like(value, resolution)
    if resolution.base <= 0:
        raise InvalidQuantity(f"a resolution must be above zero, not {resolution}")
    return resolution.base


def _on_grid(value: M, resolution: M, steps: Decimal) -> Rounded[M]:
    rounded = resolution.remade(EXACT.multiply(steps, resolution.number), resolution.unit)
    error = resolution.remade(EXACT.subtract(rounded.base, value.base), resolution.base_unit)
    return Rounded(value=rounded, error=error, exact=error.number == 0)
