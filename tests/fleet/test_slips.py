"""Numbers keyed in the other unit of length."""

from __future__ import annotations

from decimal import Decimal

import pytest

from profilekeeper.fleet.columns import cell
from profilekeeper.fleet.slips import unit_slip

MM, IN = Decimal("0.001"), Decimal("0.00254")  # the steps, in mm, of controls that show 0.001 mm and 0.0001 in


@pytest.mark.parametrize(
    ("value", "step", "shared", "shared_step", "hint"),
    [
        ("L0.030 in", IN, "L0.03 mm", MM, "looks like 0.030 in keyed for 0.03 mm"),
        ("L185.0 in", IN, "L185 mm", MM, "looks like 185.0 in keyed for 185 mm"),
        ("L-330.4 in", IN, "L-330.4 mm", MM, "looks like -330.4 in keyed for -330.4 mm"),
        ("L2.000 mm", MM, "L50.8 mm", MM, "looks like 2.000 mm keyed for 50.8 mm (2 in)"),
        ("L2.000 mm", MM, "L2 in", IN, "looks like 2.000 mm keyed for 2 in"),
        ("L0.3937 mm", MM, "L10 mm", MM, "looks like 0.3937 mm keyed for 10 mm (0.3937 in)"),
        ("L254 mm", MM, "L10 mm", MM, "254 mm is 25.4 times 10 mm: converted from inches once too often?"),
        ("L1 in", IN, "L25.4 in", IN, "1 in is a 25.4th of 25.4 in: converted to inches once too often?"),
        ("Q1000 in/min", None, "Q1000 mm/min", None, "looks like 1000 in/min keyed for 1000 mm/min"),
    ],
)
def test_a_ratio_of_25_4_is_named(
    value: str, step: Decimal | None, shared: str, shared_step: Decimal | None, hint: str
) -> None:
    assert unit_slip(cell(value), step, cell(shared), shared_step) == hint


@pytest.mark.parametrize(
    ("value", "shared"),
    [
        ("L0.031 in", "L0.03 mm"),
        ("L25 mm", "L1 mm"),
        ("L0 mm", "L25.4 mm"),
        ("L25.4 mm", "L0 mm"),
        ("L-25.4 mm", "L1 mm"),
        ("A25.4", "A1"),
        ("Q25.4 bar", "Q1 bar"),
        ("Toff", "L1 mm"),
        ("Q25.4 mm/min", "L1 mm"),
    ],
)
def test_any_other_ratio_or_kind_is_not(value: str, shared: str) -> None:
    assert unit_slip(cell(value), MM, cell(shared), MM) == ""


def test_a_display_too_coarse_to_tell_the_ratio_names_no_slip() -> None:
    # 0.03 mm keyed as inches would be 0.0012, which a display of 0.001 mm shows as it shows many other numbers.
    assert unit_slip(cell("L0.001 mm"), MM, cell("L0.03 mm"), MM) == ""
