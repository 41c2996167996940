"""Commands about room for the head: a swing drawn, and where in the travel a swing has the room it needs."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from profilekeeper.cli.options import Json, Machine, StoreFolder, opened
from profilekeeper.errors import UsageError

if TYPE_CHECKING:
    from profilekeeper.actions.clear_spots import ClearSpot, WhereClear
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
    app.command("place", short_help="Find where a tool swings clear.")(place)


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


def place(
    machine: Machine,
    tool: ToolNumber,
    z: Annotated[
        str, typer.Option("--z", metavar="LENGTH", help="Z of the bare nose at which it tilts; left out: its highest.")
    ] = "",
    required: Annotated[
        str, typer.Option("--required", metavar="LENGTH", help="Room wanted; left out: what the rules want.")
    ] = "",
    pitch: Annotated[
        str, typer.Option("--pitch", metavar="LENGTH", help="How finely edges are followed; left out: 10 mm.")
    ] = "",
    to: To = None,
    replace: Replace = False,
    store: StoreFolder = None,
    json: Json = False,
) -> None:
    """Find where in the XY travel a tool, as new, tilts clear of table, largest stone and no-go zones.

    Tells the share that is clear, the best spots, what is nearest elsewhere, and where there is no clear spot the
    rise of Z that makes one. Exit code 1 if there is none.

    Example: profilekeeper place quayside/saw-1 --tool 2 --z -60
    """
    from profilekeeper.actions.clear_spots import where_clear
    from profilekeeper.cli.as_json import print_json
    from profilekeeper.cli.progress import counting

    if to is not None:
        _file_kind(to)
    with counting(f"{machine}: where it swings clear") as tell:
        told = where_clear(opened(store), machine, tool, z=z, required=required, pitch=pitch, tell=tell)
    if json:
        print_json(_place_data(told))
    else:
        _print_place(told)
    if to is not None:
        _keep(to, _place_plan(told), replace, quiet=json)
    if not told.spots:
        raise typer.Exit(1)


def _print_place(told: WhereClear) -> None:
    from profilekeeper.report import CAUTION

    wide = shutil.get_terminal_size((80, 24)).columns
    asked, chart = told.asked, told.chart
    head = f"{asked.machine}, {asked.tool.title} at Z {told.z}: {_share(told)}"
    print(_filled(head, wide))
    for count, spot in enumerate(told.spots):
        print(_filled(f"  {count + 1}  {_spot_words(spot)}", wide))
    if not told.spots:
        print(_filled(f"  {_rise_words(told)}", wide))
    print("\n".join(["", *(f"  {row}" for row in chart.rows), ""]))
    x, y = (round(mm) for mm in chart.cell_mm)
    print(_filled(f"X to the right, Y up, a sign is {x} x {y} mm; . clear, + the edge runs here, 1-3 best spots", wide))
    for letter, name, share in chart.nearest:
        print(_filled(f"{letter} too near: {name} ({_percent(share)} of what is not clear)", wide))
    for words in (told.side, *told.notes, CAUTION):
        print(_filled(words, wide))


def _share(told: WhereClear) -> str:
    if not told.spots:
        return f"no spot of the XY travel has {told.required} of room for sure."
    return f"{_percent(told.clear_share)} of the XY travel has {told.required} of room or more for sure."


def _percent(share: float) -> str:
    """Never rounded up to all of it."""
    return f"{int(share * 1000) / 10:g} %"


def _spot_words(spot: ClearSpot) -> str:
    reach = "" if spot.reach is None else f", reach {spot.reach}"
    gap = f"{spot.gap.number:f} ± {spot.plus_minus}"
    return f"X {spot.x} Y {spot.y}: {gap} to {spot.nearest}{reach}"


def _rise_words(told: WhereClear) -> str:
    rise = told.rise
    if rise is None:
        return "No rise of Z within the travel was found that makes one: use a smaller tool, or move what stands there."
    return (
        f"Least rise found that makes one: {rise.by}, to Z {rise.z}, at X {rise.x} Y {rise.y} "
        f"(nearest there: {rise.nearest}). Spots on a coarse grid were tried; elsewhere less may do."
    )


def _place_data(told: WhereClear) -> dict[str, object]:
    """The answer for programs; the room of each spot is left out, it is in its numbers."""
    asked = told.asked
    fields = ("x", "y", "gap", "plus_minus", "nearest", "reach")
    return {
        "machine": asked.machine,
        "tool": asked.tool.number,
        "snapshot": asked.snapshot,
        "z": told.z,
        "required": told.required,
        "pitch": told.pitch,
        "clear_share": told.clear_share,
        "spots": [{name: getattr(spot, name) for name in fields} for spot in told.spots],
        "least_rise": told.rise,
        "not_clear": [{"nearest": name, "share": share} for _, name, share in told.chart.nearest],
        "chart": told.chart.rows,
        "side": told.side,
        "notes": told.notes,
    }


def _place_plan(told: WhereClear) -> str:
    from profilekeeper.report import Mark, Matter, Title, plan_view

    asked, best = told.asked, told.best
    marks = [
        Mark(name=f"spot {i + 1}", x_mm=s.room.nominal.joints.x_mm, y_mm=s.room.nominal.joints.y_mm)
        for i, s in enumerate(told.spots)
    ]
    first = told.spots[0].room if told.spots else None
    words = [_share(told), *([] if told.spots else [_rise_words(told)]), *map(_spot_words, told.spots), told.side]
    return plan_view(
        told.found.query.obstacles if first is None else first.ask.query(worst=False).obstacles,
        Title(
            machine=asked.machine,
            tool=asked.tool.title,
            position=f"Z {told.z}",
            snapshot=asked.snapshot,
            date=asked.day,
        ),
        verdict="short" if first is None else str(first.verdict(told.found.required_mm, asked.want.warn_mm)),
        sentences=(*words, *told.notes),
        marks=marks,
        swing=None if first is None else first.ask.query(worst=False),
        at=None if first is None else first.nominal.joints,
        ground=told.found.place_map(best),
        warn_mm=asked.want.warn_mm,
        matters={name: Matter(what) for name, what in told.matters.items()},
        unit=asked.case.unit,
    )


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


def _keep(path: Path, drawing: str, replace: bool, *, quiet: bool = False) -> None:
    """Write the drawing as its file's name says, whole or not at all."""
    from profilekeeper.actions.files import write_file
    from profilekeeper.report import pdf_of, png_of

    kind = _file_kind(path)
    if path.exists() and not replace:
        raise UsageError(f"{path}: is there already and was left alone; give another name, or say --replace")
    data = png_of(drawing) if kind == ".png" else pdf_of(drawing) if kind == ".pdf" else drawing.encode("utf-8")
    write_file(path, data, replace=replace)
    if not quiet:
        print(f"Drawn: {path}")
