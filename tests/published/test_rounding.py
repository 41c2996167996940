"""Rounding against published rules and their printed examples; the source stands beside each check."""

from decimal import Decimal

import pytest

from profilekeeper.quantities import Length, LengthUnit, parse_length, round_inward, round_to


def rounded(number: str, step: str) -> str:
    """The number rounded to a multiple of the step, as it is shown."""
    value, grid = (Length(Decimal(text), LengthUnit.MM) for text in (number, step))
    return f"{round_to(value, grid).value.number:f}"


@pytest.mark.parametrize(
    ("number", "step", "expected"),
    [
        # ISO 80000-1:2009, annex B (examples from memory), range of rounding 0.1 and 10.
        ("12.223", "0.1", "12.2"),
        ("12.251", "0.1", "12.3"),
        ("12.275", "0.1", "12.3"),
        ("1222.3", "10", "1220"),
        ("1225.1", "10", "1230"),
        ("1227.5", "10", "1230"),
        # The same annex, rule A (ties to the even multiple).
        ("12.25", "0.1", "12.2"),
        ("12.35", "0.1", "12.4"),
        ("1225.0", "10", "1220"),
        ("1235.0", "10", "1240"),
        # The same annex: in one step only. 12.254 by way of 12.25 would end at 12.2.
        ("12.254", "0.1", "12.3"),
    ],
)
def test_rounding_follows_the_standards_examples(number: str, step: str, expected: str) -> None:
    assert rounded(number, step) == expected


@pytest.mark.parametrize(
    ("number", "expected"),
    # ASME A112.18.1 / CSA B125.1, annex A: half to even at three figures (read in a stored page of it).
    [("1.655000", "1.66"), ("1.625000", "1.62")],
)
def test_ties_at_three_figures_go_to_the_even_figure(number: str, expected: str) -> None:
    assert rounded(number, "0.01") == expected


@pytest.mark.parametrize(
    ("number", "step", "expected"),
    # Number rounding, types 2 and 3, with steps of 0.1, 0.005 and 0.05: CICC data book, sheet 2.05
    # (www.cicc.or.jp/english/hyoujyunka/databook/205.htm), which names JIS Z 8401 and ISO 31-0.
    [("123.55", "0.1", "123.6"), ("123.452", "0.005", "123.450"), ("123.454", "0.005", "123.455"),
     ("123.458", "0.005", "123.460"), ("123.325", "0.05", "123.30"), ("123.326", "0.05", "123.35"),
     ("123.376", "0.05", "123.40")],
)  # fmt: skip
def test_rounding_to_steps_other_than_a_power_of_ten_follows_a_published_sheet(
    number: str, step: str, expected: str
) -> None:
    assert rounded(number, step) == expected


@pytest.mark.parametrize(("number", "step", "expected"), [("12.35", "0.1", "12.4"), ("2.675", "0.01", "2.68")])
def test_binary_floats_do_not_reach_a_tie(number: str, step: str, expected: str) -> None:
    # The Python tutorial, "Floating-point arithmetic: issues and limitations", and the documentation
    # of round(): round(2.675, 2) gives 2.67 because the float is a little less.
    assert round(float(number), len(step) - 2) != float(expected)
    assert rounded(number, step) == expected


@pytest.mark.parametrize(
    ("lower", "upper", "step"),
    # ASME A112.18.1 / CSA B125.1, annex A: converted limits are rounded inward, so that they never
    # exceed the original. Values: our own, and the tolerance of +-0.010 in of a published tool.
    [("-16.05 in", "98.425 in", "0.1 mm"), ("8.740 in", "8.760 in", "0.01 mm"), ("-340 mm", "0.3 mm", "0.001 in")],
)
def test_converted_limits_never_exceed_the_original(lower: str, upper: str, step: str) -> None:
    low, high, grid = parse_length(lower), parse_length(upper), parse_length(step)

    inside = round_inward(low, grid, towards=high).value, round_inward(high, grid, towards=low).value

    assert low <= inside[0] <= inside[1] <= high
    assert inside[0] - low < grid
    assert high - inside[1] < grid
