"""A touch-off from the command line: what it gives, how sure that is, and nothing recorded unless asked to."""

from __future__ import annotations

import json

import pytest

from profilekeeper.resources import shipped
from tests.cli.conftest import Answer, Program

SAW = "quayside/saw-2"


def touch(fleet: Program, *more: object, tool: str = "4", z: str = "-180.0") -> Answer:
    return fleet("touchoff", SAW, tool, "--z", z, *more)


def told(fleet: Program, *more: object, tool: str = "4", z: str = "-180.0") -> dict[str, object]:
    """The answer as JSON."""
    answer: dict[str, object] = json.loads(touch(fleet, *more, "--json", tool=tool, z=z).out)
    return answer


def mm(number: str) -> dict[str, str]:
    return {"number": number, "unit": "mm"}


def test_a_length_is_z_less_table_and_stone_with_the_table_of_today(fleet: Program) -> None:
    """Z -180.0, table -331.5, stone 30.2: 121.3, worked out by hand."""
    done = touch(fleet, "--thickness", "30.2", "--tilt", "90")

    assert done.code == 0
    assert "length 121.300 mm ± 0.050 mm, recorded is 119.8 mm" in done.out
    assert "nothing is recorded" in done.out
    assert "119.8" in fleet("show", SAW, "--only", "/tools/4/length").out


def test_of_several_thicknesses_the_highest_governs_and_their_spread_is_shown(fleet: Program) -> None:
    found = told(fleet, "--thickness", "29.8", "--thickness", "30.2", "--thickness", "30.0", "--tilt", "90")

    assert (found["found"], found["spread"], found["thickness"]) == (mm("121.300"), mm("0.4"), mm("30.2"))
    assert found["known_to"] == mm("0.450")  # table 0.05 and the spread of the stone


@pytest.mark.parametrize(
    ("more", "length"),
    [
        (("--thickness", "30.2", "--shim", "0.1"), "121.200"),
        (("--thickness", "30.2", "--support", "18"), "103.300"),
        (("--thickness", "30.2", "--support", "3/4 in"), "102.250"),
        (("--on", "table"), "151.500"),
        (("--on", "plate", "--shim", "50"), "101.500"),
    ],
)
def test_what_lay_between_is_taken_off(fleet: Program, more: tuple[str, ...], length: str) -> None:
    assert told(fleet, *more, "--tilt", "90")["found"] == mm(length)


def test_a_blade_gives_its_diameter(fleet: Program) -> None:
    """Z -287.2 + 185 + 331.5 - 30.2 = 199.1, twice that is 398.2."""
    found = told(fleet, "--thickness", "30.2", "--tilt", "0", tool="1", z="-287.2")

    assert (found["word"], found["found"]) == ("diameter", mm("398.200"))
    assert found["pointer"] == "/tools/1/diameter_in_control"


def test_a_tool_that_comes_out_bigger_than_new_is_doubted(fleet: Program) -> None:
    assert "more than the tool had as new (400 mm)" in touch(
        fleet, "--thickness", "30.2", "--tilt", "0", tool="1", z="-187.2"
    ).out  # fmt: skip


def test_a_tilt_off_its_mark_is_told_and_a_missing_one_asked_for(fleet: Program) -> None:
    off, silent = touch(fleet, "--thickness", "30", "--tilt", "89.5"), touch(fleet, "--thickness", "30")

    assert "The tilt read 89.5° at touch" in off.out
    assert "tilt reading is not noted" in silent.out


def test_the_safe_z_that_follows_is_told_with_its_margin(fleet: Program) -> None:
    found = told(fleet, "--thickness", "30.2", "--tilt", "90")

    assert (found["touch"], found["margin"], found["safe_z"]) == (mm("-138.982"), mm("20"), mm("-118.982"))
    assert found["is_enough"] is True


