"""Laws that hold for every quantity, not only for the examples."""

import doctest
import importlib
import pkgutil
from collections.abc import Callable
from decimal import Context, Decimal, Inexact
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import profilekeeper.quantities as room
from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import (
    Angle,
    Length,
    LengthUnit,
    Quantity,
    Sameness,
    format_angle,
    format_delta,
    format_length,
    format_quantity,
    parse_angle,
    parse_length,
    parse_number,
    parse_quantity,
    parse_unit,
    round_down,
    round_inward,
    round_to,
    round_up,
    sameness,
)

quick = settings(max_examples=300, deadline=None)

numbers = st.builds(
    lambda digits, places: Decimal(digits).scaleb(-places, Context(prec=40)),
    st.integers(-(10**12), 10**12),
    st.integers(0, 9),
)
units = st.sampled_from(list(LengthUnit))
lengths = st.builds(Length, numbers, units)
resolutions = st.sampled_from(["0.001 mm", "0.01 mm", "0.0001 in", "0.00005 in", "0.005 mm", "1/64 in"]).map(
    parse_length
)

# Text made of what such texts are made of finds more than arbitrary text does.
shop_text = st.lists(
    st.sampled_from(
        [*"0123456789.,-+/ '\"eExX_", "\u2212", "\u2032", "\u2033", "\u00a0", "\u00bd", "\u00b0", "mm", "in", "ft",
         "bar", "deg", "nan", "inf", "1/2", "9" * 40, "\u0663", "1/", "^2", "%", "\u00d710^", "Mm", "1,250", "\x00"]
    ),
    max_size=9,
).map("".join)  # fmt: skip


def exact(length: Length) -> Fraction:
    """The value by a second route: rational arithmetic, and the factors as fractions."""
    each = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(127, 5), "ft": Fraction(1524, 5)}
    return Fraction(length.number) * each.get(str(length.unit), Fraction(1, 1000))


@quick
@given(lengths)
def test_what_is_shown_reads_back_as_the_same_length_with_the_same_zeros(length: Length) -> None:
    found = parse_length(format_length(length))

    assert found == length
    assert (str(found), found.unit) == (str(length), length.unit)
    assert parse_length(format_delta(length)) == length


@quick
@given(numbers, st.sampled_from(["bar", "Hz", "%", "mm/s\u00b2", "1/min", "ms", "widgets", "in", "\u00b5m", "deg"]))
def test_angles_and_quantities_read_back_as_shown(number: Decimal, unit: str) -> None:
    assert parse_angle(format_angle(Angle(number))) == Angle(number)
    assert parse_quantity(format_quantity(Quantity(number, unit))) == Quantity(number, unit)
    assert parse_unit(unit) == unit


@quick
@given(lengths, lengths)
def test_order_equality_and_hash_agree_with_the_exact_value(a: Length, b: Length) -> None:
    assert (a < b, a <= b, a == b, a > b) == (
        exact(a) < exact(b),
        exact(a) <= exact(b),
        exact(a) == exact(b),
        exact(a) > exact(b),
    )
    assert a != b or hash(a) == hash(b)


@quick
@given(lengths, lengths, st.integers(-1000, 1000))
def test_sums_differences_and_multiples_are_exact(a: Length, b: Length, times: int) -> None:
    assert exact(a + b) == exact(a) + exact(b)
    assert exact(a - b) == exact(a) - exact(b)
    assert exact(a * times) == exact(a) * times
    assert exact(abs(-a)) == abs(exact(a))


@quick
@given(lengths, units)
def test_a_conversion_is_exact_or_refused(length: Length, unit: LengthUnit) -> None:
    denominator = (exact(length) / exact(Length(Decimal(1), unit))).denominator
    if 10**60 % denominator:  # it has a prime besides 2 and 5: no finite decimal
        with pytest.raises(InvalidQuantity, match="no exact decimal"):
            length.to(unit)
        return
    converted = length.to(unit)
    assert exact(converted) == exact(length)
    assert converted.unit is unit


