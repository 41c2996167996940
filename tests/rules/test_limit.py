"""A setting between bounds, in whatever unit either is written."""

from __future__ import annotations

import pytest

from profilekeeper.model import combined, read_rules
from profilekeeper.quantities import parse_length
from profilekeeper.rules import Finding, Verdict, judge
from tests.rules.conftest import HEAD, findings, own_rules, profile, verdicts

INCH = HEAD.replace("length: mm", "length: in").replace("0.001", "0.0001")


def judged(body: str, *, head: str = HEAD) -> list[Finding]:
    machine = profile(body, head=head)
    return list(judge(machine, own_rules(machine)))


@pytest.mark.parametrize(
    ("surface", "verdict", "margin"),
    [
        ("-455.2", "clear", "14.8 mm"),
        ("-468.5", "tight", "1.5 mm"),
        ("-470", "tight", "0 mm"),
        ("-470.1", "fails", "-0.1 mm"),
    ],
)
def test_a_lower_bound_is_clear_then_tight_then_not_met(surface: str, verdict: str, margin: str) -> None:
    (finding,) = judged(
        f"tables: {{main: {{surface: {surface}}}}}\n"
        "rules: {life: {kind: limit, setting: /tables/main/surface, at_least: -470, warn_within: 2}}"
    )

    assert finding.verdict == verdict
    assert finding.margin == parse_length(margin)


def test_a_bound_in_inches_judges_a_machine_in_millimetres() -> None:
    (finding,) = judged(
        "tables: {main: {surface: -470.0}}\n"
        'rules: {life: {kind: limit, setting: /tables/main/surface, at_least: "-18.5 in"}}'
    )

    assert finding.verdict is Verdict.FAILS
    assert finding.margin == parse_length("-0.1 mm")
    assert "-469.90 mm is wanted" in finding.sentence


def test_a_bare_bound_of_a_machine_is_in_its_own_unit() -> None:
    (finding,) = judged(
        'tables: {main: {surface: "-455.2 mm"}}\n'
        "rules: {life: {kind: limit, setting: /tables/main/surface, at_least: -18}}",
        head=INCH,
    )

    assert finding.margin == parse_length("2 mm")


def test_a_bare_bound_of_a_shared_file_without_a_unit_is_unknown_never_guessed() -> None:
    machine = profile("tables: {main: {surface: -455.2}}")
    rule = {"kind": "limit", "setting": "/tables/main/surface", "at_least": -470}
    shared = read_rules({"rules_version": 1, "rules": {"life": rule}}, source="rules/saws.yaml")

    (finding,) = judge(machine, shared)

    assert finding.verdict is Verdict.UNKNOWN
    assert "no unit" in finding.sentence
    assert "rules/saws.yaml" in finding.mend


def test_a_pattern_wants_the_value_of_every_tool_and_names_the_one_without() -> None:
    found = judged(
        'tools: {"4": {length: 120}, "7": {name: b}}\n'
        "rules: {short: {kind: limit, setting: /tools/*/length, at_least: 100}}"
    )

    assert {f.subject: str(f.verdict) for f in found} == {"/tools/4/length": "clear", "/tools/7/length": "unknown"}
    assert found[1].missing == ("/tools/7/length",)


@pytest.mark.parametrize("setting", ["/tools/*/length", "/tables/main/surface", "/axes/C/travel/1"])
def test_a_pattern_that_matches_nothing_is_unknown(setting: str) -> None:
    (finding,) = judged(f"rules: {{r: {{kind: limit, setting: {setting}, at_least: 1}}}}")

    assert finding.verdict is Verdict.UNKNOWN
    assert finding.missing


def test_both_ends_of_a_pair_are_judged() -> None:
    found = judged(
        "axes: {X: {kind: linear, travel: [0, 3600]}}\n"
        "rules: {bench: {kind: limit, setting: /axes/X/travel, at_least: 0, at_most: 3500}}"
    )

    assert [str(f.verdict) for f in found] == ["clear", "fails"]


def test_a_length_is_not_compared_with_an_angle() -> None:
    (finding,) = judged(
        'tables: {main: {surface: -455.2}}\nrules: {r: {kind: limit, setting: /tables/main/surface, at_least: "3 deg"}}'
    )

    assert finding.verdict is Verdict.UNKNOWN


def test_a_bound_nearer_than_the_uncertainty_cannot_be_told() -> None:
    (finding,) = judged(
        "tables: {main: {surface: -469.8}}\n"
        "sources: {/tables/main/surface: {how: measured, plus_minus: 0.5}}\n"
        "rules: {life: {kind: limit, setting: /tables/main/surface, at_least: -470}}"
    )

    assert finding.verdict is Verdict.UNKNOWN
    assert "± 0.5 mm" in finding.notes[0]


