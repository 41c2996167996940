"""Results drawn and laid out: sheets, drawings, charts.

A drawing is SVG text on A4 that our own code writes; hatches and line types carry the meaning, colour only
repeats it. Names are loaded on first use, so that starting the program waits for none of it.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from profilekeeper.report.linework import Matter
    from profilekeeper.report.palette import VERDICT_COLOURS
    from profilekeeper.report.paper import CAUTION, Title
    from profilekeeper.report.picture import pdf_of, png_of
    from profilekeeper.report.plan_drawing import Mark, plan_view
    from profilekeeper.report.side_drawing import SideScene, side_scene, side_view
    from profilekeeper.report.terminal_drawing import ASCII, BLOCKS, Glyphs, terminal_side_view

__all__ = [
    "ASCII",
    "BLOCKS",
    "CAUTION",
    "VERDICT_COLOURS",
    "Glyphs",
    "Mark",
    "Matter",
    "SideScene",
    "Title",
    "pdf_of",
    "plan_view",
    "png_of",
    "side_scene",
    "side_view",
    "terminal_side_view",
]

_HOMES = {
    "linework": ("Matter",),
    "palette": ("VERDICT_COLOURS",),
    "paper": ("CAUTION", "Title"),
    "picture": ("pdf_of", "png_of"),
    "plan_drawing": ("Mark", "plan_view"),
    "side_drawing": ("SideScene", "side_scene", "side_view"),
    "terminal_drawing": ("ASCII", "BLOCKS", "Glyphs", "terminal_side_view"),
}


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"{__name__}.{home}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
