"""One word for a gap: at the edges it falls to the side of less room."""

from __future__ import annotations

import pytest

from profilekeeper.clearance import Room, room_verdict
from profilekeeper.errors import InvalidShape


@pytest.mark.parametrize(
    ("low", "high", "uncertainty", "verdict"),
    [
        (31.0, 31.1, 6.0, Room.CLEAR),
        (30.9, 31.0, 6.0, Room.TIGHT),
        (26.0, 26.1, 6.0, Room.TIGHT),
        (25.9, 26.0, 6.0, Room.SHORT),
        (0.0, 0.05, 6.0, Room.SHORT),
        (0.0, 0.0, 6.0, Room.HITS),
        (0.0, 0.0, None, Room.HITS),
        (99.0, 99.1, None, Room.UNKNOWN),
    ],
)
def test_a_gap_is_judged_by_its_low_end_less_the_uncertainty(
    low: float, high: float, uncertainty: float | None, verdict: Room
) -> None:
    assert room_verdict(low, high, required_mm=20, warn_mm=5, uncertainty_mm=uncertainty) is verdict


@pytest.mark.parametrize("wrong", [(-1, 5, 1), (1, -5, 1), (1, 5, -1), (float("nan"), 5, 1)])
def test_a_margin_below_zero_is_refused(wrong: tuple[float, float, float]) -> None:
    required, warn, uncertainty = wrong
    with pytest.raises(InvalidShape):
        room_verdict(1, 2, required_mm=required, warn_mm=warn, uncertainty_mm=uncertainty)


def test_an_interval_the_wrong_way_round_is_refused() -> None:
    with pytest.raises(InvalidShape):
        room_verdict(2, 1, required_mm=1, warn_mm=1, uncertainty_mm=1)
