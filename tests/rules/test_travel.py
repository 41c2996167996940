"""Positions, zeros and safe Z inside the travel, whatever they are counted from."""

from __future__ import annotations

import pytest

from profilekeeper.quantities import parse_length
from profilekeeper.rules import Finding, Verdict
from tests.rules.conftest import AXES, HEAD, findings, profile, verdicts

NOSE = "frame: machine, tool_length_active: false"


def travel(body: str, *, axes: str = AXES, head: str = HEAD) -> dict[str, Finding]:
    return findings(profile(axes + body, head=head), "travel")


def at(body: str, pointer: str, *, axes: str = AXES) -> Finding:
    return travel(body, axes=axes)[pointer]


@pytest.mark.parametrize(
    ("x", "verdict", "margin"),
    [
        ("1800", "clear", "1800 mm"),
        ("0", "clear", "0 mm"),
        ("3600", "clear", "0 mm"),
        ("3600.001", "fails", "-0.001 mm"),
        ("-0.5", "fails", "-0.5 mm"),
    ],
)
def test_a_position_lies_in_the_travel_or_fails_by_how_much(x: str, verdict: str, margin: str) -> None:
    finding = at(f"positions: {{park: {{X: {x}, {NOSE}}}}}", "/positions/park/X")

    assert (str(finding.verdict), finding.margin) == (verdict, parse_length(margin))


def test_an_angle_is_judged_on_a_tilting_axis() -> None:
    finding = at(f"positions: {{park: {{A: 92.3, {NOSE}}}}}", "/positions/park/A")

    assert finding.verdict is Verdict.FAILS
    assert str(finding.margin) == "-0.3°"


def test_soft_limits_narrower_than_the_travel_govern() -> None:
    axes = "axes: {X: {kind: linear, travel: [0, 3600], soft_limits: [100, 3500]}}\n"

    assert at(f"positions: {{park: {{X: 50, {NOSE}}}}}", "/positions/park/X", axes=axes).verdict is Verdict.FAILS


def test_room_to_keep_and_the_warning_distance_come_from_the_rule() -> None:
    rule = "rules: {travel: {kind: travel, margin: 0.5, warn_within: 1}}\n"
    places = ", ".join(f"p{i}: {{X: {x}, {NOSE}}}" for i, x in enumerate(("0.4", "0.6", "2")))

    found = travel(f"{rule}positions: {{{places}}}")

    assert [str(found[f"/positions/p{i}/X"].verdict) for i in range(3)] == ["fails", "tight", "clear"]
    assert found["/positions/p0/X"].margin == parse_length("-0.1 mm")


@pytest.mark.parametrize(
    ("offset_sign", "x", "verdict"),
    [
        ("added", "3500", "fails"),
        ("added", "3479.5", "clear"),
        ("subtracted", "3500", "clear"),
        ("subtracted", "100", "fails"),
    ],
)
def test_a_position_in_a_work_zero_is_judged_where_the_machine_goes(offset_sign: str, x: str, verdict: str) -> None:
    body = (
        f"conventions: {{offset_sign: {offset_sign}}}\nwork_offsets: {{G54: {{X: 120.5, {NOSE}}}}}\n"
        f"positions: {{park: {{X: {x}, frame: G54, tool_length_active: false}}}}"
    )

    assert at(body, "/positions/park/X").verdict == verdict


def test_zeros_counted_from_zeros_add_up() -> None:
    body = (
        f"work_offsets: {{G54: {{X: 1000, {NOSE}}}, G55: {{X: 2000, frame: G54, tool_length_active: false}}}}\n"
        "positions: {p: {X: 700, frame: G55, tool_length_active: false}}"
    )

    finding = at(body, "/positions/p/X")

    assert finding.value == parse_length("3700 mm")
    assert finding.settings[:3] == ("/positions/p/X", "/work_offsets/G55/X", "/work_offsets/G54/X")


