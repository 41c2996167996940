"""The legs of a move: what was witnessed narrows it, and no path that the axes may take is left out."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from profilekeeper.clearance import JointBox, Joints, Straight, SwivelWay, scene_of
from profilekeeper.clearance.chain import Chain
from profilekeeper.model.axis import axes_of
from profilekeeper.model.conventions import conventions_of
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.rules.legs import EVERY_PATH, Way, axis_joints, rapid_way, routine_way, switches, swivel_way
from tests.rules.geometry import machine, plain

SAW = "quayside/saw-1"
START = Joints(x_mm=3450, y_mm=300, z_mm=-170, tilt_deg=45, swivel_deg=10)
HOME = Joints(x_mm=0, y_mm=0, z_mm=0, tilt_deg=0, swivel_deg=0)
FIELDS = ("x_mm", "y_mm", "z_mm", "tilt_deg", "swivel_deg")


def chain_of(profile: Profile) -> Chain:
    chain = scene_of(profile).chain.value
    assert chain is not None
    return chain


def rapid(**motion: Any) -> Way:
    """A rapid home on the saw, `motion` written over what it says of rapids."""
    data = plain(SAW)
    data["motion"] = {**data["motion"], **motion}
    profile = read_profile(data)
    return rapid_way(profile.root.at("motion"), chain_of(profile), START, HOME, SwivelWay.AS_READ)


def holds(way: Way, joints: Joints) -> bool:
    return any(
        isinstance(leg, JointBox)
        and all(getattr(leg, f).low <= getattr(joints, f) <= getattr(leg, f).high for f in FIELDS)
        for leg in way.legs
    )


def test_a_witnessed_order_gives_a_leg_for_each_group() -> None:
    way = rapid()

    assert len(way.legs) == 3
    assert isinstance(way.legs[0], Straight)
    assert way.said == "Z, then A and C, then X and Y (seen by R. Okonjo, 2024-06-04)"


@pytest.mark.parametrize(
    "motion",
    [
        {"rapids": "any path"},
        {"witnessed": {"by": "R. Okonjo"}},
        {"rapids": "together", "witnessed": {"date": "2024-06-04"}},
        {"order": [["Z"], ["X", "Y"]]},  # nothing is said of A and C, which move
        {"order": []},
    ],
    ids=["any path", "no day", "nobody", "half an order", "no order"],
)
def test_every_path_is_reckoned_with_unless_all_is_witnessed(motion: dict[str, Any]) -> None:
    way = rapid(**motion)

    assert way.said == EVERY_PATH
    assert way.legs == (JointBox.between(START, HOME),)


def test_every_path_holds_every_order_in_which_single_axes_may_run() -> None:
    way = rapid(rapids="any path")

    for order in permutations(FIELDS):
        here = {f: getattr(START, f) for f in FIELDS}
        for field in order:
            here[field] = getattr(HOME, field)
            assert holds(way, Joints(**here))


def test_all_together_is_one_straight_move_where_somebody_saw_it() -> None:
    assert rapid(rapids="together").legs == (Straight(start=START, end=HOME),)


def test_homing_runs_to_the_switches_of_axes_that_need_them() -> None:
    profile = machine(SAW)
    routine, chain = profile.root.at("routines").at("homing"), chain_of(profile)

    past = switches(routine, axes_of(profile), chain, conventions_of(profile))
    way = routine_way(routine, "homing", chain, START, HOME, SwivelWay.AS_READ, past)

    assert past == {"x_mm": -6.0, "y_mm": -6.0, "z_mm": 5.5}  # A and C are absolute
    first, last = way.legs[0], way.legs[-1]
    assert isinstance(first, JointBox)
    assert isinstance(last, JointBox)
    assert (first.z_mm.low, first.z_mm.high, first.x_mm.low) == (-170, 5.5, 3450)
    assert (last.x_mm.low, last.y_mm.low, last.z_mm.high) == (-6.0, -6.0, 0)


def test_a_swivel_whose_reading_jumps_may_go_either_way_round() -> None:
    data = plain(SAW)
    data["conventions"]["swivel_wraps"] = True
    profile = read_profile(data)

    assert swivel_way(axes_of(profile)["C"], conventions_of(profile)) is SwivelWay.UNKNOWN
    assert swivel_way(axes_of(machine(SAW))["C"], conventions_of(machine(SAW))) is SwivelWay.AS_READ
    assert swivel_way(None, conventions_of(profile)) is SwivelWay.AS_READ


def test_the_axes_go_by_the_letters_of_the_machine() -> None:
    assert axis_joints(chain_of(machine(SAW))) == {
        "X": "x_mm", "Y": "y_mm", "Z": "z_mm", "A": "tilt_deg", "C": "swivel_deg",
    }  # fmt: skip
