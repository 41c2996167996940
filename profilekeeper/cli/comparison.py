"""Sister machines beside each other: what they share, who holds something else, by how much and since when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from profilekeeper.cli.as_json import print_json
from profilekeeper.cli.palette import STYLES
from profilekeeper.cli.tables import console, plain_table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from profilekeeper.fleet.rows import ClassComparison, Comparison, Held, Row

__all__ = ["compared"]

_WIDE = 100
_HIDDEN = {"own": "each machine's own", "wears": "that wear", "daily": "that change daily", "note": "remarks"}


def compared(result: Comparison, show_all: bool, csv: bool, json: bool) -> None:
    """A comparison, class by class: settings at odds first; everything if asked for."""
    from profilekeeper.actions.comparing import to_csv, to_json

    if json:
        print_json(to_json(result))
        return
    if csv:
        print(to_csv(result), end="")
        return
    screen = console()
    for sisters in result.classes:
        _print_class(screen, sisters, show_all)
    for note in (*result.notes, *_left_out(result)):
        screen.print(Text(note, style="italic"))


def _print_class(screen: Console, sisters: ClassComparison, show_all: bool) -> None:
    screen.print(Text.assemble((sisters.machine_class, "bold"), f"  {sisters.sentence}"))
    for note in sisters.notes:
        screen.print(Padding(Text(note, style="italic"), (0, 0, 0, 2)))
    rows = sisters.rows if show_all else sisters.at_odds
    if rows:
        columns = ("setting", "shared by most", "held by", "by how much", "since, by whom")
        table = plain_table(*(columns if screen.width >= _WIDE else columns[:-1]))
        for row in rows:
            for cells in _lines(row):
                table.add_row(*(cells if screen.width >= _WIDE else cells[:-1]))
        screen.print(table)
    hidden = ", ".join(f"{count} {_HIDDEN.get(word, word)}" for word, count in sisters.hidden.items() if count)
    if hidden and not show_all:
        screen.print(Padding(Text(f"not judged: {hidden} (--all shows them)", style="dim"), (0, 0, 1, 2)))


def _lines(row: Row) -> Iterator[tuple[Text, ...]]:
    """One line for the setting, then one for every value that machines hold."""
    shared = row.shared or ("tied" if row.tied else "none")
    yield Text(row.title, style="bold"), Text(shared), Text(""), Text(row.sentence, style="dim"), Text("")
    for held in row.held:
        if held.shown == row.shared and not held.hint:
            continue
        style = STYLES["tight"] if row.is_at_odds else ""
        amount = Text(held.delta_shown)
        if held.hint:
            amount.append(f"\n{held.hint}", style="italic")
        yield Text(""), Text(held.shown, style=style), Text(_names(held)), amount, Text(_since(row, held), style="dim")
    if row.missing:
        yield Text(""), Text("not recorded"), Text(", ".join(row.missing)), Text(""), Text("")


def _names(held: Held) -> str:
    return ", ".join(held.machines)


def _since(row: Row, held: Held) -> str:
    found = [row.since[machine] for machine in held.machines if machine in row.since]
    if not found:
        return ""
    oldest = min(found, key=lambda since: since.at)
    word = "at least since" if oldest.at_least else "since"
    return f"{word} {oldest.at:%Y-%m-%d}, {oldest.by}"


def _left_out(result: Comparison) -> Iterator[str]:
    for sisters in result.classes:
        if sisters.never_recorded:
            yield f"never recorded: {', '.join(sisters.never_recorded)}"
    if result.unclassed:
        yield f"of no class, so without sisters: {', '.join(result.unclassed)}"
    for machine, reason in result.unreadable.items():
        yield f"could not be read: {machine}: {reason}"
