"""Recording from the command line: machines come in, values are kept, nothing is lost or overwritten."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Program

SAW = "quayside/saw-2"
LENGTH = "/tools/7/length"


def test_a_keyed_value_becomes_a_snapshot(fleet: Program) -> None:
    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.5", "--why", "touched off again")

    assert done.code == 0
    assert "1 setting changed" in done.out
    assert "148.5 mm" in fleet("show", SAW, "--only", LENGTH).out


def test_everything_else_in_the_text_stays_byte_for_byte(fleet: Program, at_home: Path) -> None:
    path = at_home / "fleet" / SAW / "profile.yaml"
    before = path.read_text().splitlines()

    fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.500", "--why", "x")

    after = path.read_text().splitlines()
    assert [line for line in after if line not in before] == [
        line for line in after if "148.500" in line or '"/tools/7/length"' in line or "/tools/7/length:" in line
    ]


def test_a_length_in_the_other_unit_is_converted_aloud(fleet: Program) -> None:
    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=5 7/8 in")

    assert done.code == 0
    assert "5 7/8 in is kept as 149.225 mm" in done.out


def test_rounding_to_what_the_control_can_show_is_told(fleet: Program) -> None:
    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=5.87654 in")

    assert "rounded by" in done.out


@pytest.mark.parametrize(
    ("keyed", "said"),
    [
        ("/tools/7/length=12,5", "12.5"),
        ("/tools/7/length=NaN", "NaN"),
        ("/tools/7/lenght=12.5", "did you mean /tools/7/length?"),
        ("/tools/7=12.5", "is not one value"),
        ("tools/7/length=12.5", "is not POINTER=VALUE"),
        ("/tools/7/speed=12 bar", "this setting is in 1/min"),
        ("/tools/7/kind=spanner", "none of the words known here"),
        ("/tools/99/length=12.5", "tools"),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_one_sentence(fleet: Program, keyed: str, said: str) -> None:
    before = fleet("history", SAW).out

    done = fleet("snapshot", SAW, "--as-left", "--set", keyed)

    assert (done.code, done.out) == (3, "") or (done.code, done.out) == (2, "")
    assert said in done.err
    assert len(done.err.strip().splitlines()) == 1
    assert fleet("history", SAW).out == before


def test_a_password_in_a_reason_is_refused(fleet: Program) -> None:
    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.5", "--why", "service password 8842")

    assert done.code == 3
    assert "password" in done.err
    assert "148.5" not in fleet("show", SAW, "--only", LENGTH).out


def test_every_record_says_by_whom(fleet: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PROFILEKEEPER_BY")

    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.5")

    assert done.code == 2
    assert "--by" in done.err


def test_as_found_or_as_left_must_be_said(fleet: Program) -> None:
    assert fleet("snapshot", SAW, "--set", f"{LENGTH}=148.5").code == 2
    assert fleet("snapshot", SAW, "--as-found", "--as-left", "--set", f"{LENGTH}=148.5").code == 2


def test_a_hand_edit_is_never_overwritten(fleet: Program, at_home: Path) -> None:
    path = at_home / "fleet" / SAW / "profile.yaml"
    edited = path.read_text() + "# a remark\n"
    path.write_text(edited)

    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.5")

    assert done.code == 3
    assert "edited by hand" in done.err
    assert path.read_text() == edited


def test_a_hand_edit_can_be_recorded(fleet: Program, at_home: Path) -> None:
    path = at_home / "fleet" / SAW / "profile.yaml"
    path.write_text(path.read_text().replace("nickname: the quiet one", "nickname: the loud one"))

    assert fleet("snapshot", SAW, "--as-found", "--edited").code == 0
    assert "the loud one" in fleet("show", SAW, "--only", "/machine").out
    assert "nothing was to be done" in fleet("put-back", SAW).out


def test_a_hand_edit_can_be_put_back_and_is_kept(fleet: Program, at_home: Path) -> None:
    path = at_home / "fleet" / SAW / "profile.yaml"
    recorded = path.read_text()
    path.write_text("rubbish")

    done = fleet("put-back", SAW, "--yes")

    assert done.code == 0
    assert path.read_text() == recorded
    kept = done.out.strip().splitlines()[-1].split()[-1]
    assert Path(kept).read_text() == "rubbish"


def test_a_deleted_file_is_told_and_put_back(fleet: Program, at_home: Path) -> None:
    path = at_home / "fleet" / SAW / "profile.yaml"
    path.unlink()

    done = fleet("snapshot", SAW, "--as-left", "--set", f"{LENGTH}=148.5")
    assert done.code == 3
    assert "no longer in the folder" in done.err

    assert fleet("put-back", SAW, "--yes").code == 0
    assert path.exists()


def test_a_file_with_a_fault_names_line_and_column(fleet: Program, at_home: Path) -> None:
    bad = at_home / "bad.yaml"
    bad.write_text("profile: 2\nmachine: {name: saw-3, name: saw-4}\n")

    done = fleet("snapshot", SAW, "--as-found", "--from", bad)

    assert done.code == 3
    assert "bad.yaml, line 2, column" in done.err
    assert "name" in done.err


def test_the_record_of_another_machine_is_refused(fleet: Program, at_home: Path) -> None:
    text = (at_home / "fleet" / SAW / "profile.yaml").read_text()
    other = at_home / "other.yaml"
    other.write_text(text.replace("name: saw-2", "name: saw-1"))

    done = fleet("snapshot", SAW, "--as-found", "--from", other)

    assert done.code == 3
    assert "quayside/saw-1" in done.err


def test_a_new_machine_needs_no_geometry(fleet: Program) -> None:
    done = fleet("add-machine", "quayside/saw-9", "--class", "tilting bridge saw", "--unit", "in")

    assert done.code == 0
    assert "no value is recorded yet" in done.out
    assert fleet("add-machine", "quayside/saw-9").code == 2


@pytest.mark.parametrize("name", ["saw", "a/b/c", "../x/y", "-a/b", "con/saw", "quayside/.git", "rules/saw"])
def test_names_that_some_computer_cannot_keep_are_refused(fleet: Program, name: str) -> None:
    done = fleet("add-machine", "--unit", "mm", "--", name)

    assert done.code in (2, 3)
    assert len(done.err.strip().splitlines()) == 1


def test_a_sister_gives_what_may_be_copied_and_nothing_of_its_own(fleet: Program) -> None:
    assert fleet("add-machine", "quayside/saw-3", "--like", SAW).code == 0

    shown = {s["pointer"] for s in json.loads(fleet("show", "quayside/saw-3", "--json").out)["settings"]}
    assert "/tools/7/name" in shown
    assert "/axes/X/travel/0" in shown
    own = ("/tools/7/length", "/tools/7/touch_off", "/work_offsets/G54/X", "/axes/X/soft_limits", "/axes/X/pitch_table")
    never = (*own, "/head/pivot_to_gauge_line", "/tables/main/surface", "/events", "/sources", "/machine/serial")
    assert not [p for p in shown for n in never if p == n or p.startswith(n + "/")]


def test_reading_down_the_order_keeps_what_enter_confirms(fleet: Program) -> None:
    fields = fleet("snapshot", SAW, "--as-found", "--read", typed="\n" * 2000)

    assert fields.code == 0, fields.err
    assert "no setting changed" in fields.out


def test_an_interrupted_reading_keeps_nothing(fleet: Program) -> None:
    before = fleet("history", SAW).out

    done = fleet("snapshot", SAW, "--as-found", "--read", typed="\n\n")

    assert done.code == 130
    assert fleet("history", SAW).out == before


def test_a_jump_is_asked_about_once(fleet: Program) -> None:
    fleet("add-machine", "quayside/saw-9", "--unit", "mm")
    fleet("snapshot", "quayside/saw-9", "--as-found", "--set", "/safe_z/general=-25.0")

    done = fleet("snapshot", "quayside/saw-9", "--as-found", "--read", typed="25.0\nn\n-25.5\n" + "\n" * 50)

    assert done.code == 0
    assert done.err.count("the sign is turned round") == 1
    assert "-25.5 mm" in fleet("show", "quayside/saw-9", "--only", "/safe_z").out


def test_two_ends_of_a_new_pair_are_keyed_together(fleet: Program) -> None:
    fleet("add-machine", "quayside/saw-9", "--unit", "mm")
    both = ("--set", "/axes/X/travel/0=0", "--set", "/axes/X/travel/1=3600")

    lacking = fleet("snapshot", "quayside/saw-9", "--as-found", "--new", *both[:2])
    assert lacking.code == 2
    assert "/axes/X/travel/1" in lacking.err

    assert fleet("snapshot", "quayside/saw-9", "--as-found", "--new", *both).code == 0
    assert "3600 mm" in fleet("show", "quayside/saw-9", "--only", "/axes/X/travel").out


def test_a_new_thing_must_be_meant(fleet: Program) -> None:
    done = fleet("snapshot", SAW, "--as-left", "--set", "/tools/77/length=12.5")

    assert done.code == 3
    assert "--new" in done.err
    assert fleet("snapshot", SAW, "--as-left", "--new", "--set", "/tools/77/length=12.5").code == 0


def test_digits_that_changed_places_are_asked_about(fleet: Program) -> None:
    fleet("add-machine", "quayside/saw-9", "--unit", "mm")
    fleet("snapshot", "quayside/saw-9", "--as-found", "--new", "--set", "/safe_z/general=-330.4")

    done = fleet("snapshot", "quayside/saw-9", "--as-found", "--read", typed="-334.0\ny\n")

    assert "changed places" in done.err


def test_what_was_keyed_is_not_lost_when_it_cannot_be_recorded(fleet: Program, at_home: Path) -> None:
    fleet("add-machine", "quayside/saw-9", "--unit", "mm")
    fleet("snapshot", "quayside/saw-9", "--as-found", "--new", "--set", "/safe_z/general=-25.0")
    (at_home / "fleet/quayside/saw-9/profile.yaml").write_text("rubbish")

    done = fleet("snapshot", "quayside/saw-9", "--as-found", "--read", typed="-25.5\n")

    assert done.code == 3
    assert "--set /safe_z/general=-25.5" in done.err


OLD = """\
profile: 1
machine: {name: saw-8, shop: quayside, class: tilting bridge saw}  # the one by the door
units: {length: mm}
table: {surface: -455.200}
work_offsets:
  G54: {X: 120.500, Y: 88.000, Z: 0}
tools:
  "7": {name: finger bit 22, length: 147.0, touched_off: {Z: -152.8, thickness: 30.2, on: 2026-01-20}}
"""


def test_a_record_of_the_older_format_is_kept_as_it_is_until_somebody_changes_it(fleet: Program, at_home: Path) -> None:
    (at_home / "old.yaml").write_text(OLD)

    added = fleet("add-machine", "quayside/saw-8", "--from", at_home / "old.yaml")
    assert added.code == 0
    assert "format 1" in added.out
    assert "profile: 1" in fleet("show", "quayside/saw-8", "--text").out

    assert fleet("snapshot", "quayside/saw-8", "--as-left", "--set", "/tables/main/surface=-456.700").code == 0
    text = fleet("show", "quayside/saw-8", "--text").out
    assert "profile: 2" in text
    assert "# the one by the door" in text
    assert "X: 120.500" in text
    assert "-456.7 mm" in fleet("show", "quayside/saw-8", "--only", "/tables").out.replace("456.700", "456.7")
    assert "2026-01-20" in fleet("show", "quayside/saw-8", "--only", "/tools/7/touch_off").out
