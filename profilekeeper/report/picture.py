"""Drawings as pictures: the SVG set by typst, whose wheel brings its own fonts and needs no network."""

from __future__ import annotations

from typing import Literal

from profilekeeper.errors import FormatError
from profilekeeper.report.paper import PAPER

__all__ = ["pdf_of", "png_of"]

_MOST_DPI = 600


def png_of(drawing: str, *, dpi: int = 150) -> bytes:
    """The drawing as PNG, 150 dots an inch unless another number up to 600 is asked for.

    The same on every computer: only the fonts in typst's wheel are used (Latin, Greek, Cyrillic; a letter
    they lack shows as a box, while the SVG itself shows it wherever the viewer has a font).
    Raises:  FormatError, if the number of dots is out of range or typst is not installed.
    """
    if not 20 <= dpi <= _MOST_DPI:
        raise FormatError(f"a picture of {dpi} dots an inch", mend=f"ask for 20 to {_MOST_DPI}")
    return _set(drawing, "png", float(dpi))


def pdf_of(drawing: str) -> bytes:
    """The drawing as one PDF page of its true size: measured on paper, its scale holds."""
    return _set(drawing, "pdf", None)


def _set(drawing: str, kind: Literal["pdf", "png"], dpi: float | None) -> bytes:
    try:
        import typst
    except ImportError as error:
        raise FormatError("pictures need the package typst", mend="install it, or keep the drawing as SVG") from error
    wide, tall = PAPER
    page = (
        f"#set document(date: none)\n#set page(width: {wide:g}mm, height: {tall:g}mm, margin: 0mm)\n"
        f'#image(bytes(sys.inputs.drawing), format: "svg", width: {wide:g}mm)'
    )
    made = typst.compile(
        page.encode(), format=kind, ppi=dpi, sys_inputs={"drawing": drawing},
        font_paths=[], ignore_system_fonts=True,
    )  # fmt: skip
    if not isinstance(made, bytes):  # a drawing that filled more than its one page
        raise FormatError("the drawing does not fit one page", mend="this is a fault of ours; keep it as SVG")
    return made
