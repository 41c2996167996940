"""All findings of a profile by a set of rules."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from profilekeeper.model.profile import Profile
from profilekeeper.model.ruleset import Rule, RuleSet
from profilekeeper.rules.case import Case, case_of
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.registry import KINDS

__all__ = ["judge"]


def judge(
    profile: Profile, ruleset: RuleSet, *, previous: Profile | None = None, on: date | None = None
) -> tuple[Finding, ...]:
    """What every rule of a set says of a profile, in the order of the rules.

    `previous` is the snapshot before (for changes), `on` the day as of which is judged: events after it have
    not happened yet. A setting that cannot be judged for want of a datum gives an unknown, never silence.
    """
    case = case_of(profile, previous=previous, on=on)
    return tuple(finding for rule in ruleset.rules for finding in _judged(rule, case))


def _judged(rule: Rule, case: Case) -> Iterator[Finding]:
    function = KINDS.get(rule.kind)
    if function is not None:
        yield from function(rule, case)
        return
    yield Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.UNKNOWN,
        subject="",
        sentence=f"Nothing here judges rules of the kind {rule.kind}, so {rule.name} is not judged.",
        mend="use a newer profilekeeper, or take the rule out",
        source=rule.source,
    )