def test_a_safe_z_that_is_too_low_is_to_be_raised(fleet: Program) -> None:
    fleet("snapshot", SAW, "--as-left", "--set", "/tools/4/safe_z=-120")

    assert "recorded is -120 mm: raise it" in touch(fleet, "--thickness", "30.2", "--tilt", "90").out


def test_recorded_it_keeps_everything_that_was_in_force(fleet: Program) -> None:
    done = touch(fleet, "--thickness", "30.1", "--thickness", "30.2", "--tilt", "90", "--record", "--as-left")

    assert done.code == 0
    assert "recorded as-left" in done.out
    shown = fleet("show", SAW, "--only", "/tools/4", "--text").out
    tool = shown[shown.index('  "4":') : shown.index('  "7":')]
    for line in (
        "length: 121.300", "Z: -180.0", "surface: -331.5", "support: 0", "thicknesses: [30.1, 30.2]", "tilt: 90",
        "attitude: spindle down", "frame: machine", "by: R. Okonjo", "table: main",
    ):  # fmt: skip
        assert line in tool
    assert "shim" not in tool
    assert "/tools/4/length: {how: measured" in shown


def test_a_recorded_touch_off_adds_up_and_is_no_longer_stale(fleet: Program) -> None:
    before = json.loads(fleet("check", SAW, "--json").out)[0]["findings"]
    touch(fleet, "--thickness", "30.2", "--tilt", "90", "--record", "--as-left")
    after = json.loads(fleet("check", SAW, "--json").out)[0]["findings"]

    def words(found: list[dict[str, str]], kind: str) -> list[str]:
        return [f["verdict"] for f in found if f["kind"] == kind and f["subject"] == "/tools/4/length"]

    assert words(before, "stale") == ["fails"]
    assert "fails" not in words(after, "stale")
    assert words(after, "adds-up") == ["clear"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("4", "--z", "-180.0"), "--thickness"),
        (("4", "--z", "-180,0", "--thickness", "30"), "-180.0"),
        (("99", "--z", "-180.0", "--thickness", "30"), "no tool 99; it has 1, 4, 7, 9 and 12"),
        (("4", "--z", "-180.0", "--thickness", "30", "--table", "side"), "say which table"),
        (("4", "--z", "-180.0", "--thickness", "30", "--on", "floor"), "cannot be touched"),
        (("4", "--z", "-180.0", "--thickness", "30", "--record"), "--record --as-left"),
        (("4", "--z", "-180.0", "--thickness", "30", "--tilt", "45"), "cannot be told"),
        (("4", "--z", "-180.0", "--on", "plate"), "shim not recorded"),
    ],
)
def test_what_is_missing_or_wrong_is_told_in_one_sentence(
    fleet: Program, arguments: tuple[str, ...], said: str
) -> None:
    done = fleet("touchoff", SAW, *arguments)

    assert done.code in (2, 3)
    assert done.out == ""
    assert said in done.err
    assert len(done.err.strip().splitlines()) == 1


def test_what_lies_under_the_slab_is_asked_for_where_it_may_be_several_things(program: Program, fleet: Program) -> None:
    centre = "quayside/centre-1"
    fleet("add-machine", centre, "--from", shipped(f"shop_profiles/{centre}/profile.yaml"))

    done = program("touchoff", centre, "5", "--z", "100", "--thickness", "30")

    assert done.code == 2
    assert "--support" in done.err


def test_a_negative_length_stays_as_the_control_shows_it(fleet: Program) -> None:
    bridge = "station/finish-1"
    fleet("add-machine", bridge, "--from", shipped(f"shop_profiles/{bridge}/profile.yaml"))

    done = fleet("touchoff", bridge, "31", "--z", "-107.3", "--thickness", "30.2")

    assert "length -142.100 mm" in done.out


def test_the_help_shows_how_it_is_used(program: Program) -> None:
    said = program("touchoff", "--help").out

    assert "Example: profilekeeper touchoff quayside/saw-2 4" in " ".join(said.split())