@pytest.mark.parametrize(
    ("zeros", "missing"),
    [
        ("{}", "/work_offsets/G54"),
        (f"{{G54: {{Y: 5, {NOSE}}}}}", "/work_offsets/G54/X"),
        (
            "{G54: {X: 1, frame: G55, tool_length_active: false}, G55: {X: 1, frame: G54, tool_length_active: false}}",
            "/work_offsets/G55/frame",
        ),
    ],
    ids=["no such zero", "no X in it", "in a ring"],
)
def test_a_frame_that_cannot_be_followed_is_unknown(zeros: str, missing: str) -> None:
    body = f"work_offsets: {zeros}\npositions: {{p: {{X: 5, frame: G54, tool_length_active: false}}}}"

    finding = at(body, "/positions/p/X")

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == (missing,)


def test_with_a_tool_length_active_the_nose_stands_higher_by_the_length() -> None:
    body = (
        'tools: {"4": {length: 119.8}, "7": {length: 212.0}, "9": {length: 300}}\n'
        'tool_changes: {disc: {Z: -150, frame: machine, tool_length_active: true, tools: ["4", "7"]}}'
    )

    finding = at(body, "/tool_changes/disc/Z")

    assert finding.verdict is Verdict.FAILS
    assert finding.value == parse_length("62 mm")
    assert "with tool 7" in finding.sentence


def test_a_tool_change_without_tools_named_is_for_all_that_no_other_names() -> None:
    body = (
        'tools: {"4": {length: 119.8}, "7": {length: 212.0}}\n'
        'tool_changes: {disc: {Z: -250, frame: machine, tool_length_active: true, tools: ["7"]},'
        " rest: {Z: -150, frame: machine, tool_length_active: true}}"
    )

    assert at(body, "/tool_changes/rest/Z").value == parse_length("-30.2 mm")


@pytest.mark.parametrize(
    ("tools", "missing"),
    [("", "/tools"), ('tools: {"4": {name: a}}', "/tools/4/length")],
    ids=["no tools", "no length"],
)
def test_a_tool_length_that_is_not_known_is_unknown(tools: str, missing: str) -> None:
    body = f"{tools}\npositions: {{p: {{Z: -150, frame: machine, tool_length_active: true}}}}"

    finding = at(body, "/positions/p/Z")

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == (missing,)


def test_a_pocket_that_does_not_say_its_frame_is_unknown() -> None:
    finding = at('changer: {pockets: {"4": {X: 3400, Z: -20, frame: machine}}}', "/changer/pockets/4/Z")

    assert finding.missing == ("/changer/pockets/4/tool_length_active",)
    assert at('changer: {pockets: {"4": {X: 3400}}}', "/changer/pockets/4/X").missing == ("/changer/pockets/4/frame",)


@pytest.mark.parametrize(
    ("axes", "missing"),
    [("axes: {Y: {kind: linear, travel: [0, 1]}}\n", "/axes/X"), ("axes: {X: {kind: linear}}\n", "/axes/X/travel")],
)
def test_a_travel_that_is_not_recorded_is_unknown(axes: str, missing: str) -> None:
    finding = at(f"positions: {{p: {{X: 5, {NOSE}}}}}", "/positions/p/X", axes=axes)

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing == (missing,)


def test_a_work_zero_below_the_bare_nose_is_tight_and_one_above_the_travel_fails() -> None:
    found = travel(f"work_offsets: {{G54: {{Z: -360, {NOSE}}}, G55: {{Z: 30, {NOSE}}}}}")

    assert found["/work_offsets/G54/Z"].verdict is Verdict.TIGHT
    assert "only a tool longer" in found["/work_offsets/G54/Z"].sentence
    assert found["/work_offsets/G55/Z"].verdict is Verdict.FAILS


