"""Commands about the store itself: start it, bring machines into it, look whether it is whole, try it out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from profilekeeper.cli.options import By, Json, Machine, StoreFolder, Why, is_terminal, new_id, now, opened, person

__all__ = ["add_to"]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program."""
    app.command("start", short_help="Begin a store.")(start)
    app.command("add-machine", short_help="Add a machine.")(add_machine)
    app.command("share", short_help="Record shared rules or a reading order.")(share)
    app.command("put-back", short_help="Put edited or deleted files back.")(put_back)
    app.command("audit", short_help="Look whether the store is whole.")(audit)
    app.command("demo", short_help="Build a demo store and walk the job.")(demo)


def start(
    folder: Annotated[Path, typer.Argument(help="A new or empty folder.")],
    fleet: Annotated[str, typer.Option("--fleet", metavar="NAME", help="What the fleet is called.")] = "",
    by: By = "",
    json: Json = False,
) -> None:
    """Begin a store: a folder that holds the records of a fleet.

    Example: profilekeeper start fleet --fleet "Harbour stone" --by "R. Okonjo"
    """
    from profilekeeper.actions.starting import start as begin
    from profilekeeper.cli import plain

    plain.started(begin(folder, fleet=fleet, person=person(by), at=now(), new_id=new_id), json)


def add_machine(
    machine: Machine,
    file: Annotated[Path | None, typer.Option("--from", metavar="FILE", help="A profile written as a file.")] = None,
    like: Annotated[
        str, typer.Option("--like", metavar="SHOP/MACHINE", help="A sister: take over what may be copied.")
    ] = "",
    machine_class: Annotated[str, typer.Option("--class", metavar="TEXT", help="Its class: sisters share it.")] = "",
    maker: Annotated[str, typer.Option("--maker", metavar="TEXT", help="Its maker.")] = "",
    model: Annotated[str, typer.Option("--model", metavar="TEXT", help="Its model.")] = "",
    serial: Annotated[str, typer.Option("--serial", metavar="TEXT", help="Its serial number.")] = "",
    control: Annotated[str, typer.Option("--control", metavar="TEXT", help="Its control.")] = "",
    unit: Annotated[str, typer.Option("--unit", metavar="mm|in", help="Unit of length on its screen.")] = "",
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Add a machine: from a file, from a sister, or with what you know of it now; the rest can come later.

    At a terminal it asks for what was not said. No geometry is needed to begin.

    Example: profilekeeper add-machine quayside/saw-3 --class "tilting-head bridge saw" --unit mm
    """
    from profilekeeper.actions import starting
    from profilekeeper.actions.files import read_file
    from profilekeeper.cli import plain
    from profilekeeper.cli.asking import ask_facts

    keeper, who = opened(store), person(by)
    if file is not None:
        text = starting.text_of(read_file(file), str(file))
    elif like:
        text = starting.profile_like(keeper.profile(keeper.known(like)), machine, new_id)
    else:
        facts = {
            "class": machine_class, "maker": maker, "model": model, "serial": serial, "control": control, "unit": unit,
        }  # fmt: skip
        text = starting.blank_profile(machine, ask_facts(facts) if is_terminal() else facts, new_id)
    done = starting.add_machine(keeper, machine, text, person=who, why=why, at=now(), new_id=new_id)
    plain.recorded(done, json)


def share(
    file: Annotated[Path, typer.Argument(help="A rule set or a reading order.")],
    store: StoreFolder = None,
    by: By = "",
    why: Why = "",
    json: Json = False,
) -> None:
    """Record what machines share: the rules of a class, or the reading order of a control.

    Example: profilekeeper share tilting-bridge-saw.yaml --why "table limit after the new topping"
    """
    from profilekeeper.actions.sharing import share as record_shared
    from profilekeeper.cli import plain

    plain.shared(record_shared(opened(store), file, person=person(by), why=why, at=now()), json)


def put_back(
    machine: Machine,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Put a machine's files in the folder back as they were recorded, after a hand edit or a deletion.

    Nothing is lost: what was edited by hand is kept in the store's own folder, and you are told where.

    Example: profilekeeper put-back quayside/saw-2
    """
    from profilekeeper.actions.putting_back import put_back as restore_files
    from profilekeeper.actions.putting_back import strayed
    from profilekeeper.cli import plain

    keeper = opened(store)
    files = strayed(keeper, machine)
    if files and not yes and is_terminal():
        typer.confirm(f"Put back {', '.join(f.path for f in files)}?", abort=True, err=True)
    plain.files_put_back(restore_files(keeper, machine), json)


def audit(store: StoreFolder = None, json: Json = False) -> None:
    """Look whether the store is whole: history, every recorded text, every mark and picture.

    Exit code 1 if anything is damaged.

    Example: profilekeeper audit
    """
    from profilekeeper.actions.auditing import audit as look_through
    from profilekeeper.cli import plain
    from profilekeeper.cli.progress import counting

    with counting("looking through") as tell:
        result = look_through(opened(store), tell=tell)
    plain.audited(result, json)
    if any(flaw.is_damage for flaw in result.flaws):
        raise typer.Exit(1)


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo store is put.")] = Path("profilekeeper-demo"),
) -> None:
    """Build a store of 13 invented machines with two years of history, and walk the whole job with it.

    Example: profilekeeper demo
    """
    from profilekeeper.cli.demo import walk

    walk(folder, at=now())
