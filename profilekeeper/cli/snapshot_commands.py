"""Commands that record: snapshots, what has proven itself, hardware events, values put back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from profilekeeper.cli.options import (
    By,
    Json,
    Machine,
    Only,
    Set,
    StoreFolder,
    TakeOut,
    Why,
    is_terminal,
    new_id,
    now,
    opened,
    person,
)
from profilekeeper.errors import UsageError

__all__ = ["add_to"]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program."""
    app.command("snapshot", short_help="Record settings as found or as left.")(snapshot)
    app.command("prove", short_help="Mark what has run well.")(prove)
    app.command("event", short_help="Record what happened to the hardware.")(event)
    app.command("restore", short_help="Put known-good values back.")(restore)


def snapshot(
    machine: Machine,
    as_found: Annotated[bool, typer.Option("--as-found", help="What the control holds, whatever it is.")] = False,
    as_left: Annotated[bool, typer.Option("--as-left", help="What it holds when you go.")] = False,
    values: Set = None,
    take_out: TakeOut = None,
    file: Annotated[Path | None, typer.Option("--from", metavar="FILE", help="A whole profile as a file.")] = None,
    edited: Annotated[bool, typer.Option("--edited", help="Take over what was written into its file by hand.")] = False,
    read: Annotated[bool, typer.Option("--read", help="Ask down the control's reading order.")] = False,
    how: Annotated[
        str, typer.Option("--how", metavar="WORD", help="How the values came: read, measured, from the maker's sheet.")
    ] = "read",
    new: Annotated[
        bool, typer.Option("--new", help="Values of a tool, zero or page that was not there before.")
    ] = False,
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Record a machine's settings as found or as left: from keyed values, a file, a hand edit, or field by field.

    With --read (or nothing said, at a terminal) it goes down the control's pages once: Enter keeps the last
    value, a value that jumps is asked about once, Ctrl-C keeps nothing.

    Example: profilekeeper snapshot quayside/saw-2 --as-left --set /tools/7/length=148.5 --why "touched off again"
    """
    from profilekeeper.actions import snapshot as taking
    from profilekeeper.actions.files import read_file
    from profilekeeper.actions.starting import text_of
    from profilekeeper.cli import plain
    from profilekeeper.cli.asking import ask_down_the_order, nothing_lost

    ways = [bool(values or take_out), file is not None, edited, read]
    if sum(ways) > 1:
        raise UsageError("say one way only: --set and --take-out, --from, --edited, or --read")
    if sum(ways) == 0 and not is_terminal():
        raise UsageError("nothing to record: give --set POINTER=VALUE, --from FILE, --edited, or --read at a terminal")
    keeper = opened(store)
    act = taking.Act(
        kind=_kind(as_found, as_left), person=person(by), why=why, at=now(), new_id=new_id, how=how, new_things=new
    )
    if file is not None:
        done = taking.snapshot_from_text(keeper, machine, text_of(read_file(file), str(file)), act)
    elif edited:
        done = taking.snapshot_from_edit(keeper, machine, act)
    else:
        by_hand = not (values or take_out)
        keyed = ask_down_the_order(keeper, machine) if by_hand else tuple(values or ())
        with nothing_lost(keyed if by_hand else ()):
            done = taking.snapshot_from_values(keeper, machine, keyed, tuple(take_out or ()), act)
    plain.recorded(done, json)


def prove(
    machine: Machine,
    snapshot_name: Annotated[str, typer.Option("--snapshot", metavar="NAME", help="Which snapshot ran.")] = "latest",
    ran: Annotated[
        list[str] | None,
        typer.Option("--ran", metavar="POINTER", help="What ran: a tool, a position; left out: everything. Repeat it."),
    ] = None,
    withdraw: Annotated[bool, typer.Option("--withdraw", help="It no longer counts as proven.")] = False,
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Mark what has run well at the machine as proven, part by part: forty tools are never all run.

    Example: profilekeeper prove quayside/saw-1 --ran /tools/2 --ran "/tool_changes/blade" --why "two worktops"
    """
    from profilekeeper.actions.marking import prove as mark
    from profilekeeper.cli import plain

    done = mark(
        opened(store),
        machine,
        snapshot=snapshot_name,
        parts=tuple(ran or ()),
        withdraw=withdraw,
        why=why,
        person=person(by),
        at=now(),
    )
    plain.marked(done, json)


def event(
    machine: Machine,
    what: Annotated[str, typer.Argument(metavar="WHAT", help='Such as "table milled" or "home switch moved".')],
    axis: Annotated[str, typer.Option("--axis", metavar="LETTER", help="Which axis.")] = "",
    table: Annotated[str, typer.Option("--table", metavar="NAME", help="Which table.")] = "",
    spindle: Annotated[str, typer.Option("--spindle", metavar="NAME", help="Which spindle.")] = "",
    tool: Annotated[str, typer.Option("--tool", metavar="NUMBER", help="Which tool.")] = "",
    amount: Annotated[str, typer.Option("--by-how-much", metavar="LENGTH", help="How much, such as 1.5 mm.")] = "",
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="When, such as 2026-01-12; left out: today.")] = "",
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Record what happened to the hardware: settings that hang on it are then to be established anew.

    Example: profilekeeper event quayside/saw-2 "table milled" --table main --by-how-much "1.5 mm"
    """
    from profilekeeper.actions.marking import note_event
    from profilekeeper.cli import plain

    moment, who = now(), person(by)
    facts = {"axis": axis, "table": table, "spindle": spindle, "tool": tool, "by_how_much": amount}
    whole = {
        "kind": what,
        **{k: v for k, v in facts.items() if v},
        "date": on or moment.date().isoformat(),
        "by": who.name,
    }
    done = note_event(opened(store), machine, whole, person=who, why=why, at=moment, new_id=new_id)
    plain.recorded(done, json)


def restore(
    machine: Machine,
    to: Annotated[
        str, typer.Option("--to", metavar="SNAPSHOT", help="A short id, a day, proven, previous ...")
    ] = "proven",
    only: Only = None,
    plan_only: Annotated[
        bool, typer.Option("--plan", help="Only show what would be keyed back; record nothing.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Put known-good values back: shows what is to be keyed back and records it as a new snapshot.

    What hardware events have made invalid since is not put back but listed: it is to be established anew.
    Nothing moves by keying; what follows does: follow the machine maker's manual.

    Example: profilekeeper restore hilltop/saw-1 --to proven --only /tools
    """
    from profilekeeper.actions import restoring
    from profilekeeper.cli import tables

    keeper, chosen = opened(store), tuple(only or ())
    plan = restoring.plan_restore(keeper, machine, snapshot=to, only=chosen)
    if plan_only:
        tables.restore_plan(plan, json)
        return
    if not json and not yes:
        tables.restore_plan(plan, False)
    if not yes and is_terminal() and plan.changes.all:
        typer.confirm("Record these values as a new snapshot?", abort=True, err=True)
    _, done = restoring.restore(
        keeper, machine, snapshot=to, only=chosen, person=person(by), why=why, at=now(), new_id=new_id
    )
    from profilekeeper.cli import plain

    plain.recorded(done, json)


def _kind(as_found: bool, as_left: bool) -> str:
    if as_found == as_left:
        raise UsageError("say which it is: --as-found (what the control holds) or --as-left (when you go)")
    return "as-found" if as_found else "as-left"
