"""What the rules say: of a machine, a shop, the fleet, of values before anybody keys them, of a file in no store."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from profilekeeper.actions.entered import entries_from
from profilekeeper.actions.files import read_file
from profilekeeper.actions.opened import Opened
from profilekeeper.actions.placing import placed
from profilekeeper.changes import Changes, changes_between
from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import REMOVED, edit
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.ruleset import read_rules, rules_for
from profilekeeper.rules import Finding, Standing, is_met, judge, level

__all__ = ["Checked", "check_file", "check_machines", "check_values", "worsened"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What the rules say of one machine: findings, its level, disputed settings; `changes` if values were tried."""

    machine: str
    findings: tuple[Finding, ...]
    standing: Standing
    disputed: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    changes: Changes | None = None
    refused: tuple[Finding, ...] = ()

    @property
    def is_clean(self) -> bool:
        """Whether nothing is short, hit, failing, unknown or disputed."""
        return not self.disputed and all(is_met(f.verdict) for f in self.findings)


def check_machines(opened: Opened, names: tuple[str, ...], *, on: date) -> Iterator[Checked]:
    """The findings of each machine meant (all of them if none is named), with its disputes."""
    for machine in opened.chosen(names):
        profile = opened.profile(machine)
        yield Checked(
            machine=machine,
            findings=judge(profile, opened.ruleset(profile), previous=_previous(opened, machine), on=on),
            standing=level(profile),
            disputed=tuple(opened.disputes(machine).settings),
            notices=profile.notices,
        )


def check_values(
    opened: Opened, machine: str, keyed: tuple[str, ...], removed: tuple[str, ...], *, on: date
) -> Checked:
    """What the rules would say of a machine with some values keyed anew; nothing is recorded.

    `refused` holds the findings that these values bring about or make worse.
    """
    before = opened.profile(opened.known(machine))
    entries = entries_from(before, keyed)
    values = {e.pointer: e.value for e in entries}
    edits: dict[str, object] = placed(before.data, values, new_things=True, name=machine)
    edits.update(dict.fromkeys(removed, REMOVED))
    source = f"{machine} with the values keyed"
    after = read_profile(strict_yaml.loads(edit(opened.text_to_edit(machine), edits), source=source), source=source)
    findings = judge(after, opened.ruleset(after), previous=before, on=on)
    return Checked(
        machine=machine,
        findings=findings,
        standing=level(after),
        disputed=tuple(opened.disputes(machine).settings),
        notices=tuple(e.notice for e in entries if e.notice),
        changes=changes_between(before, after),
        refused=worsened(judge(before, opened.ruleset(before), previous=before, on=on), findings, (*values, *removed)),
    )


def worsened(before: tuple[Finding, ...], after: tuple[Finding, ...], touched: tuple[str, ...]) -> tuple[Finding, ...]:
    """Bad findings that touch changed settings, or that were not there or not as bad before."""
    known = {(f.rule, f.subject): f for f in before}
    result = []
    for finding in after:
        if is_met(finding.verdict):
            continue
        old = known.get((finding.rule, finding.subject))
        if old is None or old.verdict.rank < finding.verdict.rank or any(p in finding.settings for p in touched):
            result.append(finding)
    return tuple(result)


def check_file(path: Path, rules: tuple[Path, ...], *, on: date) -> Checked:
    """The findings of a profile file that is in no store, by the built-in rules and those of given files."""
    profile = file_profile(path)
    shared = tuple(read_rules(strict_yaml.loads(read_file(r), source=str(r)), source=str(r)) for r in rules)
    findings = judge(profile, rules_for(profile, shared), on=on)
    return Checked(machine=profile.name, findings=findings, standing=level(profile), notices=profile.notices)


def file_profile(path: Path) -> Profile:
    """The profile in a user's file; a refusal names the file, line and column.

    Raises:  UsageError, FormatError, InvalidProfile.
    """
    data = read_file(path)
    return read_profile(strict_yaml.loads(data, source=str(path)), source=str(path))


def _previous(opened: Opened, machine: str) -> Profile | None:
    """The profile of the snapshot before the latest one, if there is one; not before values that were put back."""
    entries = opened.snapshots(machine)
    latest = next(entries, None)
    if latest is None or latest.trailers.get("Kind") == "restored":
        return None
    entry = next(entries, None)
    return opened.profile(machine, entry.revision) if entry else None
