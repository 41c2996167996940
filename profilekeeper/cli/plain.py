"""Short answers in plain lines: what was recorded, marked, put back. No table library: these must be quick."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from profilekeeper.cli.as_json import print_json
from profilekeeper.cli.gathering import gathered

if TYPE_CHECKING:
    from profilekeeper.actions.auditing import Audited
    from profilekeeper.actions.marking import Marked
    from profilekeeper.actions.putting_back import PutBack
    from profilekeeper.actions.recording import Recorded
    from profilekeeper.actions.sharing import Shared
    from profilekeeper.actions.starting import Started
    from profilekeeper.changes import Changes
    from profilekeeper.rules import Finding, Standing

__all__ = [
    "audited",
    "bad_findings",
    "counted",
    "files_put_back",
    "marked",
    "recorded",
    "shared",
    "standing_sentence",
    "started",
    "summary",
]

_ORDER = ("hits", "fails", "short", "unknown", "tight", "clear")
_MOST = 8
_FEW = 3


def started(done: Started, json: bool) -> None:
    """Tell that a store was begun."""
    if json:
        print_json(done)
        return
    print(f"The store of {done.fleet} is begun in {done.folder}.")
    print("Next: profilekeeper add-machine SHOP/MACHINE")


def recorded(done: Recorded, json: bool) -> None:
    """Tell what was recorded, what changed by it, and what the rules say."""
    changes = done.changes()
    if json:
        from profilekeeper.changes import to_json

        facts = ("machine", "snapshot", "kind", "standing", "findings", "settled", "notices")
        print_json({**{name: getattr(done, name) for name in facts}, "changes": to_json(changes)})
        return
    print(f"{done.machine}: recorded {done.kind}, snapshot {done.snapshot}; {summary(changes)}.")
    for notice in done.notices:
        print(_wrapped(notice))
    for pointer in done.settled:
        print(f"  settled by this reading: {pointer}")
    print(_wrapped(standing_sentence(done.standing)))
    bad_findings(done.findings)


def summary(changes: Changes) -> str:
    """How much changed, in a few words."""
    settings = [c for c in changes if not c.pointer.startswith("/sources")]
    values = sum(c.is_of_value for c in settings)
    others = len(settings) - values
    said = "1 setting changed" if values == 1 else f"{values} settings changed" if values else "no setting changed"
    return said + (f", {others} written or named otherwise" if others else "")


def standing_sentence(standing: Standing) -> str:
    """How far a record goes and what comes next, in one line."""
    if standing.next is None:
        return f"the record is {standing.level}"
    if str(standing.level) == "never recorded":
        return "no value is recorded yet"
    shown = ", ".join(standing.missing[:_FEW])
    more = f" and {len(standing.missing) - _FEW} more" if len(standing.missing) > _FEW else ""
    return f"the record is {standing.level}; to be {standing.next} it lacks {shown}{more}"


def bad_findings(findings: tuple[Finding, ...]) -> None:
    """The findings that are not clear, worst first, in plain lines, and how many there are of each kind."""
    bad = list(gathered(f for f in findings if str(f.verdict) != "clear"))
    for finding in bad[:_MOST]:
        print(_wrapped(f"{finding.verdict}: {finding.sentence}"))
    if len(bad) > _MOST:
        print(f"  and {len(bad) - _MOST} more: profilekeeper check")
    print(f"  {counted(findings)}")


def _wrapped(text: str) -> str:
    """A sentence set in by two, in lines that fit the screen."""
    import shutil
    import textwrap

    width = shutil.get_terminal_size((100, 24)).columns
    return textwrap.fill(text, width, initial_indent="  ", subsequent_indent="    ", break_long_words=False)


def counted(findings: tuple[Finding, ...]) -> str:
    """How many findings there are of each verdict, worst first."""
    counts = Counter(str(f.verdict) for f in findings)
    return ", ".join(f"{counts[v]} {v}" for v in _ORDER if counts[v]) or "no rule had anything to judge"


def marked(done: Marked, json: bool) -> None:
    """Tell which parts are proven now, or no longer."""
    if json:
        print_json(done)
        return
    parts = "everything" if done.parts == ("",) else ", ".join(done.parts)
    word = "is proven" if done.act == "proven" else "no longer counts as proven"
    print(f"{done.machine}: {parts} of snapshot {done.snapshot} {word} (mark {done.mark}).")


def shared(done: Shared, json: bool) -> None:
    """Tell that a rule set or reading order was recorded."""
    if json:
        print_json(done)
        return
    print(f"The {done.what} is recorded as {done.path}, snapshot {done.snapshot}.")


def files_put_back(done: PutBack, json: bool) -> None:
    """Tell which files were put back and where copies of hand edits are."""
    if json:
        print_json(done)
        return
    if not done.files:
        print("Every file is as recorded; nothing was to be done.")
    for file in done.files:
        print(f"{file.path}: was {file.how}, is as recorded again.")
    for path in done.kept:
        print(f"  what was edited by hand is kept in {path}")


def audited(done: Audited, json: bool) -> None:
    """Tell whether the store is whole."""
    if json:
        print_json(done)
        return
    damage = [f for f in done.flaws if f.is_damage]
    for flaw in done.flaws:
        print(f"{'damaged' if flaw.is_damage else 'untidy'}: {flaw.where}: {flaw.what}")
    verdict = f"{len(damage)} damaged" if damage else "whole"
    print(f"{done.snapshots} snapshots and {done.texts} texts looked at: {verdict}.")
