"""A profile as a whole."""

from __future__ import annotations

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.formats import loads
from profilekeeper.model import Profile, profile_problems, read_profile
from profilekeeper.quantities import LengthUnit, parse_angle, parse_length

TEXT = """
profile: 2
machine: {id: q8d3m5wz, name: saw-2, shop: quayside, class: tilting-head bridge saw}
units: {length: in}
resolution: {length: 0.0001, angle: 0.01}
head: {spindle_down_at: 90}
tools: {"21": {name: disc, length: 8.375, speed: 1200, sections: [{from: 0, to: 1, radius: 7}]}}
conventions: {swivel_wraps: true}
"""


def saw(text: str = TEXT) -> Profile:
    return read_profile(loads(text), source="saw.yaml")


def test_it_knows_whose_record_it_is() -> None:
    profile = saw()

    assert (profile.name, profile.id, profile.machine_class) == (
        "quayside/saw-2",
        "q8d3m5wz",
        "tilting-head bridge saw",
    )
    assert profile.unit is LengthUnit.IN
    assert profile.resolution == parse_length("0.0001 in")
    assert profile.angle_resolution == parse_angle("0.01 deg")


def test_a_branch_answers_by_kind_and_with_none_for_what_is_not_there() -> None:
    tool = saw().branch("/tools/21")

    assert tool.length("length") == parse_length("8.375 in")
    assert tool.number("speed") == Decimal(1200)
    assert tool.text("name") == "disc"
    assert tool.length("name") is None
    assert tool.length("seat") is None
    assert saw().root.angle("head/spindle_down_at") == parse_angle("90 deg")
    assert saw().root.flag("conventions/swivel_wraps") is True


def test_a_branch_that_is_not_there_is_empty_all_the_way_down() -> None:
    nothing = saw().branch("/tables/main")

    assert not nothing
    assert nothing.at("topping").length("new") is None
    assert list(nothing.each("outline")) == []


def test_lists_and_mappings_are_walked_alike() -> None:
    ((number, tool),) = saw().root.each("tools")
    ((index, section),) = tool.each("sections")

    assert (number, index) == ("21", "0")
    assert section.pointer == "/tools/21/sections/0"
    assert section.length("radius") == parse_length("7 in")


def test_a_file_that_is_no_profile_is_refused_with_its_name_and_place() -> None:
    with pytest.raises(InvalidProfile, match=r"^saw\.yaml: /tools/21/lenght"):
        saw(TEXT.replace("length: 8.375", "lenght: 8.375"))


def test_a_quantity_that_cannot_be_read_is_refused() -> None:
    data = loads(TEXT.replace("8.375", '"8 3/8"').replace("length: in}", "length: mm}"))

    assert [p.pointer for p in profile_problems(data)] == ["/tools/21/length"]
    with pytest.raises(InvalidProfile):
        read_profile(data)


def test_keys_of_a_later_minor_version_are_kept_and_told() -> None:
    profile = saw(TEXT.replace("profile: 2", "profile: 2.1") + "later: {a: 1}\n")

    assert profile.version == (2, 1)
    assert profile.data["later"] == {"a": 1}
    assert "/later" in profile.notices[0]


def test_a_sound_file_has_no_problems_and_nothing_to_say() -> None:
    assert profile_problems(loads(TEXT)) == ()
    assert saw().notices == ()
