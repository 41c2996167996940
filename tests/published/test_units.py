"""Units against published definitions and tables; the source stands beside each check."""

from decimal import Decimal

import pytest

from profilekeeper.quantities import (
    Length,
    LengthUnit,
    Quantity,
    Sameness,
    parse_angle,
    parse_length,
    parse_quantity,
    round_to,
    sameness,
)


@pytest.mark.parametrize(
    ("written", "metric"),
    [
        # International yard and pound agreement, in force 1 July 1959: 1 yd = 0.9144 m exactly,
        # so 1 ft = 0.3048 m and 1 in = 25.4 mm (figures as restated in NIST Handbook 44, appendix C;
        # the agreement's own text from memory).
        ("36 in", "0.9144 m"),
        ("3 ft", "0.9144 m"),
        ("1 ft", "0.3048 m"),
        ("1 in", "25.4 mm"),
        # SI brochure (BIPM), table of prefixes: centi 1e-2, milli 1e-3, micro 1e-6.
        ("100 cm", "1 m"),
        ("1000 mm", "1 m"),
        ("1000000 \u00b5m", "1 m"),
    ],
)
def test_units_follow_their_definitions_exactly(written: str, metric: str) -> None:
    assert parse_length(written) == parse_length(metric)


def test_the_inch_is_not_the_older_survey_inch() -> None:
    # US survey foot = 1200/3937 m (Mendenhall order, 1893; withdrawn by NIST and NOAA from 2023; from
    # memory): 3937 survey inches are 100 m exactly. Ours are 2 parts per million shorter.
    ours = parse_length("3937 in")

    assert ours == parse_length("99.9998 m")
    assert ours != parse_length("100 m")


# Chart of inch fractions with decimal inches and millimetres to four places:
# utilitiesbunker.com/kb/fraction-to-decimal-chart (read 2026; selected rows). Its last figure is
# cut, not rounded, in some rows that lie on an exact tie (13/32 in is 10.31875 mm), hence "same as rounded".
FRACTIONS = [
    ("1/64", "0.015625", "0.3969"),
    ("1/32", "0.031250", "0.7937"),
    ("3/64", "0.046875", "1.1906"),
    ("1/16", "0.062500", "1.5875"),
    ("3/32", "0.093750", "2.3812"),
    ("1/8", "0.125000", "3.1750"),
    ("5/32", "0.156250", "3.9688"),
    ("3/16", "0.187500", "4.7625"),
    ("15/64", "0.234375", "5.9531"),
    ("1/4", "0.250000", "6.3500"),
    ("5/16", "0.312500", "7.9375"),
    ("3/8", "0.375000", "9.5250"),
    ("13/32", "0.406250", "10.3187"),
    ("7/16", "0.437500", "11.1125"),
    ("31/64", "0.484375", "12.3031"),
    ("1/2", "0.500000", "12.7000"),
    ("9/16", "0.562500", "14.2875"),
    ("19/32", "0.593750", "15.0812"),
    ("5/8", "0.625000", "15.8750"),
    ("43/64", "0.671875", "17.0656"),
    ("11/16", "0.687500", "17.4625"),
    ("3/4", "0.750000", "19.0500"),
    ("13/16", "0.812500", "20.6375"),
    ("27/32", "0.843750", "21.4312"),
    ("7/8", "0.875000", "22.2250"),
    ("15/16", "0.937500", "23.8125"),
    ("63/64", "0.984375", "25.0031"),
]


@pytest.mark.parametrize(("fraction", "decimal", "millimetres"), FRACTIONS, ids=[row[0] for row in FRACTIONS])
def test_inch_fractions_agree_with_a_published_chart(fraction: str, decimal: str, millimetres: str) -> None:
    length, grid = parse_length(f"{fraction} in"), parse_length("0.0001 mm")

    assert length == parse_length(f"{decimal} in")
    assert sameness(length, parse_length(f"{millimetres} mm"), grid, grid) is not Sameness.CHANGED
    assert parse_length(f'12-{fraction}"') == parse_length("12 in") + length


