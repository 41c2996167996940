"""limit: a setting between bounds, by its pointer or a pattern of many."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Branch
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.settings import Setting
from profilekeeper.quantities import Length, Measure
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.numbers import Number, amount_like, base_of, minus
from profilekeeper.rules.say import place

__all__ = ["judge_limit", "places_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bound:
    """One bound of a setting: the amount in the kind of the setting, and the setting that holds it, if any."""

    amount: Number
    is_lower: bool
    pointer: str = ""

    @property
    def words(self) -> str:
        return "at least" if self.is_lower else "at most"


def judge_limit(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every setting that the rule's pattern names, there or not.

    A rule without a bound of its own goes by the bound that the profile holds: a page value's own, a table's
    surface_limit. The margin is the distance to the nearer bound, less than zero when beyond it.
    """
    assert rule.setting is not None  # the schema requires it
    found = False
    for pointer, is_there in places_of(case.profile.root, rule.setting):
        if not is_there and not _has_bound(rule) and (pointer.count("/") == 1 or pointer.startswith("/control_pages/")):
            continue  # a rule that goes by what is recorded has nothing to go by in a chapter or page that is not there
        for finding in _judged(rule, case, pointer) if is_there else (_absent(rule, pointer),):
            found = True
            yield finding
    if not found and _has_bound(rule):
        yield _absent(rule, rule.setting)


def places_of(root: Branch, pattern: str) -> Iterator[tuple[str, bool]]:
    """The pointers that a pattern with `*` names, each with whether something stands there.

    A `*` runs over what is there; what follows it is wanted of each, so a tool without the value is named.
    """
    yield from _places(root.data, json_pointer.parse(pattern), "")


def _places(data: object, steps: tuple[str, ...], at: str) -> Iterator[tuple[str, bool]]:
    if not steps:
        yield at, data is not None
        return
    inner = _inside(data)
    if steps[0] == "*":
        for key, item in inner.items():
            yield from _places(item, steps[1:], json_pointer.join(at, key))
    elif steps[0] in inner:
        yield from _places(inner[steps[0]], steps[1:], json_pointer.join(at, steps[0]))
    elif "*" not in steps:
        yield json_pointer.join(at, *steps), False
    else:
        yield json_pointer.join(at, steps[0]), False


def _inside(data: object) -> Mapping[str, object]:
    if isinstance(data, Mapping):
        return data
    return {str(i): item for i, item in enumerate(data)} if isinstance(data, list) else {}


def _has_bound(rule: Rule) -> bool:
    return rule.at_least is not None or rule.at_most is not None


def _judged(rule: Rule, case: Case, pointer: str) -> Iterator[Finding]:
    for at in _leaves(case, pointer):
        setting = case.profile.settings.get(at)
        if setting is None or not isinstance(setting.value, (Measure, Decimal)):
            if _has_bound(rule) or _own_bounds(case, at):
                yield _not_a_number(rule, case, at, setting)
            continue
        yield from _one(rule, case, setting, setting.value)


def _leaves(case: Case, pointer: str) -> tuple[str, ...]:
    """The settings meant by a pointer: itself, the two ends of a pair, or the value of a page entry."""
    data = case.profile.branch(pointer).data
    if isinstance(data, Mapping) and ("value" in data or "state" in data):
        return (f"{pointer}/{'value' if 'value' in data else 'state'}",)
    if isinstance(data, list) and len(data) == 2:
        return tuple(f"{pointer}/{index}" for index in range(2))
    return (pointer,)


def _one(rule: Rule, case: Case, setting: Setting, value: Number) -> Iterator[Finding]:
    if not _has_bound(rule):
        own = _own_bounds(case, setting.pointer)
        lacks = _lacking_own(case, setting.pointer)
        if lacks:
            yield _no_bound(rule, case, setting, value, lacks)
        elif own:
            yield _against(rule, case, setting, value, own)
        return
    is_fixed = bool(setting.kind.unit)
    bounds = [
        None if (like := amount_like(rule, amount, value, is_fixed)) is None else _Bound(amount=like, is_lower=lower)
        for amount, lower in ((rule.at_least, True), (rule.at_most, False))
        if amount is not None
    ]
    sure = [bound for bound in bounds if bound is not None]
    if len(sure) < len(bounds):
        yield _no_unit(rule, case, setting, value)
        return
    yield _against(rule, case, setting, value, [*sure, *_own_bounds(case, setting.pointer)])


def _own_bounds(case: Case, pointer: str) -> list[_Bound]:
    """The bounds that the profile itself holds for a setting."""
    steps = json_pointer.parse(pointer)
    if steps[0] == "control_pages" and steps[-1] in ("value", "state"):
        return _page_bounds(case, pointer)
    if len(steps) == 3 and steps[0] == "tables" and steps[2] == "surface":
        limit = case.tables[steps[1]].surface_limit
        lower = case.conventions.z_up != "negative"
        at = f"{case.tables[steps[1]].pointer}/surface_limit"
        return [] if limit is None else [_Bound(amount=limit, is_lower=lower, pointer=at)]
    return []


def _lacking_own(case: Case, pointer: str) -> str:
    """The bound that the profile ought to hold and does not: a table's lowest permitted height."""
    steps = json_pointer.parse(pointer)
    if len(steps) == 3 and steps[0] == "tables" and case.tables[steps[1]].surface_limit is None:
        return f"{case.tables[steps[1]].pointer}/surface_limit"
    return ""


