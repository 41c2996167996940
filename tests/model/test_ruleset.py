"""Which rules hold for a machine, and from where they came."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.formats import loads
from profilekeeper.model import (
    Profile,
    RuleSet,
    built_in_rules,
    combined,
    machine_rules,
    read_profile,
    read_rules,
    rules_for,
)
from profilekeeper.quantities import LengthUnit, parse_angle, parse_length, parse_quantity


def profile(body: str = "", unit: str = "mm") -> Profile:
    head = "profile: 2\nmachine: {name: s, shop: q, class: tilting-head bridge saw}\n"
    return read_profile(loads(f"{head}units: {{length: {unit}}}\n{body}"))


def shared(rules: dict[str, Any], source: str = "rules/saws.yaml", **more: Any) -> RuleSet:
    return read_rules({"rules_version": 1, "rules": rules, **more}, source=source)


LIFE = {"kind": "limit", "setting": "/tables/main/surface", "at_least": -470}


def sources(rules: RuleSet) -> dict[str, str]:
    return {rule.name: rule.source for rule in rules.rules}


def test_the_machine_wins_over_its_class_and_that_over_all_and_that_over_the_built_in() -> None:
    machine = profile("rules: {a: {kind: travel}}")
    everyone = shared({"a": LIFE, "b": LIFE, "travel": {"kind": "travel", "margin": "1 mm"}}, "rules/all.yaml")
    saws = shared({"a": LIFE, "b": LIFE}, **{"class": "tilting-head bridge saw"})

    found = sources(rules_for(machine, [saws, everyone]))

    assert (found["a"], found["b"], found["travel"]) == ("this machine", "rules/saws.yaml", "rules/all.yaml")
    assert found["names"] == "built in"


def test_a_rule_says_what_it_takes_the_place_of() -> None:
    both = combined(shared({"a": LIFE}, "one"), shared({"a": LIFE}, "two"), shared({"a": LIFE}, "three"))

    assert both.rules[0].replaces == ("one", "two")


def test_rules_of_another_class_do_not_hold() -> None:
    polishers = shared({"a": LIFE}, **{"class": "polisher"})

    assert "a" not in sources(rules_for(profile(), [polishers]))


def test_null_switches_a_rule_off_and_keeps_who_did() -> None:
    rules = rules_for(profile("rules: {travel: null}"))

    assert "travel" not in sources(rules)
    assert rules.off == {"travel": "this machine"}


def test_a_rule_switched_off_far_away_and_given_again_nearer_holds() -> None:
    again = combined(machine_rules(profile("rules: {a: null}")), shared({"a": LIFE}))

    assert sources(again) == {"a": "rules/saws.yaml"}
    assert again.off == {}


@pytest.mark.parametrize(
    ("raw", "amount"),
    [
        (-470, Decimal(-470)),
        ("-18.5 in", parse_length("-18.5 in")),
        ("7 5/8 in", parse_length("7.625 in")),
        ("45.5 deg", parse_angle("45.5 deg")),
        ("6 bar", parse_quantity("6 bar")),
        ("2400 1/min", parse_quantity("2400 1/min")),
    ],
)
def test_an_amount_carries_its_unit_or_is_bare(raw: object, amount: object) -> None:
    assert shared({"a": {**LIFE, "at_least": raw}}).rules[0].at_least == amount


def test_a_bare_length_has_the_unit_of_its_file_and_none_where_that_says_none() -> None:
    silent, inches = shared({"a": LIFE}).rules[0], shared({"a": LIFE}, units={"length": "in"}).rules[0]
    (own,) = machine_rules(profile("rules: {a: {kind: travel, margin: 2}}", "in")).rules

    assert silent.length(silent.at_least) is None
    assert inches.length(inches.at_least) == parse_length("-470 in")
    assert own.length(own.margin) == parse_length("2 in")
    assert own.unit is LengthUnit.IN
    assert own.angle(own.margin) == parse_angle("2 deg")


def test_a_rule_file_that_is_none_is_refused_with_its_name() -> None:
    with pytest.raises(InvalidProfile, match=r"^rules/saws\.yaml: /rules/a: kind is missing"):
        shared({"a": {}})


@pytest.mark.parametrize("raw", ["470", "six", "6 furlongs of"])
def test_an_amount_that_cannot_be_read_is_refused_where_it_stands(raw: str) -> None:
    with pytest.raises(InvalidProfile, match=r"^rules/saws\.yaml: /rules/a~1b/at_least: "):
        shared({"a/b": {**LIFE, "at_least": raw}})


@pytest.mark.parametrize("kind", ["travel", "adds-up", "stale", "shift", "reach", "safe-z"])
def test_a_bare_room_or_tolerance_in_a_file_without_units_is_refused_not_ignored(kind: str) -> None:
    rule = {"kind": kind, "tolerance": 1}

    with pytest.raises(InvalidProfile, match="/rules/a/tolerance: 1 has no unit"):
        shared({"a": rule})
    assert shared({"a": rule}, units={"length": "mm"}).rules[0].tolerance == Decimal(1)


def test_the_built_in_rules_are_rules_like_any_other() -> None:
    names = [rule.name for rule in built_in_rules().rules]

    assert len(names) == len(set(names)) > 5
    assert all(rule.source == "built in" for rule in built_in_rules().rules)
