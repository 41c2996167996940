"""Sine and cosine of a small angle as decimals, for lengths that must stay decimals."""

from __future__ import annotations

from decimal import Context, Decimal

__all__ = ["cos_deg", "sin_deg"]

_CONTEXT = Context(prec=40)
# Source: OEIS A000796 (pi), 40 digits.
_PI = Decimal("3.141592653589793238462643383279502884197")
_TERMS = 16  # the last term left out is below 1e-30 up to 90 degrees


def sin_deg(degrees: Decimal) -> Decimal:
    """The sine of an angle in degrees, to better than 1e-15, for -90 to 90 degrees."""
    return _series(_radians(degrees), first=1)


def cos_deg(degrees: Decimal) -> Decimal:
    """The cosine of an angle in degrees, to better than 1e-15, for -90 to 90 degrees."""
    return _series(_radians(degrees), first=0)


def _radians(degrees: Decimal) -> Decimal:
    return _CONTEXT.divide(_CONTEXT.multiply(degrees, _PI), Decimal(180))


def _series(x: Decimal, first: int) -> Decimal:
    """The Taylor series of sine (first power 1) or cosine (first power 0)."""
    c = _CONTEXT
    term = x if first else Decimal(1)
    total, square = term, c.multiply(x, x)
    for k in range(1, _TERMS):
        power = 2 * k + first
        term = c.minus(c.divide(c.multiply(term, square), Decimal(power * (power - 1))))
        total = c.add(total, term)
    return total
