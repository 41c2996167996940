"""`draw`: a swing drawn into a file or on the screen, from the same answer as the check."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from profilekeeper.resources import shipped
from tests.cli.conftest import Program

SAW = "quayside/saw-1"
AT = ("--tool", "1", "--at", "blade 400")


@pytest.fixture
def saw(fleet: Program) -> Program:
    """The store with quayside/saw-1 in it as well."""
    assert fleet("add-machine", SAW, "--from", shipped(f"shop_profiles/{SAW}/profile.yaml")).code == 0
    return fleet


def _words(path: Path) -> str:
    return " ".join(e.text or "" for e in ElementTree.parse(path).iter() if e.tag.endswith("}text"))


def test_the_side_view_marks_the_gap_that_the_check_tells(saw: Program, tmp_path: Path) -> None:
    file = tmp_path / "swing.svg"

    done = saw("draw", SAW, *AT, "--to", file)

    assert done.code == 0
    assert "18.4" in _words(file)
    dots = [e.get("data-point") for e in ElementTree.parse(file).iter() if e.get("data-point")]
    assert sorted(dots) == ["on obstacle", "on tool"]
    assert saw("history", SAW).out.split()[0] in _words(file)


def test_the_same_spot_by_its_readings_gives_the_same_drawing_number(saw: Program, tmp_path: Path) -> None:
    saw("draw", SAW, "--tool", "1", "--at", "X=3450, Y=40 mm, Z=-60, A=0, C=0", "--to", tmp_path / "a.svg")

    assert "18.4" in _words(tmp_path / "a.svg")


@pytest.mark.parametrize(("name", "begins"), [("a.png", b"\x89PNG"), ("a.pdf", b"%PDF")])
def test_pictures(saw: Program, tmp_path: Path, name: str, begins: bytes) -> None:
    assert saw("draw", SAW, *AT, "--to", tmp_path / name).code == 0
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_the_plan_stands_the_spot_where_it_is(saw: Program, tmp_path: Path) -> None:
    assert saw("draw", SAW, *AT, "--view", "plan", "--to", tmp_path / "p.svg").code == 0
    assert "X 3450.0 Y 40.0" in _words(tmp_path / "p.svg")


@pytest.mark.parametrize("width", [60, 80])
def test_on_the_screen_no_line_is_wider_than_it(saw: Program, width: int) -> None:
    done = saw("draw", SAW, *AT, width=width)

    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= width
    assert "gap 18.4 mm" in done.out
    assert "waste bin" in done.out
    assert "verify at the machine" in done.out.replace("\n", " ")


def test_a_hit_is_drawn_as_a_hit_with_what_frees_it(saw: Program, tmp_path: Path) -> None:
    assert saw("draw", SAW, "--tool", "2", "--at", "X=3450,Y=40,Z=-60", "--to", tmp_path / "h.svg").code == 0
    assert "hits" in _words(tmp_path / "h.svg")
    assert saw("draw", SAW, "--tool", "2", "--at", "X=3450,Y=40,Z=-60").out.count("hits:") == 1


def test_a_file_is_never_written_over_unless_asked(saw: Program, tmp_path: Path) -> None:
    file = tmp_path / "kept.svg"
    file.write_text("mine")

    assert saw("draw", SAW, *AT, "--to", file).code == 2
    assert file.read_text() == "mine"
    assert saw("draw", SAW, *AT, "--to", file, "--replace").code == 0
    assert "18.4" in _words(file)
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".kept")] == []


def test_what_is_not_recorded_is_named_in_one_sentence(saw: Program, tmp_path: Path) -> None:
    assert saw("snapshot", SAW, "--as-left", "--take-out", "/head/body", "--why", "to be measured anew").code in (0, 1)

    done = saw("draw", SAW, *AT, "--to", tmp_path / "a.svg")

    assert done.code == 3
    assert "head body" in done.err
    assert len(done.err.strip().splitlines()) == 1
    assert not (tmp_path / "a.svg").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("--tool", "99"),
        ("--tool", "1", "--at", "nowhere"),
        ("--tool", "1", "--at", "X=1,Y=2"),
        ("--tool", "1", "--at", "X=one,Y=2,Z=3"),
        ("--tool", "1", "--at", "X=1,X=2,Y=2,Z=3"),
        ("--tool", "1", "--view", "plan"),
        ("--tool", "1", "--view", "front"),
        ("--tool", "1", "--to", "a.bmp"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_one_sentence(saw: Program, arguments: tuple[str, ...]) -> None:
    done = saw("draw", SAW, *arguments)

    assert done.code in (2, 3)
    assert len(done.err.strip().splitlines()) == 1
    assert done.out == ""
