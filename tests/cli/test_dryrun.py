"""Moves tried before the machine makes them: the classics that must be caught, and what must not raise an alarm."""

from __future__ import annotations

import json
from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from profilekeeper.resources import shipped
from tests.cli.conftest import Answer, Program

SAW = "quayside/saw-1"
OVER_THE_SLAB = "X=1800,Y=1000,Z=-170,A=0,C=0"
BESIDE_THE_BIN = "X=3450,Y=300,Z=-170,A=0,C=0"
BIN = "waste bin"


@pytest.fixture
def saw(program: Program, at_home: Path, monkeypatch: pytest.MonkeyPatch) -> Program:
    """The program inside a store with quayside/saw-1, whose 500 blade is tool 2."""
    assert program("start", "fleet", "--fleet", "Harbour stone").code == 0
    monkeypatch.chdir(at_home / "fleet")
    source = shipped(f"shop_profiles/{SAW}/profile.yaml")
    assert program("add-machine", SAW, "--from", source).code == 0
    return program


def tried(saw: Program, *more: object, start: str = OVER_THE_SLAB, tool: str = "2") -> Answer:
    return saw("dryrun", SAW, "--tool", tool, *(("--from", start) if start else ()), *more)


def moves(saw: Program, *more: object, start: str = OVER_THE_SLAB, tool: str = "2") -> list[dict[str, Any]]:
    """Every move of the answer, the first of which is to stand still."""
    found: list[dict[str, Any]] = json.loads(tried(saw, *more, "--json", start=start, tool=tool).out)["moves"]
    return found


def rewritten(saw: Program, change: str, by: str) -> None:
    """The machine's record with one passage written otherwise, recorded."""
    text = (Path(SAW) / "profile.yaml").read_text(encoding="utf-8")
    assert change in text
    new = Path("../new.yaml")
    new.write_text(text.replace(change, by), encoding="utf-8")
    assert saw("snapshot", SAW, "--as-found", "--from", new).code == 0


def test_a_tool_change_called_low_over_the_slab_hits_where_the_order_is_not_known(saw: Program) -> None:
    rewritten(saw, "    order: [[Z], [X, Y], [A, C]]\n", "")

    done = tried(saw, "--routine", "tool change")
    last = moves(saw, "--routine", "tool change")[-1]

    assert done.code == 1
    assert (last["verdict"], last["thing"], last["reckoned"]) == ("hits", BIN, "every path")
    assert "Worst: hits (move 1)" in done.out
    assert "Numbers do not make a machine safe" in done.out


def test_an_order_that_nobody_has_witnessed_narrows_nothing(saw: Program) -> None:
    seen = "    witnessed: {by: R. Okonjo, date: 2024-06-04}\n"
    order = "    order: [[Z], [X, Y], [A, C]]\n"
    rewritten(saw, order + seen, order)

    last = moves(saw, "--routine", "tool change")[-1]

    assert last["verdict"] == "hits"
    assert "not who saw it" in last["notes"][0]


def test_the_same_tool_change_is_clear_where_z_was_seen_to_go_first(saw: Program) -> None:
    done = tried(saw, "--routine", "tool change")

    assert done.code == 0
    assert "seen by R. Okonjo, 2024-06-04" in " ".join(done.out.split())
    assert [m["verdict"] for m in moves(saw, "--routine", "tool change")] == ["clear", "clear"]


def test_homing_after_a_power_cut_with_x_and_y_before_z_drags_the_blade_through_the_bin(saw: Program) -> None:
    """Beside the bin with the blade's edge 45 below its top: Z first is clear, X and Y first is not."""
    assert tried(saw, "--routine", "homing", start=BESIDE_THE_BIN).code == 0
    homing = "    what: homing\n    order: "
    rewritten(saw, f"{homing}[[Z], [A, C], [X, Y]]", f"{homing}[[X, Y], [Z], [A, C]]")

    last = moves(saw, "--routine", "homing", start=BESIDE_THE_BIN)[-1]

    assert (last["verdict"], last["thing"], last["first_contact"]["leg"]) == ("hits", BIN, 1)


def test_homing_runs_to_its_switches_and_not_only_to_where_it_ends(saw: Program) -> None:
    """A post 12 beyond the rim of the blade at Y 0: at the switch, Y -6, it is 6."""
    rewritten(
        saw,
        "no_go_zones:\n",
        "no_go_zones:\n  post:\n    frame: floor\n    outline: [[150, -300], [300, -300], [300, -262], [150, -262]]\n"
        "    from: -1100\n    to: 900\n",
    )
    rewritten(
        saw, "  /slab: {how", "  /no_go_zones/post: {how: measured, with: indicator, plus_minus: 0 mm}\n  /slab: {how"
    )

    ended = moves(saw, "--move", "X=0,Y=0", start="X=0,Y=200,Z=0,A=0,C=0")[-1]
    homed = moves(saw, "--routine", "homing", start="X=0,Y=200,Z=0,A=0,C=0")[-1]

    assert float(ended["gap"]["number"]) == pytest.approx(12.0, abs=0.06)
    assert float(homed["gap"]["number"]) == pytest.approx(6.0, abs=0.06)


def test_a_move_straight_up_is_clear_by_what_it_starts_with(saw: Program) -> None:
    """The blade's lowest point: -170 + 185 - 250; the slab's top: -330 + 0.2 + 60. By hand 34.8."""
    done = moves(saw, "--move", "Z=0")

    assert [m["verdict"] for m in done] == ["clear", "clear"]
    assert [m["gap"]["number"] for m in done] == ["34.8", "34.8"]


