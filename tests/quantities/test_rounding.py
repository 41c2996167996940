"""Rounding to a control's resolution, inward rounding of limits, and sameness."""

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import (
    Angle,
    Length,
    LengthUnit,
    Quantity,
    Sameness,
    parse_length,
    round_down,
    round_inward,
    round_to,
    round_up,
    sameness,
)


def length(text: str) -> Length:
    return parse_length(text)


@pytest.mark.parametrize(
    ("value", "resolution", "shown", "error"),
    [
        ("12.5 mm", "0.001 mm", "12.500 mm", "0 mm"),
        ("10 mm", "0.0001 in", "0.3937 in", "-0.00002 mm"),
        ("1 in", "0.01 mm", "25.40 mm", "0 mm"),
        ("0.0005 mm", "0.001 mm", "0.000 mm", "-0.0005 mm"),
        ("0.0015 mm", "0.001 mm", "0.002 mm", "0.0005 mm"),
        ("-0.0015 mm", "0.001 mm", "-0.002 mm", "-0.0005 mm"),
        ("7.3 mm", "0.5 mm", "7.5 mm", "0.2 mm"),
        ("7 mm", "10 mm", "10 mm", "3 mm"),
    ],
)
def test_rounding_shows_the_resolutions_decimals_and_states_its_error(
    value: str, resolution: str, shown: str, error: str
) -> None:
    rounded = round_to(length(value), length(resolution))

    assert str(rounded.value) == shown
    assert rounded.error == length(error)
    assert rounded.exact is (rounded.error.number == 0)


def test_angles_and_quantities_round_likewise() -> None:
    assert str(round_to(Angle(Decimal("45.126")), Angle(Decimal("0.01"))).value) == "45.13\u00b0"
    assert str(round_to(Quantity(Decimal("1.26"), "bar"), Quantity(Decimal(10), "kPa")).value) == "130 kPa"


def test_down_is_towards_less_and_up_towards_more_on_both_sides_of_zero() -> None:
    grid = length("1 mm")

    assert [str(round_down(length(t), grid).value) for t in ("1.5 mm", "-1.5 mm", "2 mm")] == ["1 mm", "-2 mm", "2 mm"]
    assert [str(round_up(length(t), grid).value) for t in ("1.5 mm", "-1.5 mm", "2 mm")] == ["2 mm", "-1 mm", "2 mm"]


def test_both_limits_of_a_travel_are_rounded_into_it() -> None:
    low, high, grid = length("-16.05 in"), length("100 in"), length("1 mm")

    assert str(round_inward(low, grid, towards=high).value) == "-407 mm"
    assert str(round_inward(high, grid, towards=low).value) == "2540 mm"


def test_a_range_with_no_multiple_inside_is_refused() -> None:
    with pytest.raises(InvalidQuantity, match="no multiple of 1 mm lies between"):
        round_inward(length("0.2 mm"), length("1 mm"), towards=length("0.8 mm"))
    with pytest.raises(InvalidQuantity, match="finer resolution"):
        round_inward(length("0.2 mm"), length("1 mm"), towards=length("0.2 mm"))


def test_a_limit_on_the_grid_needs_no_room() -> None:
    assert round_inward(length("2 mm"), length("1 mm"), towards=length("2 mm")).exact


@pytest.mark.parametrize("resolution", ["0 mm", "-0.001 mm"])
def test_a_resolution_must_be_above_zero(resolution: str) -> None:
    with pytest.raises(InvalidQuantity, match="above zero"):
        round_to(length("1 mm"), length(resolution))
    with pytest.raises(InvalidQuantity, match="above zero"):
        sameness(length("1 mm"), length("2 mm"), length(resolution), length("1 mm"))


def test_a_resolution_of_another_kind_is_refused() -> None:
    with pytest.raises(InvalidQuantity, match="one kind of unit"):
        round_to(Quantity(Decimal(1), "bar"), Quantity(Decimal("0.1"), "psi"))


@pytest.mark.parametrize(
    ("a", "b", "resolution_a", "resolution_b", "expected"),
    [
        ("25.4 mm", "1 in", None, None, Sameness.EQUAL),
        ("25.4 mm", "25.400 mm", "0.001 mm", "0.001 mm", Sameness.EQUAL),
        ("10 mm", "0.3937 in", "0.001 mm", "0.0001 in", Sameness.SAME_AS_ROUNDED),
        ("10 mm", "0.3937 in", "0.00001 mm", "0.00001 mm", Sameness.CHANGED),
        ("10 mm", "0.3937 in", None, "0.0001 in", Sameness.SAME_AS_ROUNDED),
        ("10 mm", "10.0005 mm", "0.001 mm", None, Sameness.SAME_AS_ROUNDED),
        ("10 mm", "10.00051 mm", "0.001 mm", None, Sameness.CHANGED),
        ("10 mm", "10.0000001 mm", None, None, Sameness.CHANGED),
        ("1 mm", "1 in", "0.001 mm", "0.0001 in", Sameness.CHANGED),
    ],
)
def test_two_values_are_equal_same_as_rounded_or_changed(
    a: str, b: str, resolution_a: str | None, resolution_b: str | None, expected: Sameness
) -> None:
    steps = [None if r is None else length(r) for r in (resolution_a, resolution_b)]

    assert sameness(length(a), length(b), *steps) is expected


def test_values_of_different_kinds_are_changed() -> None:
    bar, psi = Quantity(Decimal(1), "bar"), Quantity(Decimal("14.5"), "psi")

    assert sameness(bar, psi, bar, psi) is Sameness.CHANGED


def test_a_value_too_long_for_the_grid_is_refused() -> None:
    with pytest.raises(InvalidQuantity, match="30 digits"):
        round_to(Length(Decimal("1E+28"), LengthUnit.MM), length("0.001 mm"))
