"""Changes against the snapshot before: larger than usual, and by whole turns of a motor."""

from __future__ import annotations

import pytest

from profilekeeper.model import Profile
from profilekeeper.quantities import parse_length
from profilekeeper.rules import Finding, Verdict
from tests.rules.conftest import AXES, HEAD, findings, profile, verdicts

NOSE = "frame: machine, tool_length_active: false"
RULE = "rules: {r: {kind: step, setting: %s, largest: %s}}\n"


def step(before: str, now: str, *, setting: str = "/tools/*/length", largest: str = "10") -> dict[str, Finding]:
    rule = RULE % (setting, largest)
    return findings(profile(rule + now), "step", previous=profile(before))


@pytest.mark.parametrize(
    ("now", "verdict"), [("129.8", "clear"), ("130.8", "fails"), ("108", "fails"), ('"5.1 in"', "clear")]
)
def test_a_change_larger_than_usual_fails(now: str, verdict: str) -> None:
    found = step('tools: {"4": {length: 119.8}}', f'tools: {{"4": {{length: {now}}}}}')

    assert verdicts(found) == {"/tools/4/length": verdict}


def test_the_margin_is_what_is_left_of_the_usual_change() -> None:
    found = step('tools: {"4": {length: 119.8}}', 'tools: {"4": {length: 132.8}}')

    assert found["/tools/4/length"].margin == parse_length("-3 mm")
    assert "by +13.0 mm" in found["/tools/4/length"].sentence


def test_without_a_snapshot_before_there_is_nothing_to_say() -> None:
    assert not findings(profile(RULE % ("/tools/*/length", "10") + 'tools: {"4": {length: 1}}'), "step")


def test_what_did_not_change_and_what_is_new_say_nothing() -> None:
    assert not step('tools: {"4": {length: 119.8}}', 'tools: {"4": {length: 119.80}, "7": {length: 300}}')


def test_a_renumbered_tool_is_followed_by_its_id() -> None:
    found = step('tools: {"4": {id: k7mq2fzd, length: 119.8}}', 'tools: {"5": {id: k7mq2fzd, length: 219.8}}')

    assert verdicts(found) == {"/tools/5/length": "fails"}


def test_what_is_not_recorded_any_more_is_unknown() -> None:
    found = step('tools: {"4": {length: 119.8}}', 'tools: {"4": {name: a}}')

    assert verdicts(found) == {"/tools/4/length": "unknown"}
    assert found["/tools/4/length"].missing == ("/tools/4/length",)


def test_a_number_that_became_a_text_is_unknown() -> None:
    page = "control_pages: {air: {path: [S], settings: {Air: {value: %s, unit: bar}}}}"

    found = step(page % "6", page % "high", setting="/control_pages/*/settings/*", largest='"1 bar"')

    assert set(verdicts(found).values()) == {"unknown"}


def test_a_page_value_steps_in_the_unit_the_rule_names() -> None:
    page = "control_pages: {air: {path: [S], settings: {Air: {value: %s, unit: bar}}}}"
    change = (page % "6", page % "7.5")

    assert set(verdicts(step(*change, setting="/control_pages/*/settings/*", largest='"1 bar"')).values()) == {"fails"}
    assert set(verdicts(step(*change, setting="/control_pages/*/settings/*", largest="1")).values()) == {"unknown"}


SAW = """
work_offsets: {G54: {X: %s, NOSE}, G55: {X: %s, NOSE}}
instruments: {laser: {kind: laser, X: %s, Y: 18.5, NOSE}}
tool_changes: {default: {X: %s, Y: 60, NOSE}}
""".replace("NOSE", NOSE)


def saw(g54: str, g55: str, laser: str, change: str, *, axes: str = AXES, head: str = HEAD) -> Profile:
    return profile(axes + SAW % (g54, g55, laser, change), head=head)


BEFORE = saw("120.5", "1840", "412.0", "1800")


def shift(now: Profile, before: Profile = BEFORE) -> dict[str, Finding]:
    return findings(now, "shift", previous=before)


def test_zeros_and_laser_moved_by_one_motor_turn_point_to_the_wrong_marker() -> None:
    """Common practice, no source: G54, G55 and laser X re-taught +10.000, tool change and soft limits not."""
    found = shift(saw("130.500", "1850.000", "422.000", "1800"))

    finding = found["/axes/X"]
    assert finding.verdict is Verdict.FAILS
    assert "moved by +10.000 mm, which is one motor turn of X" in finding.sentence
    assert "key nothing" in finding.mend
    assert "/work_offsets/G54/X" in finding.settings


def test_two_turns_backwards_are_found_as_well() -> None:
    assert "2 motor turns" in shift(saw("100.5", "1820", "392", "1800"))["/axes/X"].sentence


def test_moves_of_other_amounts_are_clear() -> None:
    assert verdicts(shift(saw("130.7", "1850.2", "412", "1800"))) == {"/axes/X": "clear"}


def test_one_reading_alone_does_not_tell() -> None:
    finding = shift(saw("130.5", "1840", "412", "1800"))["/axes/X"]

    assert finding.verdict is Verdict.UNKNOWN
    assert "witness mark" in finding.mend


def test_a_spot_that_was_keyed_alone_says_nothing_of_the_reference() -> None:
    assert verdicts(shift(saw("120.5", "1840", "412", "1810"))) == {"/axes/X": "clear"}


def test_without_the_travel_of_a_turn_a_common_move_is_unknown() -> None:
    axes = AXES.replace(", reference: {per_motor_turn: 10.000}", "")
    now = saw("130.5", "1850", "422", "1800", axes=axes)

    finding = shift(now, saw("120.5", "1840", "412", "1800", axes=axes))["/axes/X"]

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == ("/axes/X/reference/per_motor_turn",)


def test_when_everything_moved_together_it_was_meant() -> None:
    axes = AXES.replace("soft_limits: [-1, 3601]", "soft_limits: [9, 3611]")

    assert not shift(saw("130.5", "1850", "422", "1810", axes=axes))


def test_positions_in_a_work_zero_do_not_count() -> None:
    in_zero = "frame: G54, tool_length_active: false"
    more = f"positions: {{p: {{X: %s, {in_zero}}}, q: {{X: %s, {in_zero}}}}}"

    assert not findings(profile(AXES + more % (15, 25)), "shift", previous=profile(AXES + more % (5, 15)))


def test_a_turn_within_the_resolution_counts_and_one_outside_does_not() -> None:
    assert shift(saw("130.501", "1850.001", "422", "1800"))["/axes/X"].verdict is Verdict.FAILS
    assert shift(saw("130.51", "1850.01", "412", "1800"))["/axes/X"].verdict is Verdict.CLEAR


def test_without_a_snapshot_before_nothing_is_said() -> None:
    assert not findings(BEFORE, "shift")
