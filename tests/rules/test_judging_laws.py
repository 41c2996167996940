"""What holds of every record: exact closings, unit-free verdicts, no way to pass by leaving something out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.formats import loads
from profilekeeper.model import Profile, profile_problems, read_profile, rules_for
from profilekeeper.quantities import Length, LengthUnit, parse_length
from profilekeeper.rules import Verdict, is_met, judge, level, to_json
from profilekeeper.rules.small_angle import cos_deg, sin_deg
from tests.rules.conftest import AXES, HEAD, findings, profile

mm = st.decimals(min_value=-600, max_value=600, places=3)
height = st.decimals(min_value=0, max_value=90, places=3)

NOSE = "frame: machine, tool_length_active: false"
WHOLE: Any = loads(
    HEAD
    + AXES
    + f"""
conventions: {{z_up: positive, length_sign: positive, length_kind: nose to tip, offset_sign: added}}
tables: {{main: {{surface: -331.5, surface_limit: -345, outline: [[100, 80], [3500, 80], [3500, 2080]]}}}}
work_offsets: {{G54: {{X: 120.5, Y: 88, Z: -331.5, {NOSE}}}}}
positions: {{park: {{X: 10, Y: 10, Z: 300, frame: G54, tool_length_active: false}}}}
tool_changes:
  default: {{X: 1800, Y: 60, Z: 0, A: 0, {NOSE}}}
  disc: {{X: 1800, Y: 60, Z: -200, frame: machine, tool_length_active: true, tools: ["4"], routine: change}}
routines: {{change: {{what: tool change, order: [[Z], [X, Y]], ends: {{Z: 0, {NOSE}}}}}}}
spindles: {{main: {{mounted: "4", control_believes: "4"}}}}
changer: {{pockets: {{"1": {{tool: "9", X: 3400, Y: 50, Z: -20, {NOSE}}}}}}}
instruments: {{laser: {{kind: laser, X: 412, Y: 18.5, {NOSE}}}}}
safe_z: {{general: -60, {NOSE}}}
tools:
  "4": {{name: wheel, length: 119.8, safe_z: -100, sections: [{{from: 0, to: 119.8, radius: 60}}],
        touch_off: {{Z: -180.0, surface: -330.0, support: 0, thickness: 30.2, tilt: 90, date: 2026-01-20}}}}
  "9": {{name: core drill, length: 210.5,
        touch_off: {{Z: -90.8, surface: -331.5, support: 0, thickness: 30.2, tilt: 90, date: 2026-02-20}}}}
  "11": {{name: blade, kind: blade, seat: 34, diameter_in_control: 390,
         touch_off: {{Z: -289.8, surface: -330, support: 0, thickness: 30.2, tilt: 0, date: 2026-01-05}}}}
events:
  - {{kind: table milled, table: main, by_how_much: 1.5, date: 2026-01-12}}
  - {{kind: table re-measured, table: main, date: 2026-02-03}}
  - {{kind: reference moved, axis: X, date: 2026-02-10}}
