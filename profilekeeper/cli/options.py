"""Options that many commands share, spelt the same everywhere, and what a command asks of its surroundings."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from profilekeeper.actions.opened import Opened, Person

__all__ = [
    "By",
    "Json",
    "Machine",
    "Only",
    "Set",
    "StoreFolder",
    "TakeOut",
    "Why",
    "close_stores",
    "is_terminal",
    "new_id",
    "now",
    "opened",
    "person",
]

_OPEN: list[Opened] = []
_ALPHABET = "abcdefghijkmnpqrstuvwxyz23456789"
"""Without l, o, 0 and 1, which people mistake for one another when reading an id aloud."""

StoreFolder = Annotated[
    Path | None,
    typer.Option(
        "--store",
        metavar="FOLDER",
        envvar="PROFILEKEEPER_STORE",
        help="The store; left out: the one around this folder.",
        show_envvar=False,
    ),
]
By = Annotated[
    str, typer.Option("--by", metavar="NAME", help="Who does this (or set PROFILEKEEPER_BY once).", show_default=False)
]
Why = Annotated[str, typer.Option("--why", metavar="TEXT", help="The reason, in a few words.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON, for programs.")]
Machine = Annotated[str, typer.Argument(metavar="SHOP/MACHINE", help="The machine, such as quayside/saw-2.")]
Only = Annotated[
    list[str] | None,
    typer.Option(
        "--only", metavar="POINTER", help="Only settings at or below this pointer; * stands for any one step."
    ),
]
Set = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="POINTER=VALUE", help="A value as read, such as /tools/21/length=212.730; repeat it."
    ),
]
TakeOut = Annotated[
    list[str] | None,
    typer.Option("--take-out", metavar="POINTER", help="A setting that is no longer there; repeat it."),
]


def opened(store: Path | None) -> Opened:
    """The store that a command works in."""
    from profilekeeper.actions.opened import open_store

    keeper = open_store(store, Path.cwd())
    _OPEN.append(keeper)
    return keeper


def close_stores() -> None:
    """Let go of what `opened` opened; the program does so at its end, whatever happened."""
    while _OPEN:
        _OPEN.pop().close()


def person(by: str) -> Person:
    """Who does this: as said, as PROFILEKEEPER_BY says, or asked once at a terminal.

    Raises:  UsageError, if nobody is named and nobody can be asked.
    """
    from profilekeeper.actions.opened import Person

    name = (by or os.environ.get("PROFILEKEEPER_BY", "")).strip()
    if not name and is_terminal():
        name = typer.prompt("Who are you? (set PROFILEKEEPER_BY to be asked no more)", err=True).strip()
    if not name:
        raise UsageError("every record says by whom; name yourself with --by NAME, or set PROFILEKEEPER_BY once")
    return Person(name=name)


def now() -> datetime:
    """The present moment with the time zone of this computer."""
    return datetime.now().astimezone().replace(microsecond=0)


def new_id() -> str:
    """A new random id of ten characters."""
    import secrets

    return "".join(secrets.choice(_ALPHABET) for _ in range(10))


def is_terminal() -> bool:
    """Whether a person can be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()