def _page_bounds(case: Case, pointer: str) -> list[_Bound]:
    above = pointer.rpartition("/")[0]
    value, bounds = case.profile.value(pointer), []
    for key, lower in (("at_least", True), ("at_most", False)):
        number = case.profile.value(f"{above}/{key}")
        if isinstance(number, Decimal):
            amount: Number = value.remade(number, value.unit) if isinstance(value, Measure) else number
            bounds.append(_Bound(amount=amount, is_lower=lower, pointer=f"{above}/{key}"))
    return bounds


def _against(rule: Rule, case: Case, setting: Setting, value: Number, bounds: list[_Bound]) -> Finding:
    margins = [(_room(value, bound), bound) for bound in bounds]
    margin, bound = min(margins, key=lambda pair: base_of(pair[0]))
    verdict, notes = _verdict(rule, case, setting, margin)
    said = f"{place(setting.pointer)} is {case.said(value)}, {bound.words} {case.said(bound.amount)} is wanted"
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=setting.pointer,
        sentence=_sentence(case, verdict, said, margin),
        source=rule.source,
        settings=tuple(p for p in (setting.pointer, bound.pointer) if p),
        value=value,
        required=bound.amount,
        margin=margin,
        mend=_mend(case, verdict, setting.pointer, bound, margin),
        notes=(*notes, *_hint(setting.pointer, bound), *((f"Why: {rule.why}.",) if rule.why else ())),
    )


def _room(value: Number, bound: _Bound) -> Number:
    """How far a value lies inside a bound; below zero: outside. In the value's own unit where they share it."""
    room = minus(value, bound.amount) if bound.is_lower else minus(bound.amount, value)
    assert room is not None  # every bound has been made like its value
    return room


def _verdict(rule: Rule, case: Case, setting: Setting, margin: Number) -> tuple[Verdict, tuple[str, ...]]:
    if base_of(margin) < 0:
        return Verdict.FAILS, ()
    uncertain = case.sources.uncertainty(setting.pointer) if isinstance(margin, Length) else None
    if uncertain is not None and isinstance(margin, Length) and margin < uncertain:
        return Verdict.UNKNOWN, (f"It is known only to ± {case.said(uncertain)}, and the bound is nearer than that.",)
    if rule.warn_within is None:
        return Verdict.CLEAR, ()
    warn = amount_like(rule, rule.warn_within, margin, bool(setting.kind.unit))
    if warn is None:
        return Verdict.TIGHT, ("The distance to warn within has no unit that fits; it is taken as reached.",)
    return (Verdict.TIGHT if base_of(margin) < base_of(warn) else Verdict.CLEAR), ()


def _sentence(case: Case, verdict: Verdict, said: str, margin: Number) -> str:
    if verdict is Verdict.FAILS:
        return f"{said}: beyond it by {case.said(abs(margin))}."
    if verdict is Verdict.UNKNOWN:
        return f"{said}: too near to tell, with {case.said(margin)} left."
    return f"{said}: {case.said(margin)} left."


def _mend(case: Case, verdict: Verdict, pointer: str, bound: _Bound, margin: Number) -> str:
    if verdict is Verdict.FAILS:
        way = "raise" if bound.is_lower else "lower"
        by, to = case.said(abs(margin)), case.said(bound.amount)
        return f"{way} {place(pointer)} by {by} or more, to {to}, or settle why the bound is there"
    return f"measure {place(pointer)} more closely" if verdict is Verdict.UNKNOWN else ""


def _hint(pointer: str, bound: _Bound) -> tuple[str, ...]:
    if not bound.pointer.endswith("/surface_limit"):
        return ()
    return ("A stored table limit is only a hint: the real one follows from what the worn tools still reach.",)


def _absent(rule: Rule, pointer: str) -> Finding:
    return _unknown(
        rule,
        pointer,
        f"{place(pointer)} is not recorded, so {rule.name} cannot be judged.",
        f"record {place(pointer)}, or switch the rule {rule.name} off for this machine",
        (pointer,),
    )


def _not_a_number(rule: Rule, case: Case, pointer: str, setting: Setting | None) -> Finding:
    if setting is None:
        what, mend = "is no single setting", "name one setting in the rule"
    elif pointer.endswith("/state"):
        what, mend = f"has no value: {setting.value}", "read its value at the control"
    else:
        shown = "blank" if setting.value is None else f"the text {setting.value!r}"
        what, mend = f"is {shown}, not a number", "take it out of the rule, or record a number"
    name = place(pointer.removesuffix("/state"))
    return _unknown(rule, pointer, f"{name} {what}, so {rule.name} cannot be judged.", mend, (pointer,))


def _no_bound(rule: Rule, case: Case, setting: Setting, value: Number, lacks: str) -> Finding:
    sentence = f"{place(setting.pointer)} is {case.said(value)}; how far it may go is not recorded."
    finding = _unknown(rule, setting.pointer, sentence, f"record {place(lacks)}", (lacks,))
    return replace(finding, value=value)


def _no_unit(rule: Rule, case: Case, setting: Setting, value: Number) -> Finding:
    sentence = f"{place(setting.pointer)} is {case.said(value)}; the bound of {rule.name} has no unit that fits it."
    mend = f"write the bound in {rule.source} with its unit, or say units in that file"
    return replace(_unknown(rule, setting.pointer, sentence, mend, ()), value=value)


def _unknown(rule: Rule, pointer: str, sentence: str, mend: str, missing: tuple[str, ...]) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject=pointer,
        sentence=sentence,
        source=rule.source,
        settings=(pointer,),
        mend=mend,
        missing=missing,
    )
