"""mount: joints that fit and hold, in every direction, under load and while braking; marked speeds."""

from __future__ import annotations

from decimal import Decimal

import pytest

from profilekeeper.quantities import Quantity
from profilekeeper.rules import Finding
from tests.rules.conftest import findings, profile, verdicts

SPINDLE = "spindles: {{main: {{rotation: {rotation}, max_speed: 4000, ramp_down: {ramp}, nose: {nose}}}}}\n"
NOSE = "{kind: thread, thread: M30, size: 30, pitch: 3.5, hand: right}"


def mounted(
    joints: str,
    *,
    rotation: str = "clockwise",
    ramp: str = "8",
    nose: str = NOSE,
    tool: str = "runs: clockwise, weight: 2, marked_speed: 3000, speed: 2000",
) -> dict[str, Finding]:
    """The mount findings of one tool, number 5."""
    spindle = SPINDLE.format(rotation=rotation, ramp=ramp, nose=nose)
    return findings(profile(f"{spindle}tools: {{'5': {{kind: cup wheel, {tool}, joints: [{joints}]}}}}\n"), "mount")


def outer(hand: str, lock: str | None, *, runs: str, weight: str = "2", ramp: str = "8") -> Finding:
    """The finding of the outer joint of a chain whose inner one is a taper."""
    joint = f"{{kind: taper, size: 40}}, {{kind: thread, thread: M24, hand: {hand}{f', lock: {lock}' if lock else ''}}}"
    rotation = runs if runs != "both" else "both"
    found = mounted(
        joint, rotation=rotation, ramp=ramp, nose="{kind: taper, size: 40}",
        tool=f"runs: {runs}, {f'weight: {weight}, ' if weight else ''}marked_speed: 3000, speed: 2000",
    )  # fmt: skip
    return found["/tools/5/joints/1"]


@pytest.mark.parametrize(
    ("hand", "runs", "lock", "verdict"),
    [
        ("right", "clockwise", "none", "clear"),
        ("left", "counter-clockwise", "none", "clear"),
        ("right", "counter-clockwise", "none", "fails"),
        ("left", "clockwise", "none", "fails"),
        ("right", "counter-clockwise", "grub screw", "fails"),
        ("right", "counter-clockwise", "key", "tight"),
        ("left", "clockwise", "pins", "tight"),
        ("right", "counter-clockwise", "other", "unknown"),
        ("right", "counter-clockwise", "not known", "unknown"),
        ("right", "counter-clockwise", None, "unknown"),
        ("right", "both", "none", "fails"),
        ("left", "both", "none", "fails"),
        ("right", "both", "key", "tight"),
    ],
)
def test_load_unscrews_the_wrong_hand_in_any_direction_the_tool_may_run(
    hand: str, runs: str, lock: str | None, verdict: str
) -> None:
    assert str(outer(hand, lock, runs=runs).verdict) == verdict


@pytest.mark.parametrize(
    ("lock", "weight", "ramp", "verdict"),
    [
        ("none", "2", "8", "clear"),
        ("none", "5", "8", "tight"),
        ("none", "4.9", "8", "clear"),
        ("none", "2", "2.9", "tight"),
        ("none", "2", "3", "clear"),
        ("none", "", "8", "unknown"),
        (None, "9", "8", "tight"),
        ("grub screw", "9", "2", "clear"),
        ("key", "", "2", "clear"),
    ],
)
def test_braking_eases_what_the_load_tightens(lock: str | None, weight: str, ramp: str, verdict: str) -> None:
    found = outer("right", lock, runs="clockwise", weight=weight, ramp=ramp)

    assert str(found.verdict) == verdict
    assert found.missing == (("/tools/5/weight",) if verdict == "unknown" else ())


def test_an_outer_right_hand_joint_on_a_left_hand_chain_is_named_with_what_mends_it() -> None:
    found = outer("right", "none", runs="counter-clockwise")

    assert "unscrews its right-hand thread under load, and nothing locks it" in found.sentence
    assert "left-hand joint" in found.mend


