"""Looking from the command line: settings, history, changes, findings, comparison, marks, restores, audits."""

from __future__ import annotations

import json
import subprocess
from datetime import date
from pathlib import Path

import pytest

from profilekeeper.resources import shipped
from tests.cli.conftest import Program

SAW = "quayside/saw-2"


def _touch(program: Program, value: str) -> None:
    assert program("snapshot", SAW, "--as-left", "--set", f"/tools/7/length={value}", "--why", f"to {value}").code == 0


@pytest.mark.parametrize("name", ["latest", "previous", "as-left", "added", date.today().isoformat()])
def test_a_snapshot_is_named_by_word_or_day(fleet: Program, name: str) -> None:
    _touch(fleet, "148.5")

    assert fleet("show", SAW, "--snapshot", name).code == 0


def test_a_snapshot_is_named_by_its_short_id(fleet: Program) -> None:
    _touch(fleet, "148.5")
    short = fleet("history", SAW).out.split()[0]

    assert "148.5 mm" in fleet("show", SAW, "--snapshot", short, "--only", "/tools/7/length").out


@pytest.mark.parametrize("name", ["HEAD", "HEAD~1", "main", "tomorrow", "ffffffff", "-1"])
def test_other_names_of_snapshots_are_refused(fleet: Program, name: str) -> None:
    done = fleet("show", SAW, f"--snapshot={name}")

    assert done.code in (2, 3)
    assert len(done.err.strip().splitlines()) == 1


def test_changes_tell_the_setting_both_values_and_the_amount(fleet: Program) -> None:
    _touch(fleet, "148.5")

    done = fleet("changes", SAW)

    assert done.code == 1
    line = next(line for line in done.out.splitlines() if "length" in line)
    assert "147.0 mm" in line
    assert "148.5 mm" in line
    assert "+1.5 mm" in line


def test_changes_of_files_need_no_store(program: Program, at_home: Path) -> None:
    text = shipped("shop_profiles/quayside/saw-2/profile.yaml").read_text()
    (at_home / "a.yaml").write_text(text)
    (at_home / "b.yaml").write_text(text.replace("length: 147.0", "length: 148.5", 1))

    assert program("changes", "a.yaml", "a.yaml").code == 0
    done = program("changes", "a.yaml", "b.yaml", "--json")
    assert done.code == 1
    assert json.loads(done.out)


def test_a_file_in_no_store_is_checked(program: Program) -> None:
    done = program("check", shipped("shop_profiles/quayside/saw-2/profile.yaml"), "--json")

    assert done.code == 1
    assert done.out.count("carries the milling") >= 3


def test_values_are_checked_before_anybody_keys_them_and_nothing_is_recorded(fleet: Program) -> None:
    before = fleet("history", SAW).out

    done = fleet("check", SAW, "--set", "/tool_changes/default/Z=5")

    assert done.code == 1
    assert "Do not key these values" in done.out
    assert fleet("history", SAW).out == before


def test_check_of_all_shops_and_one_shop(fleet: Program) -> None:
    assert SAW in fleet("check").out
    assert SAW in fleet("check", "quayside").out
    done = fleet("check", "quaysite")
    assert done.code == 3
    assert "did you mean quayside" in done.err


def test_marks_are_part_by_part_and_can_be_withdrawn(fleet: Program) -> None:
    assert fleet("show", SAW, "--snapshot", "proven").code == 3
    assert fleet("prove", SAW, "--ran", "/tools/7", "--why", "two worktops").code == 0
    assert fleet("show", SAW, "--snapshot", "proven").code == 0
    assert fleet("prove", SAW, "--ran", "/tools/7", "--withdraw").code == 0
    assert fleet("show", SAW, "--snapshot", "proven").code == 3
    assert fleet("prove", SAW, "--ran", "/tools/123").code == 3


def test_a_restore_keys_back_only_what_differs_and_adds_a_snapshot(fleet: Program) -> None:
    _touch(fleet, "148.5")
    _touch(fleet, "149.5")

    done = fleet("restore", SAW, "--to", "added", "--yes", "--why", "crash")

    assert done.code == 0
    assert "147.0 mm" in fleet("show", SAW, "--only", "/tools/7/length").out
    assert len(json.loads(fleet("history", SAW, "--json").out)) == 4
    assert fleet("restore", SAW, "--to", "added", "--yes").code == 2


