"""Profiles for tests: a small saw of invented numbers, changed where a test needs it."""

from __future__ import annotations

from datetime import date

from profilekeeper.formats import loads
from profilekeeper.model import Profile, RuleSet, machine_rules, read_profile, rules_for
from profilekeeper.rules import Finding, judge

HEAD = """
profile: 2
machine: {name: saw-2, shop: quayside, class: tilting-head bridge saw}
units: {length: mm}
resolution: {length: 0.001, angle: 0.01}
"""

AXES = """
axes:
  X: {kind: linear, travel: [0, 3600], soft_limits: [-1, 3601], hard_switches: [-6, 3606],
      mechanical_stops: [-12, 3612], reference: {per_motor_turn: 10.000}}
  Y: {kind: linear, travel: [0, 2100], soft_limits: [-1, 2101], hard_switches: [-6, 2106],
      mechanical_stops: [-12, 2112]}
  Z: {kind: linear, travel: [-350, 0], soft_limits: [-352, 1], hard_switches: [-356, 4], mechanical_stops: [-360, 8]}
  A: {kind: tilt, travel: [0, 92], soft_limits: [-0.5, 92.5], hard_switches: [-1, 93], mechanical_stops: [-3, 95]}
head: {pivot_to_gauge_line: 185, spindle_level_at: 0, spindle_down_at: 90}
"""


def profile(body: str = "", *, head: str = HEAD) -> Profile:
    """A profile of a YAML body under the usual head."""
    return read_profile(loads(head + body))


def own_rules(machine: Profile) -> RuleSet:
    """Only the rules that the profile holds itself."""
    return machine_rules(machine)


def findings(
    machine: Profile, kind: str, *, previous: Profile | None = None, on: date | None = None
) -> dict[str, Finding]:
    """The findings of one kind by subject, by all rules that hold for the machine."""
    every = judge(machine, rules_for(machine), previous=previous, on=on)
    return {f.subject: f for f in every if f.kind == kind}


def verdicts(found: dict[str, Finding]) -> dict[str, str]:
    """Subject to verdict word."""
    return {subject: str(f.verdict) for subject, f in found.items()}
