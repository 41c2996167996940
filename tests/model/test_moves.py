"""Moves as they are keyed or stand in a file."""

from __future__ import annotations

from decimal import Decimal

import pytest

from profilekeeper.errors import InvalidProfile, UsageError
from profilekeeper.model.moves import keyed_move, keyed_readings, read_moves
from profilekeeper.quantities import LengthUnit


def test_what_a_move_does_not_say_is_what_the_file_says() -> None:
    data = {
        "moves_version": 1,
        "units": {"length": "in"},
        "frame": "G54",
        "tool_length_active": True,
        "from": {"Z": Decimal("-1E+1")},
        "moves": [{"to": {"X": 1}}, {"to": {"X": "7 5/8 in"}, "frame": "machine", "how": "feed"}, {"routine": "park"}],
    }

    found = read_moves(data, source="moves.yaml")

    assert (found.start, found.unit) == ({"Z": "-10"}, LengthUnit.IN)
    assert [m.frame for m in found.moves] == ["G54", "machine", "G54"]
    assert [m.is_feed for m in found.moves] == [False, True, False]
    assert [m.routine for m in found.moves] == [None, None, "park"]
    assert found.moves[1].to == {"X": "7 5/8 in"}
    assert all(m.tool_length_active for m in found.moves)
    assert found.moves[1].where == "moves.yaml, move 2"


@pytest.mark.parametrize(
    "moves",
    [
        [],
        [{}],
        [{"to": {}}],
        [{"to": {"Z": 0}, "routine": "park"}],
        [{"to": {"Z": 0}, "how": "fast"}],
        [{"to": {"z": 0}}],
    ],
    ids=["none", "nothing said", "no axis", "both", "no such way", "no such axis"],
)
def test_a_file_that_is_not_one_is_refused(moves: list[object]) -> None:
    with pytest.raises(InvalidProfile, match=r"moves\.yaml"):
        read_moves({"moves_version": 1, "moves": moves}, source="moves.yaml")


def test_a_keyed_move_is_a_rapid_unless_it_says_feed() -> None:
    assert not keyed_move("X=3450, Y=40").is_feed
    assert keyed_move("feed Z=-100").is_feed
    assert keyed_move("feed Z=-100").to == {"Z": "-100"}


@pytest.mark.parametrize("text", ["", "X", "X=", "=4", "X=1,X=2", "X=1,,Y=2", "feed"])
def test_what_is_no_reading_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="--from"):
        keyed_readings(text, "--from")