def test_a_restore_does_not_key_back_what_hardware_has_made_invalid(fleet: Program) -> None:
    fleet("snapshot", SAW, "--as-left", "--set", "/work_offsets/G54/X=131.000")
    fleet("event", SAW, "home switch moved", "--axis", "X")

    done = fleet("restore", SAW, "--to", "added", "--plan")

    assert done.code == 0
    assert "to be established anew" in done.out
    assert "0 to key back" in done.out


def test_an_event_needs_a_known_word(fleet: Program) -> None:
    done = fleet("event", SAW, "gremlins")

    assert done.code == 3
    assert "crash" in done.err


def test_audit_is_clean_and_finds_damage(fleet: Program, at_home: Path) -> None:
    assert fleet("audit").code == 0
    store = at_home / "fleet"
    objects = [p for p in (store / ".git" / "objects").rglob("*") if p.is_file() and p.suffix in ("", ".pack")]
    victim = max(objects, key=lambda p: p.stat().st_size)
    victim.chmod(0o644)
    data = bytearray(victim.read_bytes())
    data[len(data) // 2] ^= 0xFF
    victim.write_bytes(bytes(data))

    done = fleet("audit")

    assert done.code in (1, 3)
    assert "damaged" in done.out + done.err


def test_plain_git_sees_a_clean_folder(fleet: Program, at_home: Path) -> None:
    _touch(fleet, "148.5")

    seen = subprocess.run(
        ["git", "status", "--short"], cwd=at_home / "fleet", capture_output=True, text=True, check=True
    )

    assert seen.stdout == ""


@pytest.mark.parametrize(
    "arguments",
    [("show", SAW), ("history", SAW), ("changes", SAW), ("check", SAW), ("audit",), ("compare",),
     ("restore", SAW, "--plan", "--to", "added")],
    ids=lambda a: a[0],
)  # fmt: skip
def test_every_answer_is_there_as_json(fleet: Program, arguments: tuple[str, ...]) -> None:
    _touch(fleet, "148.5")

    assert json.loads(fleet(*arguments, "--json").out) is not None


@pytest.mark.parametrize("width", [60, 80, 200])
def test_no_line_is_wider_than_the_screen(fleet: Program, width: int) -> None:
    _touch(fleet, "148.5")

    for arguments in (("show", SAW), ("history", SAW), ("changes", SAW), ("check", SAW), ("compare",)):
        said = fleet(*arguments, width=width)
        assert max(map(len, said.out.splitlines())) <= width, arguments


def test_outside_a_store_one_sentence_says_what_to_do(program: Program) -> None:
    done = program("check")

    assert done.code == 2
    assert "profilekeeper start" in done.err


def test_no_colour_is_written_into_a_pipe(fleet: Program) -> None:
    assert "\x1b" not in fleet("check", SAW).out


def test_proven_values_are_put_back_part_by_part(fleet: Program) -> None:
    fleet("prove", SAW, "--ran", "/tools/7")
    _touch(fleet, "148.5")
    fleet("snapshot", SAW, "--as-left", "--set", "/tools/4/length=121.3")

    done = fleet("restore", SAW, "--plan")

    assert "tool 7" in done.out
    assert "tool 4" not in done.out
    assert "1 to key back" in done.out


def test_hours_and_counters_are_never_keyed_back(fleet: Program) -> None:
    fleet("snapshot", SAW, "--as-left", "--set", "/spindles/main/hours=5500", "--set", "/machine/hours=8800")

    assert "0 to key back" in fleet("restore", SAW, "--to", "added", "--plan").out


def test_an_event_on_hardware_that_is_not_there_is_refused(fleet: Program) -> None:
    done = fleet("event", SAW, "table milled", "--table", "nope")

    assert done.code == 3
    assert "main" in done.err


def test_a_second_milling_does_not_hide_the_first(fleet: Program) -> None:
    fleet("event", SAW, "table milled", "--table", "main", "--by-how-much", "1.5 mm")

    assert fleet("check", SAW, "--json").out.count("carries the milling") >= 3


def test_a_height_that_fell_by_more_than_was_milled_is_found(fleet: Program) -> None:
    fleet("event", SAW, "table milled", "--table", "main", "--by-how-much", "1.5 mm")
    fleet("snapshot", SAW, "--as-left", "--set", "/tables/main/surface=-334.5")

    assert "1.5 mm are not accounted for" in fleet("check", SAW, "--json").out


def test_a_pointer_to_nothing_is_told_with_the_nearest(fleet: Program) -> None:
    done = fleet("show", SAW, "--only", "/tools/7/lenght")

    assert done.code == 3
    assert "/tools/7/length" in done.err
