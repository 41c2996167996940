"""Machines of the demo fleet, changed where a test needs it, and the findings of one geometric rule."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from decimal import Decimal
from functools import cache
from typing import Any

from profilekeeper.actions.demo_history import shipped_files
from profilekeeper.formats import loads
from profilekeeper.model import Profile, read_profile
from profilekeeper.model.ruleset import RuleSet, read_rules
from profilekeeper.rules import Finding, judge

Change = Callable[[Any], object]


@cache
def _plain(name: str) -> Any:
    return loads(shipped_files()[f"{name}/profile.yaml"], source=name)


def plain(name: str) -> Any:
    """The plain data of a machine of the demo fleet, to be changed at will."""
    return deepcopy(_plain(name))


def machine(name: str, *changes: Change) -> Profile:
    """A machine of the demo fleet after some changes of its plain data."""
    data = plain(name)
    for change in changes:
        change(data)
    return read_profile(data)


def put(path: str, value: Any) -> Change:
    """A change that sets the value at a path of keys: `head/pivot_to_gauge_line`."""

    def change(data: Any) -> None:
        *steps, last = path.split("/")
        for step in steps:
            data = data[int(step)] if isinstance(data, list) else data[step]
        data[int(last) if isinstance(data, list) else last] = value

    return change


def take(path: str) -> Change:
    """A change that takes out what stands at a path of keys."""

    def change(data: Any) -> None:
        *steps, last = path.split("/")
        for step in steps:
            data = data[int(step)] if isinstance(data, list) else data[step]
        del data[int(last) if isinstance(data, list) else last]

    return change


def one_rule(kind: str, **amounts: object) -> RuleSet:
    """A set of one rule of a kind, lengths in mm."""
    rule = {"kind": kind, **amounts}
    return read_rules({"rules_version": 1, "units": {"length": "mm"}, "rules": {kind: rule}}, source="test")


def judged(profile: Profile, kind: str, **amounts: object) -> dict[str, Finding]:
    """The findings of one rule by subject."""
    return {f.subject: f for f in judge(profile, one_rule(kind, **amounts))}


def mm(finding: Finding) -> Decimal:
    """The value of a finding in millimetres."""
    value = finding.value
    assert value is not None
    assert not isinstance(value, (str, bool, Decimal))
    return value.base


def sure(finding: Finding) -> Decimal:
    """What is left for sure beyond what is wanted, in mm."""
    margin = finding.margin
    assert margin is not None
    assert not isinstance(margin, Decimal)
    return margin.base