def test_every_safe_z_is_judged_as_safe_z_is_counted() -> None:
    body = (
        "safe_z: {general: -60, frame: machine, tool_length_active: true}\n"
        'tools: {"4": {length: 119.8, safe_z: -150}, "7": {length: 50}}\nsetups: {disc: {safe_z: 20}}'
    )

    found = travel(body)

    assert found["/safe_z/general"].value == parse_length("-10 mm")
    assert found["/tools/4/safe_z"].value == parse_length("-30.2 mm")
    assert found["/setups/disc/safe_z"].verdict is Verdict.FAILS


def test_a_safe_z_without_a_frame_is_unknown() -> None:
    finding = at('tools: {"4": {length: 119.8, safe_z: -150}}', "/tools/4/safe_z")

    assert set(finding.missing) == {"/safe_z/frame", "/safe_z/tool_length_active"}


def test_a_z_that_grows_downwards_reaches_the_nose_the_other_way() -> None:
    axes = "conventions: {z_up: negative}\naxes: {Z: {kind: linear, travel: [0, 350]}}\n"
    body = 'tools: {"4": {length: 119.8}}\npositions: {p: {Z: 100, frame: machine, tool_length_active: true}}'

    assert at(body, "/positions/p/Z", axes=axes).value == parse_length("-19.8 mm")


def test_an_inch_machine_is_told_in_inches() -> None:
    head = HEAD.replace("length: mm", "length: in")
    found = travel(
        f"positions: {{p: {{X: 141.8, {NOSE}}}}}", axes='axes: {X: {kind: linear, travel: [0, "3600 mm"]}}\n', head=head
    )

    assert "141.8 in" in found["/positions/p/X"].sentence
    assert found["/positions/p/X"].margin == parse_length("-1.72 mm")


def limits(**ends: str) -> dict[str, str]:
    inside = ", ".join(f"{name}: {value}" for name, value in ends.items())
    return verdicts(travel("", axes=f"axes: {{X: {{kind: linear, {inside}}}}}\n"))


def test_limits_in_order_are_clear() -> None:
    assert limits(travel="[0, 10]", soft_limits="[-1, 11]", hard_switches="[-2, 12]", mechanical_stops="[-3, 13]") == {
        "/axes/X": "clear"
    }


def test_a_soft_limit_beyond_the_switch_fails_at_that_end() -> None:
    found = limits(travel="[0, 10]", soft_limits="[-1, 14]", hard_switches="[-2, 12]", mechanical_stops="[-3, 13]")

    assert found == {"/axes/X/soft_limits/1": "fails"}


def test_without_switches_soft_limits_are_held_against_the_stops_and_the_rest_is_unknown() -> None:
    found = limits(travel="[0, 10]", soft_limits="[-5, 11]", mechanical_stops="[-3, 13]")

    assert found == {"/axes/X/soft_limits/0": "fails", "/axes/X": "unknown"}


def test_a_range_upside_down_fails() -> None:
    assert limits(travel="[10, 0]")["/axes/X/travel"] == "fails"


def test_a_swivel_is_held_within_its_cables() -> None:
    axes = "axes: {C: {kind: swivel, travel: [-180, 180], soft_limits: [-200, 180], cable_limit: [-185, 185]}}\n"
    found = travel(f"positions: {{p: {{C: -186, {NOSE}}}}}", axes=axes)

    assert found["/axes/C/soft_limits/0"].verdict is Verdict.FAILS
    assert found["/positions/p/C"].verdict is Verdict.FAILS


def test_a_swivel_without_a_cable_limit_is_unknown_and_an_endless_one_is_not() -> None:
    known = "travel: [-180, 180], soft_limits: [-180, 180], hard_switches: [-181, 181], mechanical_stops: [-190, 190]"

    assert travel("", axes=f"axes: {{C: {{kind: swivel, {known}}}}}\n")["/axes/C"].missing == ("/axes/C/cable_limit",)
    endless = travel(f"positions: {{p: {{C: 720, {NOSE}}}}}", axes="axes: {C: {kind: swivel, unlimited: true}}\n")
    assert verdicts(endless) == {"/positions/p/C": "clear", "/axes/C": "clear"}
