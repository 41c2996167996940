"""Commands that look at machines: their settings, history and changes, and what the rules say."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.cli.options import Json, Machine, Only, Set, StoreFolder, TakeOut, now, opened
from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from profilekeeper.quantities import LengthUnit

__all__ = ["add_to"]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program."""
    app.command("check", short_help="Check settings against the rules.")(check)
    app.command("show", short_help="Show the settings.")(show)
    app.command("history", short_help="Show what was recorded when.")(history)
    app.command("changes", short_help="Show what changed.")(changes)


def check(
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WHAT]...", help="Machines, shops, or profile files; left out: the whole fleet."),
    ] = None,
    values: Set = None,
    take_out: TakeOut = None,
    rules: Annotated[
        list[Path] | None, typer.Option("--rules", metavar="FILE", help="A rule set for files that are in no store.")
    ] = None,
    all_findings: Annotated[bool, typer.Option("--all", help="Show what is clear, too.")] = False,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Check settings against the rules: of a machine, a shop, the fleet, or of a file in no store.

    With --set it says what would be wrong with values BEFORE anybody keys them; nothing is recorded.
    Exit code 1 if anything is short, hits, fails, is unknown or disputed.

    Example: profilekeeper check quayside/saw-1 --set /tool_changes/blade/Z=-60
    """
    from profilekeeper.actions import checking
    from profilekeeper.cli import tables
    from profilekeeper.cli.progress import counting

    names, today = tuple(what or ()), now().date()
    files = [Path(name) for name in names if _is_file(name)]
    if files and len(files) != len(names):
        raise UsageError("name either files or machines, not both at once")
    if files:
        results = [checking.check_file(f, tuple(rules or ()), on=today) for f in files]
    elif values or take_out:
        if len(names) != 1:
            raise UsageError("--set checks values of one machine; name it")
        results = [checking.check_values(opened(store), names[0], tuple(values or ()), tuple(take_out or ()), on=today)]
    else:
        with counting("checking") as tell:
            results = []
            for result in checking.check_machines(opened(store), names, on=today):
                results.append(result)
                tell("machines", len(results))
    tables.checked(results, all_findings, json)
    if not all(result.is_clean for result in results):
        raise typer.Exit(1)


def show(
    machine: Machine,
    snapshot: Annotated[
        str, typer.Option("--snapshot", metavar="NAME", help="A short id, a day, latest ...")
    ] = "latest",
    only: Only = None,
    text: Annotated[bool, typer.Option("--text", help="The recorded text itself, byte for byte.")] = False,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Show a machine's settings as they were recorded, with how and when each value came.

    Example: profilekeeper show quayside/saw-2 --only /tools/7 --snapshot 2026-01-12
    """
    from profilekeeper.actions import looking
    from profilekeeper.cli import tables

    keeper = opened(store)
    if text:
        typer.echo(keeper.text(machine, keeper.find(keeper.known(machine), snapshot).revision), nl=False)
        return
    tables.shown(looking.show(keeper, machine, snapshot=snapshot, only=tuple(only or ())), json)


def history(
    machine: Machine,
    since: Annotated[str, typer.Option("--since", metavar="DAY", help="Not older than this day.")] = "",
    most: Annotated[int | None, typer.Option("--most", metavar="N", help="At most so many.", min=1)] = None,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Show what was recorded of a machine: when, as what, by whom and why.

    Example: profilekeeper history quayside/saw-2 --since 2026-01-01
    """
    from profilekeeper.actions import looking
    from profilekeeper.cli import tables

    day = _day(since) if since else None
    tables.told(looking.history(opened(store), machine, since=day, most=most), machine, json)


def changes(
    what: Annotated[str, typer.Argument(metavar="SHOP/MACHINE|FILE", help="A machine, or a profile file.")],
    before: Annotated[
        str, typer.Argument(metavar="[BEFORE]", help="Earlier snapshot (or, after a file, the later file).")
    ] = "previous",
    after: Annotated[str, typer.Argument(metavar="[AFTER]", help="Later snapshot.")] = "latest",
    unit: Annotated[str, typer.Option("--unit", metavar="mm|in", help="Unit of the amounts.")] = "",
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Show what changed between two snapshots of a machine, or between two profile files.

    Settings are matched by what they are: a renumbered tool or a screen switched to inches is seen as such.
    Exit code 1 if a value changed.

    Example: profilekeeper changes quayside/saw-2 2026-01-12 latest
    """
    from profilekeeper.actions import looking
    from profilekeeper.cli import tables

    if _is_file(what):
        result = looking.changes_of_files(Path(what), Path(before), unit=_unit(unit))
    else:
        result = looking.changes_of_machine(opened(store), what, before, after, unit=_unit(unit))
    tables.changed(result, json)
    if result.of_value:
        raise typer.Exit(1)


def _unit(text: str) -> LengthUnit | None:
    from profilekeeper.quantities import parse_length_unit

    return parse_length_unit(text) if text else None


def _is_file(name: str) -> bool:
    return name.endswith((".yaml", ".yml")) or (name.count("/") != 1 and Path(name).is_file())


def _day(text: str) -> date:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise UsageError(f"{text!r} is no day; write it as 2026-03-04") from None