def test_a_hand_or_direction_that_is_not_recorded_is_unknown_and_named() -> None:
    found = findings(
        profile("spindles: {main: {nose: {kind: thread, thread: M30}}}\n"
                "tools: {'5': {kind: disc, marked_speed: 3000, speed: 1, joints: [{kind: thread, thread: M30}]}}\n"),
        "mount",
    )["/tools/5/joints/0"]  # fmt: skip

    assert (str(found.verdict), set(found.missing)) == ("unknown", {"/tools/5/joints/0/hand", "/tools/5/runs"})


@pytest.mark.parametrize(
    ("joint", "verdict"),
    [
        ("{kind: thread, thread: M30, hand: right, lock: key}", "clear"),
        ("{kind: thread, thread: M30x3.5, size: 30 mm, hand: right, lock: key}", "clear"),
        ("{kind: thread, thread: M30x2, hand: right, lock: key}", "fails"),
        ("{kind: thread, thread: M24, hand: right, lock: key}", "fails"),
        ("{kind: thread, thread: G 1, hand: right, lock: key}", "fails"),
        ("{kind: thread, size: 1.25 in, hand: right, lock: key}", "fails"),
        ("{kind: thread, thread: M30, hand: left, lock: key}", "fails"),
        ("{kind: taper, size: 30}", "fails"),
        ("{kind: thread, hand: right, lock: key}", "unknown"),
        ("{kind: thread, thread: M30, size: 24, hand: right, lock: key}", "fails"),
    ],
)
def test_the_first_joint_goes_onto_the_nose_or_does_not(joint: str, verdict: str) -> None:
    assert str(mounted(joint)["/tools/5/joints/0"].verdict) == verdict


def test_a_joint_that_contradicts_itself_is_unknown() -> None:
    chain = "{kind: thread, thread: M30, hand: right}, {kind: thread, thread: M16, size: 14, hand: right}"

    found = mounted(chain)["/tools/5/joints/1"]

    assert (str(found.verdict), "recorded as M16" in found.sentence) == ("unknown", True)


def test_a_tool_without_joints_or_a_nose_that_is_not_recorded_is_unknown() -> None:
    bare = findings(profile("tools: {'5': {kind: probe}}\n"), "mount")
    no_nose = findings(profile("tools: {'5': {kind: probe, joints: [{kind: taper, size: 40}]}}\n"), "mount")

    assert verdicts(bare) == {"/tools/5/joints": "unknown"}
    assert verdicts(no_nose) == {"/tools/5/joints/0": "unknown"}


def test_a_tool_that_must_run_the_other_way_than_its_spindle_fails() -> None:
    found = mounted("{kind: thread, thread: M30, hand: right}", rotation="counter-clockwise")

    assert str(found["/tools/5/runs"].verdict) == "fails"


@pytest.mark.parametrize(
    ("tool", "verdict", "turns"),
    [
        ("marked_speed: 2400, speed: 2400", "clear", "2400"),
        ("marked_speed: 2400, speed: 2401", "fails", "2401"),
        ("marked_speed: 2400, speed: 1300, gear_ratio: 2", "fails", "2600"),
        ("marked_speed: 2400, speed: 4000, gear_ratio: 0.5", "clear", "2000.0"),
        ("marked_speed: 4000", "clear", "4000"),
        ("marked_speed: 3999", "unknown", None),
        ("speed: 100", "unknown", None),
    ],
)
def test_the_tool_turns_no_faster_than_it_is_marked_for(tool: str, verdict: str, turns: str | None) -> None:
    found = mounted("{kind: thread, thread: M30, hand: right}", tool=f"runs: clockwise, weight: 1, {tool}")

    speed = found["/tools/5/speed"]
    assert str(speed.verdict) == verdict
    assert speed.value == (None if turns is None else Quantity(Decimal(turns), "1/min"))


def test_the_rim_speed_is_told_from_the_diameter_as_new() -> None:
    """Pi * 0.5 m * 2900 / 60 = 75.92 m/s, worked out by hand."""
    speed = "runs: clockwise, weight: 6, marked_speed: 2400, speed: 2900, diameter: {new: 500, now: 400}"

    found = mounted("{kind: thread, thread: M30, hand: right}", tool=speed)["/tools/5/speed"]

    assert "75.9 m/s" in found.sentence
    assert "62.8 m/s" in found.sentence
    assert found.mend == "set it to 2400 1/min or less"
    assert found.margin == Quantity(Decimal(-500), "1/min")
