"""Which numbers may be kept at all."""

from decimal import Decimal
from fractions import Fraction

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities.exact import check_number, exact_product, exact_quotient


@pytest.mark.parametrize("text", ["0", "-0", "1E+29", "9" * 30, "0." + "0" * 28 + "1", "-21.700", "0E-29"])
def test_a_finite_number_of_up_to_thirty_digits_may_be_kept(text: str) -> None:
    check_number(Decimal(text))


@pytest.mark.parametrize(
    "text", ["1E+30", "9" * 31, "0." + "0" * 29 + "1", "NaN", "sNaN", "Infinity", "-Infinity", "0E-999", "1E+99999"]
)
def test_any_other_number_is_refused(text: str) -> None:
    with pytest.raises(InvalidQuantity):
        check_number(Decimal(text))


@pytest.mark.parametrize("number", [1.5, 1, "1.5", None, True])
def test_what_is_no_decimal_is_refused_by_its_type(number: object) -> None:
    with pytest.raises(InvalidQuantity, match=type(number).__name__):
        check_number(number)  # type: ignore[arg-type]  # the refusal is what is tested


def test_the_product_is_exact_where_the_default_context_would_round() -> None:
    long = Decimal("1234567890.12345678901234567891")

    product = exact_product(long, Decimal("25.4"))

    assert Fraction(product) == Fraction(long) * Fraction(254, 10)
    assert product != long * Decimal("25.4")


def test_a_product_too_long_to_be_exact_is_refused() -> None:
    with pytest.raises(InvalidQuantity, match="shorter"):
        exact_product(Decimal("1." + "1" * 100), Decimal("1." + "1" * 100))


def test_a_quotient_is_given_only_if_it_ends() -> None:
    assert exact_quotient(Decimal("25.4"), Decimal(8)) == Decimal("3.175")
    assert exact_quotient(Decimal(1), Decimal(3)) is None


def test_a_quotient_is_written_without_an_exponent() -> None:
    assert str(exact_quotient(Decimal(2540), Decimal("25.4"))) == "100"
