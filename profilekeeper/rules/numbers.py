"""Differences of values that may be of different kinds, and a rule's amounts in the kind of a value."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from profilekeeper.model.axis import Reading
from profilekeeper.model.ruleset import Amount, Rule
from profilekeeper.quantities import Angle, Length, Measure, Quantity
from profilekeeper.quantities.exact import EXACT

__all__ = ["Number", "amount_like", "base_of", "minus", "minus_reading", "total"]

Number = Measure | Decimal


def total(values: Iterable[Length]) -> Length:
    """The exact sum of some lengths (at least one), in their unit where they share it."""
    first, *rest = values
    if all(value.unit is first.unit for value in rest):
        number = first.number
        for value in rest:
            number = EXACT.add(number, value.number)
        return Length(number, first.unit)
    for value in rest:
        first = first + value
    return first


def base_of(number: Number) -> Decimal:
    """The bare number, of a quantity in the base unit of its kind."""
    return number.base if isinstance(number, Measure) else number


def minus(one: object, other: object) -> Number | None:
    """one - other, exact; None where they are no numbers of one kind."""
    if isinstance(one, Measure) and isinstance(other, Measure) and one.is_like(other):
        return one - other
    return one - other if isinstance(one, Decimal) and isinstance(other, Decimal) else None


def minus_reading(one: Reading, other: Reading) -> Reading | None:
    """one - other of two axis readings; None where one is a length and the other an angle."""
    if isinstance(one, Length) and isinstance(other, Length):
        return one - other
    return one - other if isinstance(one, Angle) and isinstance(other, Angle) else None


def amount_like(rule: Rule, amount: Amount | None, value: Number, has_fixed_unit: bool) -> Number | None:
    """A rule's amount in the kind of a value; None where it is not given or cannot be compared with it.

    A bare number is in the unit of the rule's file against a length, degrees against an angle, and in the
    schema's unit where that fixes one (1/min, h); against any other quantity it means nothing.
    """
    if not isinstance(amount, Decimal):
        return amount if amount is not None and isinstance(value, Measure) and value.is_like(amount) else None
    if isinstance(value, Length):
        return rule.length(amount)
    if isinstance(value, Angle):
        return rule.angle(amount)
    if isinstance(value, Quantity):
        return Quantity(amount, value.unit) if has_fixed_unit else None
    return amount if isinstance(value, Decimal) else None
