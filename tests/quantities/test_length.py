"""Lengths: value, equality, order, conversion and arithmetic."""

import copy
import pickle
from dataclasses import FrozenInstanceError
from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity


def length(number: str, unit: str = "mm") -> Length:
    return Length(Decimal(number), LengthUnit(unit))


def test_inch_and_millimetre_of_one_length_are_equal_and_hash_alike() -> None:
    assert length("25.4") == length("1", "in")
    assert hash(length("25.4")) == hash(length("1", "in"))
    assert len({length("25.400"), length("1.0", "in"), length("2.54", "cm")}) == 1


def test_the_same_number_in_another_unit_is_another_length() -> None:
    assert length("5") != length("5", "in")


def test_notation_and_trailing_zeros_take_no_part_in_equality_but_are_kept() -> None:
    written = Length(Decimal("21.700"), LengthUnit.MM, notation="21,7 on the page")

    assert written == length("21.7")
    assert (str(written.number), written.notation) == ("21.700", "21,7 on the page")


def test_a_length_equals_no_angle_number_or_text() -> None:
    assert length("5") != Angle(Decimal(5))
    assert length("5") != Decimal(5)
    assert length("5") != "5 mm"


def test_a_length_equals_the_page_entry_of_the_same_value() -> None:
    assert length("1", "in") == Quantity(Decimal("25.4"), "mm")
    assert hash(length("1", "in")) == hash(Quantity(Decimal("25.4"), "mm"))


@pytest.mark.parametrize(
    ("number", "unit", "mm"),
    [("465", "mm", "465"), ("2.5", "cm", "25"), ("0.5", "m", "500"), ("-16.05", "in", "-407.67"),
     ("1.5", "ft", "457.2"), ("6", "\u00b5m", "0.006")],
)  # fmt: skip
def test_every_unit_has_its_exact_millimetres(number: str, unit: str, mm: str) -> None:
    assert length(number, unit).mm == Decimal(mm)


def test_order_goes_by_value_across_units() -> None:
    mixed = [length("1", "ft"), length("-1", "in"), length("30", "cm"), length("0")]

    assert sorted(mixed) == [length("-25.4"), length("0"), length("300"), length("304.8")]
    assert length("1", "in") <= length("25.4") < length("1", "ft")
    assert length("1", "ft") > length("30", "cm") >= length("300")


def test_a_length_has_no_order_with_an_angle_or_a_number() -> None:
    with pytest.raises(InvalidQuantity, match="cannot be compared"):
        _ = length("5") < Angle(Decimal(5))  # type: ignore[operator]  # the refusal is what is tested
    for compare in ("__lt__", "__le__", "__gt__", "__ge__", "__add__", "__sub__"):
        assert getattr(length("5"), compare)(Decimal(5)) is NotImplemented


def test_conversion_is_exact_or_refused() -> None:
    assert length("9.525").to(LengthUnit.IN) == length("0.375", "in")
    assert str(length("9.525").to(LengthUnit.IN)) == "0.375 in"
    with pytest.raises(InvalidQuantity, match="no exact decimal in in"):
        length("10").to(LengthUnit.IN)


def test_conversion_to_its_own_unit_keeps_the_notation() -> None:
    written = Length(Decimal("7.625"), LengthUnit.IN, notation='7 5/8"')

    assert written.to(LengthUnit.IN) is written


def test_a_conversion_to_a_whole_hundred_is_written_out() -> None:
    assert str(length("2540").to(LengthUnit.IN)) == "100 in"


def test_a_sum_stays_in_the_common_unit_and_goes_to_millimetres_otherwise() -> None:
    assert str(length("1.50", "in") + length("0.25", "in")) == "1.75 in"
    assert str(length("1", "in") + length("1")) == "26.4 mm"
    assert str(length("1") - length("1", "in")) == "-24.4 mm"


def test_negation_absolute_value_and_multiples_are_exact() -> None:
    value = length("-1.25", "in")

    assert (-value, abs(value), +value) == (length("1.25", "in"), length("1.25", "in"), value)
    assert value * 3 == 3 * value == length("-3.75", "in")
    assert value * Decimal("0.5") == length("-0.625", "in")


def test_arithmetic_does_not_depend_on_the_digits_of_the_default_context() -> None:
    long = length("123456789012345.12345678901234")

    assert abs(-long) == abs(long) == +long
    assert (long + length("1")).number == Decimal("123456789012346.12345678901234")


def test_a_float_factor_is_refused() -> None:
    with pytest.raises(TypeError):
        _ = length("5") * 0.1  # type: ignore[operator]  # the refusal is what is tested


@pytest.mark.parametrize("factor", [10**40, Decimal("1E-40"), Decimal("NaN"), Decimal("Infinity")])
def test_a_multiple_that_cannot_be_kept_is_refused(factor: Decimal | int) -> None:
    with pytest.raises(InvalidQuantity):
        _ = length("5") * factor


def test_a_float_or_an_unknown_unit_makes_no_length() -> None:
    with pytest.raises(InvalidQuantity, match="float"):
        Length(0.1, LengthUnit.MM)  # type: ignore[arg-type]  # the refusal is what is tested
    with pytest.raises(InvalidQuantity, match="LengthUnit"):
        Length(Decimal(1), "mm")  # type: ignore[arg-type]  # the refusal is what is tested


def test_a_length_cannot_be_changed_and_survives_copying() -> None:
    value = length("21.700")

    with pytest.raises(FrozenInstanceError):
        value.number = Decimal(0)  # type: ignore[misc]  # the refusal is what is tested
    for other in (copy.deepcopy(value), pickle.loads(pickle.dumps(value))):
        assert (other, str(other)) == (value, "21.700 mm")
