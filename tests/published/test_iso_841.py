"""ISO 841, Industrial automation systems and integration: numerical control of machines, coordinate system and
motion nomenclature: axis names and senses as the profile uses them.

Source: ISO 841 as restated in several places (the standard itself was not at hand), and NISTIR 6556 (Kramer, Proctor,
Messina, The NIST RS274/NGC Interpreter, version 3, 17 August 2000) section 2.1.2, read in full text: X, Y, Z form a
right-handed system; Z lies along the spindle, +Z increases the distance of tool and workpiece; A, B, C turn about
X, Y, Z, positive counter-clockwise seen from the positive end of the axis.
"""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from profilekeeper.formats import loads
from profilekeeper.model import LETTERS, Profile, axes_of, conventions_of, read_profile, rules_for
from profilekeeper.model.schema import schema
from profilekeeper.quantities import Angle, Length, LengthUnit, parse_length
from profilekeeper.rules import judge, worst

LINEAR = ("X", "Y", "Z")
SECONDARY = ("U", "V", "W")
ROTARY = {"A": "X", "B": "Y", "C": "Z"}


def machine(body: str) -> Profile:
    return read_profile(loads("profile: 2\nmachine: {name: saw-1, shop: quayside}\nunits: {length: mm}\n" + body))


def test_positions_read_the_axes_of_the_standard_and_no_others() -> None:
    keys = {key for key in schema("profile")["$defs"]["position"]["properties"] if len(key) == 1}

    assert keys == set(LINEAR) | set(SECONDARY) | set(ROTARY) == set(LETTERS)


@pytest.mark.parametrize("letter", [*LINEAR, *SECONDARY, *ROTARY, "P", "Q", "R", "D", "E", "X2"])
def test_every_letter_of_the_standard_can_name_an_axis(letter: str) -> None:
    assert re.search(schema("profile")["$defs"]["axis_name"]["pattern"], letter)


@pytest.mark.parametrize("letter", [*LINEAR, *SECONDARY])
def test_a_linear_axis_reads_lengths_where_nothing_else_is_said(letter: str) -> None:
    profile = machine(f"axes: {{{letter}: {{travel: [0, 10]}}}}")

    assert isinstance(profile.value(f"/axes/{letter}/travel/1"), Length)
    assert not axes_of(profile)[letter].turns


@pytest.mark.parametrize("letter", list(ROTARY))
def test_a_rotary_axis_reads_angles_where_nothing_else_is_said(letter: str) -> None:
    profile = machine(f"axes: {{{letter}: {{travel: [0, 10]}}}}")

    assert isinstance(profile.value(f"/axes/{letter}/travel/1"), Angle)
    assert axes_of(profile)[letter].turns
    assert schema("profile")["$defs"]["position"]["properties"][letter]["$ref"] == "#/$defs/angle"


def test_up_is_positive_where_nothing_else_is_said() -> None:
    """+Z increases the distance between tool and workpiece."""
    down = Length(Decimal("-213.2"), LengthUnit.MM)

    assert conventions_of(machine("")).up(down) == down
    assert conventions_of(machine("conventions: {z_up: negative}")).up(down) == parse_length("213.2 mm")


def test_a_higher_touch_means_a_longer_tool() -> None:
    """The tool is between nose and table: raising Z at touch by 10 makes the length it gives 10 longer."""
    body = 'tools: {{"4": {{length: {length}, touch_off: {{Z: {z}, surface: -330, support: 0, thickness: 30}}}}}}'

    for length, z in (("120", "-180"), ("130", "-170")):
        profile = machine(body.format(length=length, z=z))
        (finding,) = (f for f in judge(profile, rules_for(profile)) if f.kind == "adds-up")
        assert finding.value == finding.required
        assert worst((finding,)) == "clear"


def test_a_table_that_is_milled_falls() -> None:
    table = schema("profile")["$defs"]["table"]["examples"][0]

    assert table["surface_limit"] < table["surface"] < 0
