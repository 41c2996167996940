"""Answers as tables: findings, changes, settings, history. Verdicts are words first, colour only repeats them."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from profilekeeper.cli.as_json import print_json, print_json_lines
from profilekeeper.cli.gathering import gathered
from profilekeeper.cli.palette import STYLES
from profilekeeper.cli.plain import counted, standing_sentence, summary

if TYPE_CHECKING:
    from profilekeeper.actions.checking import Checked
    from profilekeeper.actions.looking import Shown, ShownSetting, Told
    from profilekeeper.actions.restoring import Plan
    from profilekeeper.changes import Change, Changes
    from profilekeeper.model.settings import Value
    from profilekeeper.rules import Finding

__all__ = [
    "changed",
    "checked",
    "console",
    "findings_table",
    "plain_table",
    "restore_plan",
    "shown",
    "told",
    "value_text",
]

_NARROW = 80
_WIDE = 110
_RULE_WIDTH = 22
_REMARKS = "how values came"
CAUTION = (
    "Numbers do not make a machine safe: verify at the machine at reduced speed, by a qualified person, "
    "as its maker's manual says."
)


def console() -> Console:
    """The screen: as wide as the terminal, 100 columns where the answer goes into a file or a pipe."""
    width = None if sys.stdout.isatty() else int(os.environ.get("COLUMNS", "100"))
    return Console(width=width, highlight=False, soft_wrap=False)


def checked(results: list[Checked], all_findings: bool, json: bool) -> None:
    """What the rules say, machine by machine."""
    if json:
        print_json(results)
        return
    screen = console()
    for result in results:
        screen.print(Text.assemble((result.machine, "bold"), "  ", standing_sentence(result.standing)))
        for notice in result.notices:
            screen.print(Padding(Text(notice, style="italic"), (0, 0, 0, 2)))
        if result.changes is not None:
            _print_changes(screen, result.changes)
        for pointer in result.disputed:
            screen.print(Padding(Text.assemble(("disputed", STYLES["disputed"]), f"  {pointer}"), (0, 0, 0, 2)))
        wanted = [f for f in result.findings if all_findings or str(f.verdict) != "clear"]
        if wanted:
            screen.print(findings_table(wanted, screen.width))
        screen.print(Padding(counted(result.findings), (0, 0, 1, 2)))
        if result.changes is not None:
            _print_refusal(screen, result)
    screen.print(Text(CAUTION, style="italic"))


def _print_refusal(screen: Console, result: Checked) -> None:
    if not result.refused:
        screen.print(Text("These values bring nothing new that is bad; what was bad before is listed above."))
        return
    screen.print(Text.assemble(("Do not key these values", STYLES["fails"]), ". They bring about, or touch:"))
    for finding in gathered(result.refused):
        screen.print(
            Padding(
                Text.assemble((str(finding.verdict), STYLES[str(finding.verdict)]), f"  {finding.sentence}"),
                (0, 0, 0, 2),
            )
        )


def findings_table(findings: Iterable[Finding], width: int) -> Table:
    """Findings, worst first: the verdict, what is so, what would mend it, and by which rule."""
    table = plain_table("verdict", "what is so", *(("rule",) if width > _NARROW else ()))
    table.columns[-1].max_width = _RULE_WIDTH if width > _NARROW else None
    for finding in gathered(findings):
        verdict = Text(finding.verdict, style=STYLES[finding.verdict])
        said = Text(finding.sentence)
        if finding.mend:
            said.append(f"\nTo mend it: {finding.mend}", style="italic")
        rule = (Text(f"{finding.rule}\n{finding.source}", style="dim"),) if width > _NARROW else ()
        table.add_row(verdict, said, *rule)
    return table


def changed(changes: Changes, json: bool) -> None:
    """What changed, grouped by what it belongs to."""
    if json:
        from profilekeeper.changes import to_json

        print_json(to_json(changes))
        return
    _print_changes(console(), changes)


def _print_changes(screen: Console, changes: Changes) -> None:
    for notice in changes.notices:
        screen.print(Text(notice, style="italic"))
    for group, members in changes.groups().items():
        if group != _REMARKS:
            screen.print(_changes_table(group, members, "before", "after"))
    screen.print(Text(f"{summary(changes)}.".capitalize()))


def _changes_table(group: str, members: Iterable[Change], before: str, after: str) -> Table:
    """The lines of one group: the setting, what stood and what stands there, by how much."""
    table = plain_table("setting", before, after, "by how much", title=group)
    for line in members:
        amount = line.delta_text or ("" if str(line.kind) == "changed" else str(line.kind))
        table.add_row(Text(line.title), Text(line.before_text), Text(line.after_text), Text(amount))
        for part in line.parts:
            sides = (value_text(part.value), "") if line.pointer_after is None else ("", value_text(part.value))
            table.add_row(Text(f"  {part.title}", style="dim"), *(Text(s) for s in sides), Text(""))
    return table


def restore_plan(plan: Plan, json: bool) -> None:
    """What is to be keyed back, and what is to be established anew instead."""
    if json:
        from profilekeeper.changes import to_json

        facts = {name: getattr(plan, name) for name in ("machine", "snapshot", "at", "reestablish")}
        print_json({**facts, "changes": to_json(plan.changes)})
        return
    screen = console()
    screen.print(Text(f"{plan.machine}: values of snapshot {plan.snapshot} ({plan.at:%Y-%m-%d})", style="bold"))
    for group, members in plan.changes.groups().items():
        screen.print(_changes_table(group, members, "now", "key back"))
    if plan.reestablish:
        table = plain_table("setting", "why it is not keyed back", title="to be established anew")
        for item in plan.reestablish:
            table.add_row(Text(item.title), Text(item.why))
        screen.print(table)
    count = len(plan.changes.all)
    screen.print(f"{count} to key back, {len(plan.reestablish)} to be established anew.")
    screen.print(Text(CAUTION, style="italic"))


def shown(result: Shown, json: bool) -> None:
    """A machine's settings, grouped, with how and when each value came."""
    if json:
        print_json(result)
        return
    screen = console()
    about = f"  snapshot {result.snapshot}, {result.kind}, {result.at:%Y-%m-%d %H:%M} by {result.by}; "
    screen.print(Text.assemble((result.machine, "bold"), about, standing_sentence(result.standing)))
    for notice in result.notices:
        screen.print(Text(notice, style="italic"))
    for group, members in _grouped(result.settings).items():
        screen.print(_settings_table(group, members, screen.width))


