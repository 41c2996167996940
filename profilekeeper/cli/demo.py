"""The demo: builds the demo store and walks the whole job in it, with the very commands a person would type."""

from __future__ import annotations

import os
import shlex
import tempfile
from datetime import datetime
from pathlib import Path

import typer

from profilekeeper.actions.demo import build_demo, storm_text
from profilekeeper.cli.progress import counting
from profilekeeper.cli.tables import console

__all__ = ["walk"]

_WHO = "R. Okonjo"


def walk(folder: Path, *, at: datetime) -> None:
    """Build the demo store in `folder`, do a day's work in it aloud, and leave it for the user to play with."""
    with counting("building the demo store") as tell:
        demo = build_demo(folder, tell=tell)
    _say(
        f"The demo store lies in {folder}: {demo.machines} invented machines of 4 classes in 4 shops, "
        f"{demo.recorded} recorded acts over two years. Every number below is computed now."
    )
    struck = demo.storm.found.machine
    steps = (
        ("A machine as it stands: what was recorded of it, and by whom.", f"history {_SAW} --most 5"),
        ("Before anybody keys it: may tools be changed at Z -60 again, now with the 500 blade? It would hit the bin.",
         f"check {_SAW} --set {_SPOT}=-60"),
        ("At Z -2 it swings clear. That is keyed, and recorded as left.",
         f'snapshot {_SAW} --as-left --set {_SPOT}=-2 --by "{_WHO}" --why "spot lowered a little"'),
        ("What changed by it?", f"changes {_SAW}"),
        ("How does the head swing there?", f"draw {_SAW} --tool 2 --at default"),
        ("It ran well: those parts are proven now.",
         f'prove {_SAW} --ran {_SPOT.rpartition("/")[0]} --by "{_WHO}" --why "ten tool changes watched"'),
        (f"Then the storm. {struck} came up with its maker's defaults: recorded as found, which is never refused.",
         f'snapshot {struck} --as-found --from {{storm}} --by "{demo.storm.found.by}" --why "{demo.storm.found.why}"'),
        ("What is to be keyed back, to the last record before the storm?", f"restore {struck} --to previous --plan"),
        ("It is keyed back and recorded.",
         f'restore {struck} --to previous --yes --by "{_WHO}" --why "control dead after the storm"'),
        ("And the manager asks: which saws differ from their sisters?", 'compare --class "tilting bridge saw"'),
        ("What do the rules say of the whole fleet? Some of it was hidden.", "check quayside/saw-2 hilltop/centre-2"),
        ("Is the store whole?", "audit"),
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as scratch:
        storm = Path(scratch) / "after-the-storm.yaml"
        storm.write_text(storm_text(demo), encoding="utf-8")
        for number, (said, command) in enumerate(steps, start=1):
            _step(number, said, command, folder, {"storm": str(storm)})
    _say(
        f"The store stays in {folder}. Try it: `cd {folder}`, then `profilekeeper check`, "
        f"`profilekeeper show {struck}`, or open {_SAW}/profile.yaml in your editor."
    )


_SAW = "quayside/saw-1"
_SPOT = "/tool_changes/default/Z"


def _step(number: int, said: str, command: str, folder: Path, names: dict[str, str]) -> None:
    from profilekeeper.cli.main import app

    _say(f"{number}. {said}")
    shown = command.replace("{storm}", "after-the-storm.yaml")
    typer.echo(f"   profilekeeper {shown}\n")
    arguments = [part.format(**names) for part in shlex.split(command)]
    os.environ["PROFILEKEEPER_STORE"] = str(folder)
    app(arguments, standalone_mode=False)
    typer.echo("")


def _say(text: str) -> None:
    from rich.text import Text

    console().print(Text(text, style="bold"))
