"""The two decimal contexts in which every number of the room is held and computed.

Why not the ambient context: Python's default rounds at 28 digits without a word. Here a result
is exact or it is refused.
"""

from __future__ import annotations

from decimal import (
    Clamped,
    Context,
    Decimal,
    DecimalException,
    DivisionByZero,
    Inexact,
    InvalidOperation,
    Overflow,
    Rounded,
    Underflow,
)

from profilekeeper.errors import InvalidQuantity

DIGITS = 30
"""Most digits of a number when written out. Source: far beyond any control's display (common
practice, no source); a cap so that absurd input is refused and texts stay short."""

EXACT = Context(
    prec=120,  # two bases of 30 digits and any two of our units span under 70 digits
    Emin=-999,
    Emax=999,
    traps=[Inexact, InvalidOperation, DivisionByZero, Overflow, Underflow],
)

# Emin 0 puts the last permitted decimal place at 1 - DIGITS, so that one call of `plus` tells
# whether a number fits in DIGITS places; its result is thrown away.
_DOMAIN = Context(prec=DIGITS, Emin=0, Emax=DIGITS - 1, traps=[Rounded, Inexact, Clamped, Overflow, InvalidOperation])

_ZERO = Decimal(0)


def check_number(number: Decimal) -> None:
    """Nothing, when the number may be kept: a finite Decimal of at most 30 digits written out.

    Raises:  InvalidQuantity, for a float (which has lost what was written), NaN, an infinity or
             a number too long to write out.
    """
    if not isinstance(number, Decimal):
        raise InvalidQuantity(f"a number must be an exact decimal, not {_kind(number)}; give it as Decimal")
    if not number.is_finite():
        raise InvalidQuantity("the number is not finite; write it with digits, such as 12.5")
    try:
        _DOMAIN.plus(number)
    except DecimalException:
        raise InvalidQuantity(f"the number needs more than {DIGITS} digits; write at most {DIGITS} digits") from None


def exact_product(a: Decimal, b: Decimal | int) -> Decimal:
    """a times b without any rounding.

    Raises:  InvalidQuantity, if the product is too long to be exact.
    """
    try:
        return EXACT.multiply(a, b)
    except DecimalException:
        raise InvalidQuantity(f"the product needs more than {DIGITS} digits; use shorter numbers") from None


def exact_quotient(a: Decimal, b: Decimal) -> Decimal | None:
    """a divided by b, or None if that has no finite decimal; b is not zero."""
    try:
        # Adding 0 writes 1E+2 as 100 and changes nothing else.
        return EXACT.add(EXACT.divide(a, b), _ZERO)
    except DecimalException:
        return None


def _kind(number: object) -> str:
    return f"a {type(number).__name__}"
