"""The command for a touch-off day: what a touch-off gives, and the record of it."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.cli.options import By, Json, Machine, StoreFolder, Why, is_terminal, new_id, now, opened, person
from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from profilekeeper.actions.opened import Person
    from profilekeeper.actions.touching import Touched

__all__ = ["add_to"]

_SURFACES = ("stone", "table", "plate", "setter", "puck")


Tool = Annotated[str, typer.Argument(metavar="TOOL", help="Number of the tool.")]
Z = Annotated[str, typer.Option("--z", metavar="LENGTH", help="Z reading at touch, of the bare spindle nose.")]
Thickness = Annotated[
    list[str] | None,
    typer.Option("--thickness", metavar="LENGTH", help="Stone gauged under the tool; repeat it: the highest governs."),
]
Shim = Annotated[str, typer.Option("--shim", metavar="LENGTH", help="Paper, shim, or height of plate, setter or puck.")]
Support = Annotated[
    str, typer.Option("--support", metavar="LENGTH", help="Height of what lay under the slab; 0: nothing.")
]
OnTable = Annotated[str, typer.Option("--table", metavar="NAME", help="On which table, where there are several.")]
Tilt = Annotated[str, typer.Option("--tilt", metavar="ANGLE", help="The tilt reading at touch.")]
Upright = Annotated[bool, typer.Option("--upright", help="Spindle level, on its rim, as a blade always is.")]
Surface = Annotated[str, typer.Option("--on", metavar="WHAT", help="What was touched: " + ", ".join(_SURFACES))]
How = Annotated[str, typer.Option("--how", metavar="TEXT", help="How touch was noticed.")]
PlusMinus = Annotated[str, typer.Option("--plus-minus", metavar="LENGTH", help="Uncertainty of the whole touch-off.")]
Record = Annotated[bool, typer.Option("--record", help="Record it; without this nothing is recorded.")]
AsLeft = Annotated[bool, typer.Option("--as-left", help="The values are keyed and stay in the control.")]


def add_to(app: typer.Typer) -> None:
    """Add this command to the program."""
    app.command("touchoff", rich_help_panel="At the machine")(touchoff)


def touchoff(
    machine: Machine,
    tool: Tool,
    z: Z,
    thickness: Thickness = None,
    shim: Shim = "",
    support: Support = "",
    table: OnTable = "",
    tilt: Tilt = "",
    upright: Upright = False,
    on: Surface = "stone",
    how: How = "",
    plus_minus: PlusMinus = "",
    record: Record = False,
    as_left: AsLeft = False,
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Work out a tool's length, or a blade's diameter, from a touch-off, and the safe Z that follows.

    It reckons with the table height recorded today. With --record --as-left it keeps the value with everything
    that was in force. Exit code 1 if the values bring about something that is short, hits, fails or is unknown.

    Example: profilekeeper touchoff quayside/saw-2 4 --z -180.2 --thickness 29.8 --thickness 30.0 --tilt 90
    """
    from profilekeeper.actions import touching
    from profilekeeper.actions.snapshot import Act

    if record != as_left:
        raise UsageError("to record it say both: --record --as-left, once the value is keyed at the control")
    if on not in _SURFACES:
        raise UsageError(f"{on!r} cannot be touched; say one of {', '.join(_SURFACES)}")
    keeper = opened(store)
    asked = tilt or _asked_tilt(keeper.profile(keeper.known(machine)).data)
    reading = touching.Reading(
        z=z, thicknesses=tuple(thickness or ()), shim=shim, support=support, table=table, tilt=asked, upright=upright,
        touched=on, how=how, plus_minus=plus_minus,
    )  # fmt: skip
    who = person(by) if record else _anyone(by)
    act = Act(kind="as-left", person=who, why=why, at=now(), new_id=new_id, how="measured")
    told = touching.touch_off(keeper, machine, tool, reading, act, keep=record)
    _tell(told, json)
    if told.refused:
        raise typer.Exit(1)


def _anyone(by: str) -> Person:
    """Who does it where nothing is recorded: nobody is asked."""
    from profilekeeper.actions.opened import Person

    return Person(name=(by or os.environ.get("PROFILEKEEPER_BY", "")).strip() or "nobody yet")


def _asked_tilt(data: object) -> str:
    """The tilt reading, asked for where the head tilts and somebody can be asked."""
    axes = data.get("axes") if isinstance(data, dict) else None
    tilts = [a for a in (axes or {}).values() if isinstance(a, dict) and a.get("kind") == "tilt"]
    if not tilts or not is_terminal():
        return ""
    return str(typer.prompt("Tilt reading at touch (Enter: not looked at)", default="", show_default=False, err=True))


def _tell(told: Touched, json: bool) -> None:
    from profilekeeper.cli.as_json import print_json

    if json:
        print_json(told)
        return
    for line in _lines(told):
        print(line)
    if told.recorded is not None:
        from profilekeeper.cli.plain import recorded

        recorded(told.recorded, False)


def _lines(told: Touched) -> list[str]:
    """The answer line by line: the value, how sure it is, what changes, the safe Z that follows."""
    before = "none was recorded" if told.before is None else f"recorded is {told.before}"
    lines = [f"{told.machine} {told.tool}: {told.word} {told.found} ± {told.known_to}, {before}."]
    if told.surface is not None:
        stone = f", stone {told.thickness}" if told.thickness is not None else ""
        lines.append(f"  reckoned with the table at {told.surface}{stone}")
    if told.spread is not None:
        lines.append(f"  the stone was gauged {told.spread} apart; its highest point governs")
    lines += [f"  {note}" for note in told.notes]
    lines.append(f"  {_safe_z(told)}")
    lines += [f"  {finding.verdict}: {finding.sentence}" for finding in told.refused]
    if told.recorded is None:
        lines.append("  nothing is recorded; key it at the control, then say --record --as-left")
    return lines


def _safe_z(told: Touched) -> str:
    if told.safe_z is None:
        return f"the safe Z that follows cannot be told; not recorded: {', '.join(told.lacking)}"
    now = f", recorded is {told.safe_z_before}" if told.safe_z_before is not None else ", none is recorded"
    raised = ": raise it" if told.is_enough is False else ""
    from_what = f"touch on the highest of stone and clamps {told.touch} plus {told.margin}"
    return f"safe Z {told.safe_z} or higher: {from_what}{now}{raised}"