PAGE = "control_pages: {air: {path: [Service], settings: {Air: {%s}}}}"


@pytest.mark.parametrize(
    ("entry", "verdict"),
    [
        ("value: 6.2, unit: bar, at_least: 6, at_most: 8", "clear"),
        ("value: 5.5, unit: bar, at_least: 6", "fails"),
        ("value: 8.5, unit: bar, at_least: 6, at_most: 8", "fails"),
        ("value: 6200, multiplier: 0.001, unit: bar, at_least: 6", "clear"),
        ("value: 7, at_most: 6", "fails"),
        ("state: blank, unit: bar, at_least: 6", "unknown"),
        ("state: could not read, unit: bar, at_least: 6", "unknown"),
        ("value: six, unit: bar, at_least: 6", "unknown"),
    ],
)
def test_a_page_value_is_judged_by_its_own_bounds(entry: str, verdict: str) -> None:
    found = findings(profile(PAGE % entry), "limit")

    assert [str(f.verdict) for f in found.values()] == [verdict]


def test_a_page_of_grids_alone_is_not_judged() -> None:
    page = "control_pages: {drives: {path: [S], grids: {t: {columns: {N: {}}, rows: {a: [1]}}}}}"

    assert not findings(profile(page), "limit")


def test_a_page_value_without_bounds_is_not_judged() -> None:
    assert not findings(profile(PAGE % "value: 6.2, unit: bar"), "limit")


@pytest.mark.parametrize(
    ("bound", "verdict"), [('"6 bar"', "clear"), ("6", "unknown"), ('"90 psi"', "unknown"), ('"700 kPa"', "fails")]
)
def test_a_rule_on_a_page_value_names_the_unit_or_is_unknown(bound: str, verdict: str) -> None:
    (finding,) = judged(
        PAGE % "value: 6.2, unit: bar"
        + f"\nrules: {{a: {{kind: limit, setting: /control_pages/air/settings/Air, at_least: {bound}}}}}"
    )

    assert finding.verdict == verdict


def test_a_speed_has_the_unit_of_the_schema() -> None:
    (finding,) = judged(
        'tools: {"4": {speed: 2900}}\nrules: {cap: {kind: limit, setting: /tools/*/speed, at_most: 2400}}'
    )

    assert finding.verdict is Verdict.FAILS
    assert str(finding.margin) == "-500 1/min"


@pytest.mark.parametrize(
    ("table", "verdict"),
    [
        ("surface: -349.2, surface_limit: -352.0", "clear"),
        ("surface: -352.1, surface_limit: -352.0", "fails"),
        ("surface: -349.2", "unknown"),
    ],
)
def test_a_table_is_held_against_its_stored_limit_as_a_hint(table: str, verdict: str) -> None:
    found = findings(profile(f"tables: {{main: {{{table}}}}}"), "limit")

    assert verdicts(found) == {"/tables/main/surface": verdict}
    if verdict != "unknown":
        assert "only a hint" in found["/tables/main/surface"].notes[-1]


def test_where_z_grows_downwards_the_stored_limit_is_an_upper_one() -> None:
    body = "conventions: {z_up: negative}\ntables: {main: {surface: 353, surface_limit: 352}}"

    assert verdicts(findings(profile(body), "limit")) == {"/tables/main/surface": "fails"}


def test_a_rule_of_the_machine_takes_the_place_of_the_built_in_one() -> None:
    body = (
        "tables: {main: {surface: -349.2}}\n"
        "rules: {table limit: {kind: limit, setting: /tables/main/surface, at_least: -348}}"
    )

    (finding,) = findings(profile(body), "limit").values()

    assert finding.verdict is Verdict.FAILS
    assert finding.source == "this machine"


def test_a_rule_switched_off_says_nothing() -> None:
    assert not findings(profile("tables: {main: {surface: -349.2}}\nrules: {table limit: null}"), "limit")


def test_a_kind_that_nothing_judges_is_unknown() -> None:
    from dataclasses import replace

    machine = profile("tables: {main: {surface: -1}}")
    rules = own_rules(profile("rules: {r: {kind: travel}}"))
    strange = replace(rules, rules=(replace(rules.rules[0], kind="tomorrow"),))

    (finding,) = judge(machine, combined(strange))

    assert finding.verdict is Verdict.UNKNOWN