@quick
@given(lengths, resolutions)
def test_rounding_is_the_nearest_multiple_and_tells_its_error(value: Length, resolution: Length) -> None:
    nearest, below, above = (r(value, resolution) for r in (round_to, round_down, round_up))

    steps = exact(value) / exact(resolution)
    assert exact(nearest.value) == round(steps) * exact(resolution)  # Fraction rounds ties to even
    assert exact(nearest.error) == exact(nearest.value) - exact(value)
    assert below.value <= value <= above.value
    assert above.value - below.value in (resolution, resolution * 0)
    assert nearest.exact is (steps.denominator == 1)


@quick
@given(lengths, lengths, resolutions)
def test_a_limit_rounded_inward_never_exceeds_the_original(value: Length, towards: Length, resolution: Length) -> None:
    low, high = min(value, towards), max(value, towards)
    try:
        rounded = round_inward(value, resolution, towards)
    except InvalidQuantity:
        assert high - low < resolution
        return
    assert low <= rounded.value <= high
    assert abs(rounded.error) < resolution
    assert (exact(rounded.value) / exact(resolution)).denominator == 1


near = st.builds(lambda base, steps: (base, base + parse_length("0.00025 mm") * steps), lengths, st.integers(-12, 12))


@quick
@given(st.one_of(near, st.tuples(lengths, lengths)), resolutions, resolutions)
def test_sameness_is_symmetric_and_follows_half_the_coarser_resolution(
    pair: tuple[Length, Length], step_a: Length, step_b: Length
) -> None:
    a, b = pair

    found = sameness(a, b, step_a, step_b)

    assert found is sameness(b, a, step_b, step_a)
    assert (found is Sameness.EQUAL) == (exact(a) == exact(b))
    allowed = max(exact(step_a), exact(step_b)) / 2
    assert (found is Sameness.CHANGED) == (abs(exact(a) - exact(b)) > allowed)


@quick
@given(lengths, resolutions)
def test_a_value_is_the_same_as_its_own_rounding(value: Length, resolution: Length) -> None:
    assert sameness(value, round_to(value, resolution).value, resolution, resolution) is not Sameness.CHANGED


def read_all(text: str) -> None:
    """Read text in every way; nothing but InvalidQuantity, in one bounded line, may come out."""
    for read in (parse_length, parse_angle, parse_number, parse_quantity, parse_unit):
        for default in ((), (LengthUnit.MM,)) if read is parse_length else ((),):
            message = refusal_of(read, text, *default)
            assert message is None or 10 < len(message) < 260
            assert message is None or message.isprintable()


def refusal_of(read: Callable[..., object], *arguments: object) -> str | None:
    """What the reader says, or None if it reads the text."""
    try:
        read(*arguments)
    except InvalidQuantity as refusal:
        return str(refusal)
    return None


@quick
@given(st.text())
@example("1" * 10_000)
@example("\ud800")
def test_arbitrary_text_is_read_or_refused_in_one_line(text: str) -> None:
    read_all(text)


@settings(quick, max_examples=1000)
@given(shop_text)
@example("9' 9/9\"")
@example("9\u00b09.'9.\"")
def test_text_of_shop_signs_is_read_or_refused_in_one_line(text: str) -> None:
    read_all(text)


@quick
@given(st.decimals(allow_nan=True, allow_infinity=True), st.decimals(allow_nan=True, allow_infinity=True))
def test_any_decimals_are_computed_exactly_or_refused(a: Decimal, b: Decimal) -> None:
    try:
        one, other = Length(a, LengthUnit.FT), Length(b, LengthUnit.UM)
        total = one + other
        assert exact(total) == exact(one) + exact(other)
        assert exact(round_to(one, abs(other)).error) is not None
    except InvalidQuantity:
        return


@pytest.mark.parametrize("name", [m.name for m in pkgutil.iter_modules(room.__path__)])
def test_the_examples_in_the_docstrings_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(f"profilekeeper.quantities.{name}")).failed == 0


def test_every_public_name_is_there() -> None:
    assert sorted(room.__all__) == room.__all__
    assert all(hasattr(room, name) for name in room.__all__)


def test_computing_leaves_the_ambient_context_alone() -> None:
    from decimal import getcontext

    before = getcontext().copy()
    _ = parse_length("1 in") + parse_length("1 mm") * 7

    assert getcontext().flags[Inexact] == before.flags[Inexact]
    assert getcontext().prec == before.prec