def test_a_feed_touches_where_the_rim_of_the_blade_meets_the_edge_of_the_bin(saw: Program) -> None:
    """By hand: the axis is 205 above the bin's top, so the rim meets its edge at Y 60 from 60 + sqrt(250² - 205²)."""
    by_hand = 60 + sqrt(250**2 - 205**2)

    last = moves(saw, "--move", "feed Y=40", start=BESIDE_THE_BIN)[-1]
    touch = last["first_contact"]

    assert last["verdict"] == "hits"
    assert float(touch["at"]["Y"]["number"]) == pytest.approx(by_hand, abs=0.1)
    assert 300 - 260 * touch["free_share"] == pytest.approx(by_hand, abs=0.1)


def test_standing_in_the_stone_is_told_with_what_not_to_do(saw: Program) -> None:
    done = tried(saw, "--move", "Z=0", start="X=1800,Y=1000,Z=-300,A=0,C=0")

    assert done.code == 1
    assert "backed out in its own plane" in " ".join(done.out.split())


@pytest.mark.parametrize(
    ("start", "more", "said"),
    [
        (OVER_THE_SLAB, ("--move", "Q=1"), "has no axis Q; its axes are X, Y, Z, A, C"),
        ("X=1800,Y=1000,Z=-170", ("--move", "Z=0"), "A, C missing; say where every axis stands"),
        (OVER_THE_SLAB, ("--move", "Z=high"), "--move 'Z=high': Z: “high” is not a length"),
        (OVER_THE_SLAB, ("--move", "Z"), "'Z' is no reading"),
        (OVER_THE_SLAB, ("--routine", "homming"), "did you mean homing?"),
        (OVER_THE_SLAB, (), "say what is to be tried"),
        ("", ("--move", "Z=0"), "say where the machine stands"),
    ],
)
def test_a_slip_is_answered_in_one_sentence(saw: Program, start: str, more: tuple[str, ...], said: str) -> None:
    done = tried(saw, *more, start=start)

    assert done.code in (2, 3)
    assert said in done.err
    assert done.err.count("\n") == 1
    assert not done.out


def test_a_file_gives_start_and_moves_in_its_own_frame_and_readout(saw: Program) -> None:
    """G54 stands at X 120.5; with the length 119.7 of tool 4 active, Z -100 is the nose at 19.7, beyond its end."""
    Path("moves.yaml").write_text(
        "moves_version: 1\n"
        "from: {X: 1800, Y: 1000, Z: 0, A: 90, C: 0}\n"
        "moves:\n"
        "  - {to: {X: 100}, frame: G54}\n"
        "  - {to: {Z: -200}, tool_length_active: true}\n"
        "  - {to: {Z: -100}, tool_length_active: true}\n"
        "  - {routine: end of program}\n"
        "  - {to: {Z: 0}}\n",
        encoding="utf-8",
    )

    done = moves(saw, "--moves", "moves.yaml", start="", tool="4")

    assert done[1]["after"]["X"]["number"] == "220.500"
    assert done[2]["after"]["Z"]["number"] == "-80.3"
    assert (done[3]["verdict"], "beyond the ends" in done[3]["notes"][-1]) == ("unknown", True)
    assert (done[4]["verdict"], done[4]["missing"]) == ("unknown", ["/routines/end of program/ends"])
    assert done[5]["missing"] == ["where the move before it ends"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("- {to: {Z: 0}, frame: G59}", "move 1: not to be brought to machine readings, /work_offsets/G59"),
        ("- {to: {Z: 0}, routine: homing}", "moves.yaml"),
        ("- {too: {Z: 0}}", "/moves/0"),
    ],
)
def test_a_file_that_cannot_be_mapped_is_refused(saw: Program, line: str, said: str) -> None:
    Path("moves.yaml").write_text(f"moves_version: 1\nmoves:\n  {line}\n", encoding="utf-8")

    done = tried(saw, "--moves", "moves.yaml")

    assert done.code in (2, 3)
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_turn_is_unknown_where_nobody_says_whether_the_tip_is_held(saw: Program) -> None:
    rewritten(saw, '  tool_centre_compensation: "off"\n', "")

    up, turn = moves(saw, "--move", "Z=0", "--move", "A=90")[1:]

    assert up["verdict"] == "clear"
    assert (turn["verdict"], turn["missing"]) == ("unknown", ["/motion/tool_centre_compensation"])


def test_what_rides_along_is_kept_clear_of_what_stands(saw: Program) -> None:
    """By hand: the guard's outer side stands 305 behind the axis, at X 3145; the bin begins at X 3200."""
    last = moves(saw, "--move", "feed Y=40", start="X=3450,Y=300,Z=-210,A=0,C=0", tool="4")[-1]

    assert (last["part"], last["thing"], last["gap"]["number"]) == ("riding guard", BIN, "55.0")


def test_an_uncertainty_that_nobody_recorded_is_reckoned_with_as_a_tape_s_and_asked_for(saw: Program) -> None:
    rewritten(saw, "  /head: {how: measured, with: indicator, plus_minus: 0.5 mm,", "  /head: {how: measured,")

    done = tried(saw, "--move", "Z=0")

    assert "How closely head pivot to gauge line" in " ".join(done.out.split())
    assert "± 5.0 mm, as by tape, is reckoned with" in " ".join(done.out.split())
