"""Rules as data: built in, shared by a class of machines, or one machine's own, and which of them hold.

A rule is a kind and what it needs, never a formula. Where two sets hold a rule of one name the nearer one wins
(the machine's own over its class's over the built-in), and every rule keeps from where it came.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from profilekeeper.errors import InvalidProfile, InvalidQuantity
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile
from profilekeeper.model.schema import Problem, problems
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity, parse_angle, parse_length, parse_quantity

__all__ = [
    "BUILT_IN",
    "THIS_MACHINE",
    "Amount",
    "Rule",
    "RuleSet",
    "built_in_rules",
    "combined",
    "machine_rules",
    "read_rules",
    "rules_for",
]

Amount = Length | Angle | Quantity | Decimal
"""A bound or tolerance of a rule: with its unit, or a bare number that takes the unit of the rule's file."""

BUILT_IN = "built in"
THIS_MACHINE = "this machine"

_AMOUNTS = ("at_least", "at_most", "warn_within", "margin", "tolerance", "largest", "overcut")
# Kinds whose amounts are never plain numbers.
_IN_LENGTHS = ("travel", "adds-up", "stale", "shift", "reach", "safe-z", "swing", "headroom")
_SAY_UNIT = "write it with one, such as 0.5 mm, or say units in this file"
# Source: common practice, no source: half a millimetre is what a touch-off with paper on stone repeats to.
_BUILT_IN: Mapping[str, Any] = {
    "travel": {"kind": "travel"},
    "names": {"kind": "reference"},
    "lengths add up": {"kind": "adds-up", "tolerance": "0.5 mm"},
    "touched before the table was corrected": {"kind": "stale", "tolerance": "0.5 mm"},
    "hardware changed since": {"kind": "invalid"},
    "tools on their mounts": {"kind": "mount"},
    "reference on the wrong marker": {"kind": "shift"},
    "table limit": {"kind": "limit", "setting": "/tables/*/surface"},
    "bounds on the pages": {"kind": "limit", "setting": "/control_pages/*/settings/*"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: what it judges and by which amounts; None where it gives none.

    `source` says where it came from, `replaces` from where the rules of that name came that it takes the place
    of. `unit` is the unit of bare lengths in its file; None where the file says none: then they mean nothing.
    """

    name: str
    kind: str
    source: str
    unit: LengthUnit | None
    setting: str | None = None
    at_least: Amount | None = None
    at_most: Amount | None = None
    warn_within: Amount | None = None
    margin: Amount | None = None
    tolerance: Amount | None = None
    largest: Amount | None = None
    overcut: Amount | None = None
    part: str | None = None
    swivel: str | None = None
    why: str | None = None
    replaces: tuple[str, ...] = ()

    def length(self, amount: Amount | None) -> Length | None:
        """An amount as a length; None where it is none, or a bare number in a file that says no unit."""
        if isinstance(amount, Decimal):
            return Length(amount, self.unit) if self.unit else None
        return amount if isinstance(amount, Length) else None

    def angle(self, amount: Amount | None) -> Angle | None:
        """An amount as an angle: bare numbers are degrees, for there is no other unit of angle."""
        if isinstance(amount, Decimal):
            return Angle(amount)
        return amount if isinstance(amount, Angle) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSet:
    """Rules by name in order. `off` names the rules that the set switches off, each with who did."""

    rules: tuple[Rule, ...]
    off: Mapping[str, str]
    machine_class: str | None = None


def read_rules(data: object, *, source: str) -> RuleSet:
    """The rule set in the plain data of a rule file; `source` is the file's name, kept with every rule.

    Raises:  InvalidProfile, naming the first problem and holding all of them.
    """
    found = problems("rules", data)
    if found:
        raise _refusal(source, found)
    assert isinstance(data, Mapping)  # the schema has looked
    unit = data.get("units", {}).get("length")
    said = data.get("class")
    rules = _rules(data["rules"], source, LengthUnit(unit) if unit else None, "/rules")
    return replace(rules, machine_class=None if said is None else str(said))


def machine_rules(profile: Profile) -> RuleSet:
    """The rules that a profile holds itself; bare lengths are in the profile's unit.

    Raises:  InvalidProfile, for an amount that cannot be read.
    """
    own = profile.data.get("rules")
    return _rules(own if isinstance(own, Mapping) else {}, THIS_MACHINE, profile.unit, "/rules")


def built_in_rules() -> RuleSet:
    """The rules that hold for every machine unless switched off or replaced."""
    return _rules(_BUILT_IN, BUILT_IN, None, "")


def combined(*sets: RuleSet) -> RuleSet:
    """One set of all: a later set's rule takes the place of an earlier one of that name, or switches it off."""
    rules: dict[str, Rule] = {}
    off: dict[str, str] = {}
    for each in sets:
        for rule in each.rules:
            before = rules.get(rule.name)
            off.pop(rule.name, None)
            rules[rule.name] = rule if before is None else replace(rule, replaces=(*before.replaces, before.source))
        for name, source in each.off.items():
            rules.pop(name, None)
            off[name] = source
    return RuleSet(rules=tuple(rules.values()), off=off)


def rules_for(profile: Profile, shared: Iterable[RuleSet] = ()) -> RuleSet:
    """The rules that hold for a machine: built in, shared by all, by its class, and its own, in this order.

    Raises:  InvalidProfile, for a rule of the machine that cannot be read.
    """
    sets = tuple(shared)
    general = [s for s in sets if s.machine_class is None]
    ours = [s for s in sets if s.machine_class is not None and s.machine_class == profile.machine_class]
    return combined(built_in_rules(), *general, *ours, machine_rules(profile))


def _rules(data: Mapping[str, Any], source: str, unit: LengthUnit | None, at: str) -> RuleSet:
    bad: list[Problem] = []
    rules = [
        _rule(str(name), item, source, unit, json_pointer.join(at, str(name)), bad)
        for name, item in data.items()
        if item is not None
    ]
    if bad:
        raise _refusal(source, tuple(bad))
    return RuleSet(rules=tuple(rules), off={str(name): source for name, item in data.items() if item is None})


def _rule(
    name: str, item: Mapping[str, Any], source: str, unit: LengthUnit | None, at: str, bad: list[Problem]
) -> Rule:
    amounts: dict[str, Amount] = {}
    for key in _AMOUNTS:
        if key in item:
            try:
                amounts[key] = _amount(item[key])
            except InvalidQuantity as error:
                bad.append(Problem(pointer=f"{at}/{key}", message=str(error)))
    if unit is None and item["kind"] in _IN_LENGTHS:
        bare = [key for key, amount in amounts.items() if isinstance(amount, Decimal)]
        bad += [Problem(pointer=f"{at}/{key}", message=f"{item[key]} has no unit; {_SAY_UNIT}") for key in bare]
    return Rule(
        name=name,
        kind=str(item["kind"]),
        source=source,
        unit=unit,
        setting=item.get("setting"),
        why=item.get("why"),
        at_least=amounts.get("at_least"),
        at_most=amounts.get("at_most"),
        warn_within=amounts.get("warn_within"),
        margin=amounts.get("margin"),
        tolerance=amounts.get("tolerance"),
        largest=amounts.get("largest"),
        overcut=amounts.get("overcut"),
        part=item.get("part"),
        swivel=item.get("swivel"),
    )


def _amount(raw: Any) -> Amount:
    if not isinstance(raw, str):
        return raw if isinstance(raw, Decimal) else Decimal(raw)
    for reader in (parse_length, parse_angle):
        try:
            return reader(raw)
        except InvalidQuantity:
            continue
    quantity = parse_quantity(raw)
    return quantity.length or quantity.angle or quantity


def _refusal(source: str, found: tuple[Problem, ...]) -> InvalidProfile:
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    return InvalidProfile(f"{source}: {found[0]}{more}", found)
