"""What a finding says and how findings are weighed."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from profilekeeper.model import built_in_rules
from profilekeeper.model.schema import schema
from profilekeeper.quantities import parse_length
from profilekeeper.rules import KINDS, Finding, Verdict, is_met, judge, to_json, worst
from tests.rules.conftest import AXES, profile

DOCS = Path(__file__).parents[2] / "docs" / "reference" / "rules.md"


def finding(verdict: Verdict) -> Finding:
    return Finding(rule="r", kind="limit", verdict=verdict, subject="/a", sentence="A.", source="this machine")


def test_the_words_are_those_of_the_glossary() -> None:
    assert {str(v) for v in Verdict} == {"clear", "tight", "short", "hits", "fails", "unknown"}


@pytest.mark.parametrize("verdict", list(Verdict))
def test_only_clear_and_tight_are_met(verdict: Verdict) -> None:
    assert is_met(verdict) is (str(verdict) in ("clear", "tight"))


def test_unknown_outweighs_what_is_met_and_what_is_surely_bad_outweighs_unknown() -> None:
    def weighed(*verdicts: Verdict) -> Verdict:
        return worst(finding(v) for v in verdicts)

    assert weighed(Verdict.CLEAR, Verdict.UNKNOWN, Verdict.TIGHT) is Verdict.UNKNOWN
    assert weighed(Verdict.UNKNOWN, Verdict.SHORT) is Verdict.SHORT
    assert weighed(Verdict.HITS, Verdict.FAILS, Verdict.UNKNOWN) is Verdict.HITS
    assert weighed(Verdict.CLEAR, Verdict.TIGHT) is Verdict.TIGHT


def test_where_nothing_was_judged_nothing_is_clear() -> None:
    assert worst(()) is Verdict.UNKNOWN


def test_the_json_form_keeps_numbers_exact_and_with_their_unit() -> None:
    made = Finding(
        rule="r", kind="limit", verdict=Verdict.FAILS, subject="/a", sentence="A.", source="built in",
        settings=("/a", "/b"), value=parse_length("21.700 mm"), required=Decimal("1E+2"),
        margin=parse_length("-0.1 in"),
    )  # fmt: skip

    plain = json.loads(json.dumps(to_json(made)))

    assert (plain["value"], plain["required"], plain["margin"]) == ("21.700 mm", "100", "-0.1 in")
    assert plain["verdict"] == "fails"
    assert plain["settings"] == ["/a", "/b"]


def test_every_finding_of_a_whole_machine_can_be_written_as_json() -> None:
    machine = profile(
        AXES + "tables: {main: {surface: -330}}\npositions: {p: {X: 1, frame: machine, tool_length_active: false}}"
    )

    found = judge(machine, built_in_rules())

    assert found
    assert all(json.dumps(to_json(f)) for f in found)


def test_every_unknown_names_what_is_missing_and_every_failure_what_would_mend_it() -> None:
    body = (
        'tools: {"4": {length: 1}, "7": {length: 1, touch_off: {Z: 1}}}\ntables: {main: {surface: -1}}\n'
        "positions: {p: {X: 9999, frame: machine, tool_length_active: false}}"
    )

    found = judge(profile(AXES + body), built_in_rules())

    assert {f.verdict for f in found} >= {Verdict.UNKNOWN, Verdict.FAILS}
    assert all(f.missing and f.mend for f in found if f.verdict is Verdict.UNKNOWN)
    assert all(f.mend for f in found if f.verdict is Verdict.FAILS)
    assert all(f.sentence.endswith(".") for f in found)


def test_every_kind_of_the_schema_is_judged_and_no_other() -> None:
    kinds = schema("rules")["$defs"]["rule"]["properties"]["kind"]["enum"]

    assert set(KINDS) == set(kinds)


def test_every_kind_has_its_paragraph_in_the_reference() -> None:
    headings = [
        line.removeprefix("## ") for line in DOCS.read_text(encoding="utf-8").splitlines() if line.startswith("## ")
    ]

    assert set(KINDS) <= {heading.split(":")[0].strip("` ") for heading in headings}


def test_every_built_in_rule_stands_in_the_reference() -> None:
    text = DOCS.read_text(encoding="utf-8")

    assert all(f"| {rule.name} |" in text for rule in built_in_rules().rules)


def test_every_hardware_event_of_the_schema_stands_in_the_reference() -> None:
    text = DOCS.read_text(encoding="utf-8")
    kinds = schema("profile")["$defs"]["event"]["properties"]["kind"]["enum"]

    assert all(f"| {kind} |" in text for kind in kinds)