def _settings_table(group: str, members: Iterable[ShownSetting], width: int) -> Table:
    """The settings of one group; what belongs to one thing stands below its name."""
    table = plain_table("setting", "value", "how it came", *(("pointer",) if width > _WIDE else ()), title=group)
    thing = ""
    for setting in members:
        above, _, own = setting.title.rpartition(": ")
        if above and above != thing:
            table.add_row(Text(above, style="bold"))
        thing = above
        came = Text(" ".join(w for w in (setting.how, setting.date) if w), style="dim")
        if setting.disputed:
            came = Text("disputed", style=STYLES["disputed"])
        pointer = (Text(setting.pointer, style="dim"),) if width > _WIDE else ()
        table.add_row(Text(f"  {own}" if above else own), Text(value_text(setting.value)), came, *pointer)
    return table


def told(lines: Iterator[Told], machine: str, json: bool) -> None:
    """A machine's history, newest first, one line a snapshot; written as it is read, however long it is."""
    if json:
        print_json_lines(lines)
        return
    width = console().width
    for line in lines:
        what = f"{line.kind} of {line.of}" if line.of else line.kind
        head = f"{line.snapshot}  {line.at:%Y-%m-%d %H:%M}  {what:<18}  {line.by}"
        tail = "; ".join(t for t in (line.why, line.findings) if t)
        fits = len(head) + 2 + len(tail) <= width
        print(f"{head}  {tail}".rstrip() if fits else f"{head}\n{_indented(tail, width)}")


def _indented(text: str, width: int) -> str:
    """A text in lines that fit, set in under the id."""
    import textwrap

    return textwrap.fill(text, width, initial_indent=" " * 10, subsequent_indent=" " * 10)


def value_text(value: Value) -> str:
    """A value as shown in a table; blank is said, not left empty."""
    if value is None:
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def plain_table(*columns: str, title: str = "") -> Table:
    """A table with a line under its head and nothing else."""
    table = Table(box=box.SIMPLE_HEAD, title=title or None, title_justify="left", title_style="bold", pad_edge=False)
    for column in columns:
        table.add_column(column, overflow="fold", header_style="italic")
    return table


def _grouped(settings: Iterable[ShownSetting]) -> Mapping[str, list[ShownSetting]]:
    """Settings gathered by group, in the order in which groups first come."""
    groups: dict[str, list[ShownSetting]] = {}
    for setting in settings:
        groups.setdefault(setting.group, []).append(setting)
    return groups
