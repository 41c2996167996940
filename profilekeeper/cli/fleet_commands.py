"""Commands about many machines at once."""

from __future__ import annotations

from typing import Annotated

import typer

from profilekeeper.cli.options import Json, Only, StoreFolder, opened

__all__ = ["add_to"]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program."""
    app.command("compare", short_help="Compare sister machines.")(compare)


def compare(
    what: Annotated[
        list[str] | None, typer.Argument(metavar="[WHAT]...", help="Machines or shops; left out: the whole fleet.")
    ] = None,
    only: Only = None,
    machine_class: Annotated[str, typer.Option("--class", metavar="TEXT", help="Only machines of this class.")] = "",
    show_all: Annotated[
        bool, typer.Option("--all", help="Settings that agree, are a machine's own or wear, too.")
    ] = False,
    unit: Annotated[str, typer.Option("--unit", metavar="mm|in", help="Unit of the amounts.")] = "",
    csv: Annotated[bool, typer.Option("--csv", help="Print as CSV, for a spreadsheet.")] = False,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Compare sister machines: which settings that ought to agree do not, by how much, since when and by whom.

    Machines are compared within their class, whatever unit their screens show. Exit code 1 if any deviates.

    Example: profilekeeper compare --class "tilting-head bridge saw" --only /axes
    """
    from profilekeeper.actions import comparing
    from profilekeeper.cli import comparison

    result = comparing.compare_machines(
        opened(store),
        tuple(what or ()),
        settings=tuple(only or ()),
        machine_class=machine_class or None,
        include_all=show_all,
        unit=unit or None,
    )
    comparison.compared(result, show_all, csv, json)
    if result.deviations:
        raise typer.Exit(1)
