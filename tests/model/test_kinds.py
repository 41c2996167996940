"""What the schema says of a setting by its place."""

from __future__ import annotations

import pytest

from profilekeeper.model import AGREEMENTS, kind_of
from profilekeeper.model.kinds import FREE
from profilekeeper.model.pointer import parse


@pytest.mark.parametrize(
    ("pointer", "quantity", "agreement"),
    [
        ("/tools/21/length", "length", "wears"),
        ("/tools/21/diameter/new", "length", "agrees"),
        ("/axes/X/soft_limits/1", "by axis", "own"),
        ("/axes/X/backlash", "by axis", "agrees within"),
        ("/head/spindle_down_at", "angle", "agrees"),
        ("/positions/park/X", "length", "own"),
        ("/positions/park/A", "angle", "own"),
        ("/positions/park/note", "text", "note"),
        ("/machine/hours", "number", "daily"),
        ("/tables/main/outline/2/0", "length", "own"),
        ("/control_pages/p/settings/L/value", "page value", "agrees"),
        ("/control_pages/p/grids/g/rows/1/0", "page value", "agrees"),
        ("/events/0/date", "date", "note"),
    ],
)
def test_a_place_has_a_quantity_and_a_relation_to_sisters(pointer: str, quantity: str, agreement: str) -> None:
    kind = kind_of(parse(pointer))

    assert (kind.quantity, kind.agreement) == (quantity, agreement)
    assert kind.agreement in AGREEMENTS
    assert kind.description


def test_what_a_setting_hangs_on_holds_for_everything_below() -> None:
    assert kind_of(parse("/positions/park/X")).hangs_on == ("axis reference",)
    assert kind_of(parse("/axes/X/soft_limits/0")).hangs_on == ("axis reference",)
    assert kind_of(parse("/tables/main/surface")).hangs_on == ("table", "Z reference", "head", "spindle")
    assert kind_of(parse("/axes/X/reference/per_motor_turn")).hangs_on == ("axis drive",)


def test_a_fixed_unit_and_a_tolerance_come_along() -> None:
    assert kind_of(parse("/tools/21/speed")).unit == "1/min"
    assert kind_of(parse("/head/pivot_to_gauge_line")).within == "1"


@pytest.mark.parametrize("pointer", ["/x-shop", "/tools/21/x-colour", "/nothing/at/all"])
def test_keys_of_ones_own_are_remarks(pointer: str) -> None:
    assert kind_of(parse(pointer)) == FREE
    assert FREE.agreement == "note"
