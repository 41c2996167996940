"""The command that tries moves before the machine makes them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.cli.options import Json, Machine, StoreFolder, opened
from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from rich.text import Text

    from profilekeeper.actions.dryrunning import DryRun, FirstTouch, State, TriedMove

__all__ = ["add_to"]

ToolNumber = Annotated[str, typer.Option("--tool", metavar="TOOL", help="Number of the tool in the spindle.")]
Start = Annotated[
    str, typer.Option("--from", metavar="READINGS", help="Where the bare nose stands: X=1800,Y=1000,Z=-170,A=0,C=0")
]
File = Annotated[Path | None, typer.Option("--moves", metavar="FILE", help="A file of moves, tried first.")]
Keyed = Annotated[
    list[str] | None,
    typer.Option("--move", metavar="READINGS", help='A rapid, as "X=3450,Y=40", or "feed Z=-100"; repeat it.'),
]
Routines = Annotated[
    list[str] | None,
    typer.Option("--routine", metavar="NAME", help="A routine of the control, such as homing, after the moves."),
]


def add_to(app: typer.Typer) -> None:
    """Add this command to the program."""
    app.command("dryrun", short_help="Try moves before the machine makes them.", rich_help_panel="At the machine")(
        dryrun
    )


def dryrun(
    machine: Machine,
    tool: ToolNumber,
    start: Start = "",
    moves: File = None,
    move: Keyed = None,
    routine: Routines = None,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Try moves and routines before the machine makes them: what comes how near to what, and where it would touch.

    Readings are machine readings of the bare spindle nose. A rapid is reckoned with on every path that its axes can
    take, unless somebody has seen in which order they run and it is recorded by whom and when. Nothing is recorded,
    nothing moves. Exit code 1 unless every move is clear or tight.

    Example: profilekeeper dryrun quayside/saw-1 --tool 2 --from X=1800,Y=1000,Z=-170,A=0,C=0 --routine "tool change"
    """
    from profilekeeper.actions.dryrunning import dry_run, listed_moves
    from profilekeeper.cli.as_json import print_json
    from profilekeeper.rules import is_met

    wanted = listed_moves(moves, start, tuple(move or ()), tuple(routine or ()))
    if not wanted.moves:
        raise UsageError("say what is to be tried: --move, --moves or --routine")
    done = dry_run(opened(store), machine, tool, wanted)
    if json:
        print_json(done)
    else:
        _print(done)
    if not is_met(done.verdict):
        raise typer.Exit(1)


def _print(done: DryRun) -> None:
    from rich.text import Text

    from profilekeeper.cli.palette import STYLES
    from profilekeeper.cli.tables import CAUTION, console, plain_table

    screen = console()
    screen.print(Text.assemble((done.machine, "bold"), f"  {done.tool}, as new and everything at its worst"))
    table = plain_table("", "move", "verdict", "least room", "where")
    for number, one in enumerate(done.moves):
        verdict = Text(str(one.verdict), style=STYLES[str(one.verdict)])
        table.add_row(Text(str(number or "")), _move(one), verdict, Text(_room(one)), Text(_where(one)))
    screen.print(table)
    for note in done.notes:
        screen.print(Text(note, style="italic"))
    worst = [str(number) for number, one in enumerate(done.moves) if number and one.verdict is done.verdict]
    which = f" (move {', '.join(worst)})" if worst else " (as it stands)"
    screen.print(Text.assemble("Worst: ", (str(done.verdict), STYLES[str(done.verdict)]), which))
    screen.print(Text(CAUTION, style="italic"))


def _move(one: TriedMove) -> Text:
    from rich.text import Text

    said = Text(one.title)
    going = [k for k, v in one.after.items() if k in one.before and one.before[k] != v]
    if going:
        said.append(f"\n{_readings(one.before, going)} to {_readings(one.after, going)}")
    elif one.title == "as it stands":
        said.append(f"\n{_readings(one.before, list(one.before))}")
    if one.reckoned:
        said.append(f"\n{one.reckoned}", style="italic")
    return said


def _room(one: TriedMove) -> str:
    if one.gap is None or one.plus_minus is None:
        return ""
    if one.first_contact is not None:
        return "none"
    return f"{one.gap.number:f} ± {one.plus_minus.number:f} {one.gap.unit.value}"


def _where(one: TriedMove) -> str:
    lines = list(one.notes)
    if one.missing:
        lines.insert(0, f"not known for want of {', '.join(one.missing)}")
    elif one.at is not None:
        what = "touches" if one.first_contact is not None else "nearest to"
        at = one.first_contact.at if one.first_contact is not None else one.at
        lines.insert(0, f"{one.part} {what} {one.thing} at {_readings(at, list(at))}")
        if one.first_contact is not None:
            lines.insert(1, _when(one.first_contact))
        if str(one.verdict) == "short":
            lines.insert(1, f"{one.required} are wanted")
    return "\n".join(lines)


def _when(touch: FirstTouch) -> str:
    sure = "" if touch.is_proven else ", or comes too near to tell"
    if touch.free_share is None or touch.hit_share is None:
        return f"on leg {touch.leg}, on some path that the axes may take{sure}"
    return f"on leg {touch.leg}, free for the first {touch.free_share * 100:.0f} % of it{sure}"


def _readings(state: State, letters: list[str]) -> str:
    return " ".join(f"{letter} {state[letter].number:f}" for letter in letters)
