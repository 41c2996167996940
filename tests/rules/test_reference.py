"""Names that lead nowhere."""

from __future__ import annotations

import pytest

from profilekeeper.rules import Verdict
from tests.rules.conftest import AXES, findings, profile

NOSE = "frame: machine, tool_length_active: false"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (f'tool_changes: {{d: {{X: 1, {NOSE}, tools: ["21"]}}}}', "/tool_changes/d/tools/0"),
        (f"tool_changes: {{d: {{X: 1, {NOSE}, routine: change}}}}", "/tool_changes/d/routine"),
        (f"positions: {{p: {{X: 1, {NOSE}, table: left}}}}", "/positions/p/table"),
        ("positions: {p: {X: 1, frame: G55, tool_length_active: false}}", "/positions/p/frame"),
        ('spindles: {main: {mounted: "21"}}', "/spindles/main/mounted"),
        ('changer: {pockets: {"1": {tool: "21"}}}', "/changer/pockets/1/tool"),
        ('tools: {"4": {spindle: second}}', "/tools/4/spindle"),
        ('tools: {"4": {pocket: 9}}', "/tools/4/pocket"),
        ('tools: {"4": {touch_off: {table: left}}}', "/tools/4/touch_off/table"),
        ("slab: {largest: {support: pods}}", "/slab/largest/support"),
        ("supports: {pods: {kind: pods, table: left}}", "/supports/pods/table"),
        ("setup_in_control: big disc", "/setup_in_control"),
        ('conventions: {master_tool: "21"}', "/conventions/master_tool"),
        ("motion: {order: [[Z], [W]]}", "/motion/order/1/0"),
        ("routines: {homing: {what: homing, order: [[V]]}}", "/routines/homing/order/0/0"),
        ("routines: {homing: {what: homing, directions: {V: low}}}", "/routines/homing/directions/V"),
        ("events: [{kind: reference moved, axis: V, date: 2026-01-01}]", "/events/0/axis"),
        ("events: [{kind: table milled, table: left, date: 2026-01-01}]", "/events/0/table"),
        ("safe_z: {general: 1, frame: G54}", "/safe_z/frame"),
        ("instruments: {laser: {kind: laser, X: 1, frame: G54}}", "/instruments/laser/frame"),
        (
            "setups: {disc: {tool_change: {X: 1, frame: G54, tool_length_active: false}}}",
            "/setups/disc/tool_change/frame",
        ),
        ("sources: {/tools/99/length: {how: read}}", "/sources/~1tools~199~1length"),
        ("agreement: {/tools/*/speeed: own}", "/agreement/~1tools~1*~1speeed"),
    ],
)
def test_a_name_that_leads_nowhere_fails_where_it_stands(body: str, pointer: str) -> None:
    found = findings(profile(f"{AXES}\n{body}"), "reference")

    assert set(found) == {pointer}
    assert found[pointer].verdict is Verdict.FAILS
    assert found[pointer].mend


def test_names_that_lead_somewhere_are_clear_and_counted() -> None:
    body = (
        'tools: {"21": {name: disc, spindle: main}}\nspindles: {main: {mounted: "21", control_believes: "21"}}\n'
        f'tool_changes: {{d: {{X: 1, {NOSE}, tools: ["21"]}}}}'
    )

    (finding,) = findings(profile(body), "reference").values()

    assert finding.verdict is Verdict.CLEAR
    assert "All 4 names" in finding.sentence


def test_tools_of_past_events_may_be_gone() -> None:
    assert not findings(profile('events: [{kind: tool replaced, tool: "21", date: 2026-01-01}]'), "reference")


def test_the_tool_in_the_spindle_against_the_one_the_control_believes() -> None:
    body = 'tools: {"7": {name: a}, "21": {name: b}}\nspindles: {main: {mounted: "21", control_believes: "7"}}'

    finding = findings(profile(body), "reference")["/spindles/main/control_believes"]

    assert "carries tool 21; the control believes it is tool 7" in finding.sentence


def test_one_tool_in_two_pockets_fails() -> None:
    found = findings(
        profile('tools: {"7": {name: a}}\nchanger: {pockets: {"1": {tool: "7"}, "2": {tool: "7"}}}'), "reference"
    )

    assert set(found) == {"/changer/pockets/2/tool"}


def test_a_profile_without_names_says_nothing() -> None:
    assert not findings(profile(), "reference")