no_go_zones: {{bin: {{frame: floor, outline: [[0, 0], [1, 0], [1, 1]], from: -600, to: -190}}}}
control_pages: {{air: {{path: [S], settings: {{Air: {{value: 6.2, unit: bar, at_least: 6}}}}}}}}
rules: {{life: {{kind: limit, setting: /tables/*/surface, at_least: -340, warn_within: 2}}}}
sources: {{"": {{how: read, date: 2026-01-01}}, /work_offsets/G54: {{how: read, date: 2026-02-11}}}}
"""
)


def touched(
    z: Decimal, surface: Decimal, support: Decimal, thickness: Decimal, shim: Decimal, length: Decimal
) -> Profile:
    circumstances = f"Z: {z}, surface: {surface}, support: {support}, thickness: {thickness}, shim: {shim}, tilt: 90"
    return profile(f'{AXES}\ntools: {{"4": {{length: {length}, touch_off: {{{circumstances}}}}}}}')


@given(z=mm, surface=mm, support=height, thickness=height, shim=height, error=st.decimals(-3, 3, places=3))
@settings(max_examples=60)
def test_a_touch_off_closes_exactly_and_is_off_by_exactly_the_error(
    z: Decimal, surface: Decimal, support: Decimal, thickness: Decimal, shim: Decimal, error: Decimal
) -> None:
    length = z - surface - support - thickness - shim + error

    (finding,) = findings(touched(z, surface, support, thickness, shim, length), "adds-up").values()

    assert finding.margin == Length(Decimal("0.5") - abs(error), LengthUnit.MM)
    assert finding.verdict is (Verdict.CLEAR if abs(error) <= Decimal("0.5") else Verdict.FAILS)


@given(x=st.decimals(-5, 150, places=4), low=st.decimals(0, 5, places=4), high=st.decimals(140, 145, places=4))
@settings(max_examples=60)
def test_inches_and_millimetres_of_one_place_are_judged_alike(x: Decimal, low: Decimal, high: Decimal) -> None:
    factor = Decimal("25.4")
    inches = f'axes: {{X: {{travel: ["{low} in", "{high} in"]}}}}\npositions: {{p: {{X: "{x} in", {NOSE}}}}}'
    metric = (
        f"axes: {{X: {{travel: [{low * factor}, {high * factor}]}}}}\npositions: {{p: {{X: {x * factor}, {NOSE}}}}}"
    )

    one, other = (findings(profile(body), "travel")["/positions/p/X"] for body in (inches, metric))

    assert (one.verdict, one.margin) == (other.verdict, other.margin)


@given(x=st.decimals(-1, 11, places=2), margin=st.decimals(0, 3, places=2), more=st.decimals(0, 3, places=2))
@settings(max_examples=60)
def test_more_room_to_keep_never_makes_a_verdict_better(x: Decimal, margin: Decimal, more: Decimal) -> None:
    def verdict(keep: Decimal) -> Verdict:
        body = f"axes: {{X: {{travel: [0, 10]}}}}\npositions: {{p: {{X: {x}, {NOSE}}}}}\n"
        rule = f"rules: {{travel: {{kind: travel, margin: {keep}, warn_within: 1}}}}"
        return findings(profile(body + rule), "travel")["/positions/p/X"].verdict

    assert verdict(margin + more).rank >= verdict(margin).rank


@given(milled=st.decimals("0.6", 5, places=1), z=st.decimals(-250, -100, places=1))
@settings(max_examples=40)
def test_a_stale_length_is_too_short_by_what_was_milled(milled: Decimal, z: Decimal) -> None:
    surface, thickness = Decimal("-330.0"), Decimal("30.2")
    stored = z - surface - thickness
    body = (
        f"{AXES}\ntables: {{main: {{surface: {surface - milled}}}}}\n"
        f'tools: {{"4": {{length: {stored}, touch_off: {{Z: {z}, surface: {surface}, support: 0, '
        f"thickness: {thickness}, tilt: 90, date: 2026-01-20}}}}}}\n"
        f"events: [{{kind: table milled, table: main, by_how_much: {milled}, date: 2026-01-12}},"
        " {kind: table re-measured, table: main, date: 2026-02-03}]"
    )

    (finding,) = findings(profile(body), "stale").values()

    assert finding.verdict is Verdict.FAILS
    assert finding.required == Length(stored + milled, LengthUnit.MM)


def branches(data: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The way to everything below the top."""
    inner = data.items() if isinstance(data, dict) else ()
    for key, value in inner:
        yield (*at, key)
        yield from branches(value, (*at, key))


def without(path: tuple[str, ...]) -> Any:
    data = deepcopy(WHOLE)
    here = data
    for step in path[:-1]:
        here = here[step]
    del here[path[-1]]
    return data


PATHS = list(branches(WHOLE))


def test_a_whole_machine_is_judged_as_it_should_be() -> None:
    machine = read_profile(WHOLE)
    met = {(f.kind, f.subject) for f in judge(machine, rules_for(machine)) if is_met(f.verdict)}

    assert ("adds-up", "/tools/4/length") in met
    assert ("adds-up", "/tools/9/length") in met
    assert ("adds-up", "/tools/11/diameter_in_control") in met
    assert ("stale", "/tools/4/length") not in met
    assert ("invalid", "/work_offsets/G54/X") in met
    assert ("invalid", "/tool_changes/default/X") not in met


@pytest.mark.parametrize("path", PATHS, ids="/".join)
def test_leaving_anything_out_breaks_nothing(path: tuple[str, ...]) -> None:
    data = without(path)
    if path[0] == "profile" or profile_problems(data):
        return  # not a record any more

    machine = read_profile(data)

    assert all(json.dumps(to_json(f)) for f in judge(machine, rules_for(machine), previous=read_profile(WHOLE)))
    assert level(machine).level


@pytest.mark.parametrize("datum", ["Z", "surface", "support", "thickness"])
@pytest.mark.parametrize("tool", ["4", "9", "11"])
def test_no_touch_off_passes_by_leaving_a_datum_out(tool: str, datum: str) -> None:
    machine = read_profile(without(("tools", tool, "touch_off", datum)))

    verdicts = [
        f.verdict for f in judge(machine, rules_for(machine)) if f.kind == "adds-up" and f"/{tool}/" in f.subject
    ]

    assert verdicts == [Verdict.UNKNOWN]


@given(st.permutations(["4", "9", "11"]))
@settings(max_examples=6)
def test_the_order_of_the_tools_changes_nothing(order: list[str]) -> None:
    shuffled = {**WHOLE, "tools": {number: WHOLE["tools"][number] for number in order}}

    def told(data: Any) -> set[tuple[str, str, str]]:
        machine = read_profile(data)
        return {(f.rule, f.subject, str(f.verdict)) for f in judge(machine, rules_for(machine))}

    assert told(shuffled) == told(WHOLE)


@given(st.decimals(-90, 90, places=4))
def test_sine_and_cosine_are_those_of_the_library(degrees: Decimal) -> None:
    from math import cos, radians, sin

    assert abs(float(sin_deg(degrees)) - sin(radians(float(degrees)))) < 1e-14
    assert abs(float(cos_deg(degrees)) - cos(radians(float(degrees)))) < 1e-14


def test_a_length_of_the_sentence_reads_back() -> None:
    (finding,) = findings(touched(*map(Decimal, ("-180.0", "-330.0", "0", "30.2", "0", "119.8"))), "adds-up").values()

    assert finding.value == parse_length("119.8 mm")