@pytest.mark.parametrize(
    ("millimetres", "inches"),
    # Nominal sizes of a face mill that was designed in inches, in the sample file asset1.xml and
    # KSSP300R4SD43L240.xml of the MTConnect agent (github.com/mtconnect/cppagent, 708116fb).
    [("76.2", "3"), ("222.25", "8 3/4"), ("323.85", "12 3/4"), ("120.65", "4 3/4"), ("60.96", "2.4"),
     ("98.425", "3 7/8"), ("82.55", "3 1/4"), ("0.254", "0.010")],
)  # fmt: skip
def test_sizes_of_a_published_tool_convert_both_ways(millimetres: str, inches: str) -> None:
    metric, imperial = parse_length(f"{millimetres} mm"), parse_length(f"{inches} in")

    assert metric == imperial
    assert metric.to(LengthUnit.IN).number == imperial.number


@pytest.mark.parametrize(
    ("threads", "pitch"),
    # Pitches of the pipe threads G 1/8 (28), G 3/8 (19), G 1/2 (14) and G 1 (11 threads per inch)
    # to 0.001 mm: ISO 228-1, table 1 (1/8 and 3/8 read in a handbook table, the others from memory).
    [(28, "0.907"), (19, "1.337"), (14, "1.814"), (11, "2.309")],
)
def test_pitches_of_pipe_threads_fill_one_inch(threads: int, pitch: str) -> None:
    printed, inch, step = parse_length(f"{pitch} mm"), parse_length("1 in"), parse_length("0.001 mm") * threads

    assert sameness(printed * threads, inch, step, step) is Sameness.SAME_AS_ROUNDED
    for wrong in (printed + parse_length("0.001 mm"), printed - parse_length("0.001 mm")):
        assert sameness(wrong * threads, inch, step, step) is Sameness.CHANGED


def test_reported_figures_may_be_fewer_but_the_kept_value_is_whole() -> None:
    # NIST LC 1137, Metric Style Guide (read as quoted by a third party): report 36 in as 91 cm and
    # 40.1 in as 101.9 cm. A caution for reports: a setting keeps 91.44 and 101.854.
    centimetre, millimetre = Length(Decimal(1), LengthUnit.CM), Length(Decimal("0.1"), LengthUnit.CM)

    assert str(round_to(parse_length("36 in"), centimetre).value) == "91 cm"
    assert str(round_to(parse_length("40.1 in"), millimetre).value) == "101.9 cm"
    assert parse_length("36 in").to(LengthUnit.CM).number == Decimal("91.44")
    assert parse_length("40.1 in").to(LengthUnit.CM).number == Decimal("101.854")


def test_feet_become_metres_as_in_the_guide() -> None:
    # NIST SP 811, appendix B.7 (from memory): 36 ft = 10.9728 m, given as 11.0 m.
    assert parse_length("36 ft").to(LengthUnit.M).number == Decimal("10.9728")
    assert str(round_to(parse_length("36 ft"), parse_length("0.1 m")).value) == "11.0 m"


@pytest.mark.parametrize(
    ("a", "b"),
    [
        # SI brochure, table 8 (units accepted for use with the SI) and the prefixes; from memory.
        ("1 min", "60 s"),
        ("1 h", "3600 s"),
        ("1 bar", "100 kPa"),
        ("1 kHz", "1000 Hz"),
        # From the inch of 1959 and the minute of 60 s.
        ("1 in/s", "1524 mm/min"),
        ("100 ft/min", "0.508 m/s"),
    ],
)
def test_other_units_follow_their_definitions_exactly(a: str, b: str) -> None:
    assert parse_quantity(a) == parse_quantity(b)


def test_pounds_per_square_inch_are_not_turned_into_bar() -> None:
    # 1 psi = 4.4482216152605 N / (25.4 mm)^2 = 6894.757293168... Pa (NIST SP 811, appendix B.8): it has
    # no finite decimal, so the two are kept as kinds of their own rather than compared roughly.
    psi, bar = Quantity(Decimal(1), "psi"), Quantity(Decimal("0.06894757293168"), "bar")

    assert not psi.is_like(bar)
    assert sameness(psi, bar, psi, bar) is Sameness.CHANGED


@pytest.mark.parametrize(
    ("written", "degrees"),
    # SI brochure, table 8: 1' = (1/60) deg, 1" = (1/60)'; from memory.
    [("1\u00b0 30'", "1.5"), ("0\u00b0 0' 36\"", "0.01"), ("54\u00b0 27' 0\"", "54.45")],
)
def test_minutes_and_seconds_of_arc_follow_their_definitions(written: str, degrees: str) -> None:
    assert parse_angle(written).deg == Decimal(degrees)
