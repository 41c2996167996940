"""Quantities with a unit from the open list."""

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import Angle, Length, LengthUnit, Measure, Quantity


def quantity(number: str, unit: str) -> Quantity:
    return Quantity(Decimal(number), unit)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (("1", "s"), ("1000", "ms")),
        (("1", "in"), ("25.4", "mm")),
        (("3", "m/min"), ("50", "mm/s")),
        (("6", "bar"), ("600", "kPa")),
        (("1450", "rpm"), ("1450", "1/min")),
        (("0.5", "kHz"), ("500", "Hz")),
        (("12.50", "bar"), ("12.5", "bar")),
        (("7", "furlong"), ("7.0", "furlong")),
    ],
)
def test_the_same_value_in_exactly_related_units_is_equal(a: tuple[str, str], b: tuple[str, str]) -> None:
    assert quantity(*a) == quantity(*b)
    assert hash(quantity(*a)) == hash(quantity(*b))


@pytest.mark.parametrize(
    ("a", "b"),
    [(("1", "bar"), ("1", "psi")), (("1", "rpm"), ("1", "Hz")), (("5", "mm"), ("5", "in")), (("1", "A"), ("1", "V"))],
)
def test_other_units_are_kinds_of_their_own(a: tuple[str, str], b: tuple[str, str]) -> None:
    assert quantity(*a) != quantity(*b)


def test_unrelated_quantities_can_neither_be_ordered_nor_added() -> None:
    for ask in (lambda: quantity("1", "bar") < quantity("1", "psi"), lambda: quantity("1", "A") + quantity("1", "V")):
        with pytest.raises(InvalidQuantity, match="cannot be compared or added"):
            ask()


def test_related_quantities_add_in_the_base_unit() -> None:
    assert str(quantity("1", "s") + quantity("250", "ms")) == "1.250 s"
    assert str(quantity("100", "ms") + quantity("250", "ms")) == "350 ms"


def test_a_quantity_of_length_or_angle_gives_the_modelled_value() -> None:
    written = Quantity(Decimal("7.625"), "in", notation='7 5/8"')

    assert written.length == Length(Decimal("193.675"), LengthUnit.MM)
    assert written.length is not None
    assert written.length.notation == '7 5/8"'
    assert quantity("45", "deg").angle == Angle(Decimal(45))
    assert (quantity("1", "bar").length, quantity("1", "bar").angle, written.angle) == (None, None, None)


@pytest.mark.parametrize("unit", ["", "x" * 17, None, 5])
def test_a_unit_that_is_empty_too_long_or_no_text_is_refused(unit: object) -> None:
    with pytest.raises(InvalidQuantity, match="unit"):
        Quantity(Decimal(1), unit)  # type: ignore[arg-type]  # the refusal is what is tested


def test_the_shared_base_promises_nothing_by_itself() -> None:
    bare = Measure()

    for ask in (lambda: bare.base, lambda: bare.base_unit, lambda: bare.remade(Decimal(1), "mm")):
        with pytest.raises(NotImplementedError):
            ask()
