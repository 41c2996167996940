"""Commands about room for the head: a swing drawn, and where in the travel a swing has the room it needs."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.cli.options import Machine, StoreFolder, opened
from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from profilekeeper.actions.drawing import SwingDrawn
    from profilekeeper.report import SideScene, Title

__all__ = ["add_to"]

_VIEWS = ("side", "plan")
_FILES = (".svg", ".png", ".pdf")

ToolNumber = Annotated[str, typer.Option("--tool", metavar="N", help="Number of the tool.")]
To = Annotated[Path | None, typer.Option("--to", metavar="FILE", help="Into this .svg, .png or .pdf file.")]
Replace = Annotated[bool, typer.Option("--replace", help="Write over the file if it is there already.")]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program."""
    app.command("draw", short_help="Draw the swing of a tool.")(draw)


def draw(
    machine: Machine,
    tool: ToolNumber,
    at: Annotated[
        str,
        typer.Option(
            "--at", metavar="SPOT", help="A tool change or set-up, or X=..,Y=..,Z=..; left out: where it is changed."
        ),
    ] = "",
    view: Annotated[str, typer.Option("--view", metavar="side|plan", help="From the side or from above.")] = "side",
    to: To = None,
    replace: Replace = False,
    store: StoreFolder = None,
) -> None:
    """Draw the tilt swing of a tool, as new, among what stands there, with the least gap marked.

    Without --to it shows the side view in characters. Readings are those of the machine, for the bare nose.

    Example: profilekeeper draw quayside/saw-1 --tool 1 --at "blade 400" --to swing.svg
    """
    from profilekeeper.actions.drawing import swing_at

    if view not in _VIEWS:
        raise UsageError(f"{view!r} is no view; say side or plan")
    if view == "plan" and to is None:
        raise UsageError("a plan needs a file; say --to plan.svg")
    if to is not None:
        _file_kind(to)
    drawn = swing_at(opened(store), machine, tool, at)
    if to is None:
        _show(drawn)
        return
    _keep(to, _side(drawn) if view == "side" else _plan(drawn), replace)


def _show(drawn: SwingDrawn) -> None:
    """The silhouette at the width of the screen, the finding and the caution."""
    from profilekeeper.report import ASCII, BLOCKS, CAUTION, terminal_side_view

    wide, tall = shutil.get_terminal_size((80, 24))
    glyphs = BLOCKS if _can_write(BLOCKS.tool + BLOCKS.witness + BLOCKS.table) else ASCII
    picture = terminal_side_view(
        _scene(drawn), min(wide, 100), min(max(tall - 6, 16), 32), glyphs=glyphs, unit=drawn.asked.case.unit
    )
    print(picture, end="")
    for words in (f"{drawn.finding.verdict}: {drawn.finding.sentence}", *_more(drawn), CAUTION):
        print(_filled(words, wide))


def _more(drawn: SwingDrawn) -> tuple[str, ...]:
    mend = (f"To mend it: {drawn.finding.mend}.",) if drawn.finding.mend else ()
    return (*mend, *drawn.finding.notes)


def _can_write(signs: str) -> bool:
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return False
    return True


def _filled(text: str, width: int) -> str:
    import textwrap

    return textwrap.fill(text, max(width, 20), break_long_words=False)


def _scene(drawn: SwingDrawn) -> SideScene:
    from profilekeeper.report import side_scene

    return side_scene(drawn.query, drawn.gap, lift=drawn.lift, table=drawn.table)


def _side(drawn: SwingDrawn) -> str:
    from profilekeeper.report import Matter, side_view

    return side_view(
        _scene(drawn),
        _title(drawn),
        verdict=str(drawn.finding.verdict),
        sentences=(drawn.finding.sentence, *_more(drawn)),
        matters={name: Matter(what) for name, what in drawn.matters.items()},
        unit=drawn.asked.case.unit,
    )


def _plan(drawn: SwingDrawn) -> str:
    from profilekeeper.report import Mark, Matter, plan_view

    joints = drawn.gap.joints
    return plan_view(
        drawn.query.obstacles,
        _title(drawn),
        verdict=str(drawn.finding.verdict),
        sentences=(drawn.finding.sentence, *_more(drawn)),
        marks=(Mark(name=drawn.spot.title, x_mm=joints.x_mm, y_mm=joints.y_mm),),
        swing=drawn.query,
        at=joints,
        matters={name: Matter(what) for name, what in drawn.matters.items()},
        unit=drawn.asked.case.unit,
    )


def _title(drawn: SwingDrawn) -> Title:
    from profilekeeper.report import Title

    asked = drawn.asked
    return Title(
        machine=asked.machine, tool=asked.tool.title, position=drawn.spot.title, snapshot=asked.snapshot, date=asked.day
    )


def _file_kind(path: Path) -> str:
    kind = path.suffix.lower()
    if kind not in _FILES:
        raise UsageError(f"{path}: drawings are kept as {', '.join(_FILES)}; name such a file")
    return kind


def _keep(path: Path, drawing: str, replace: bool) -> None:
    """Write the drawing as its file's name says, whole or not at all."""
    from profilekeeper.actions.files import write_file
    from profilekeeper.report import pdf_of, png_of

    kind = _file_kind(path)
    if path.exists() and not replace:
        raise UsageError(f"{path}: is there already and was left alone; give another name, or say --replace")
    data = png_of(drawing) if kind == ".png" else pdf_of(drawing) if kind == ".pdf" else drawing.encode("utf-8")
    write_file(path, data, replace=replace)
    print(f"Drawn: {path}")
