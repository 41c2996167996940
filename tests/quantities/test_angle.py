"""Angles: exact degrees."""

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidQuantity
from profilekeeper.quantities import Angle, AngleUnit


def test_angles_compare_by_value() -> None:
    assert Angle(Decimal("45.50")) == Angle(Decimal("45.5"), notation="45\u00b0 30'")
    assert Angle(Decimal("-1")) < Angle(Decimal(0)) < Angle(Decimal(360))


def test_a_full_turn_is_not_the_same_setting_as_none() -> None:
    assert Angle(Decimal(360)) != Angle(Decimal(0))


def test_angles_add_and_multiply_exactly_in_degrees() -> None:
    tilt = Angle(Decimal("22.5"))

    assert (tilt + tilt, tilt - tilt, -tilt, tilt * 4) == (
        Angle(Decimal(45)),
        Angle(Decimal(0)),
        Angle(Decimal("-22.5")),
        Angle(Decimal(90)),
    )
    assert (tilt.deg, tilt.base, tilt.base_unit, str(tilt)) == (tilt.number, tilt.number, "deg", "22.5\u00b0")


def test_a_bad_number_or_unit_makes_no_angle() -> None:
    with pytest.raises(InvalidQuantity, match="not finite"):
        Angle(Decimal("NaN"))
    with pytest.raises(InvalidQuantity, match="AngleUnit"):
        Angle(Decimal(1), "deg")  # type: ignore[arg-type]  # the refusal is what is tested
    assert Angle(Decimal(1)).unit is AngleUnit.DEG
