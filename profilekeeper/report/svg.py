"""SVG elements as text: escaped, the same on every run, and nothing fetched from elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from unicodedata import category, east_asian_width
from xml.sax.saxutils import escape, quoteattr

from profilekeeper.errors import InvalidShape

__all__ = [
    "FONT",
    "Point",
    "clipped_text",
    "document",
    "element",
    "group",
    "line",
    "number",
    "path_through",
    "text",
    "text_width",
    "wrapped",
]

Point = tuple[float, float]

# One width for all letters: what a line of text takes is known here, without asking any font.
FONT = "'DejaVu Sans Mono', 'Noto Sans Mono', Menlo, Consolas, monospace"
# Advance of every glyph of DejaVu Sans Mono, 1233/2048 of the size; wide East Asian glyphs take a square.
_NARROW, _WIDE = 1233 / 2048, 1.0


def number(value: float) -> str:
    """A number as short as it can be with four decimals, never with an exponent, never `-0`."""
    if not isfinite(value):
        raise InvalidShape(f"a drawing holds finite numbers only, found {value!r}")
    short = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if short == "-0" else short


def element(tag: str, content: str = "", /, **attributes: str | float | None) -> str:
    """One element; `_` in an attribute's name stands for `-`, None leaves it out."""
    parts = [tag]
    for name, value in attributes.items():
        if value is not None:
            shown = value if isinstance(value, str) else number(value)
            parts.append(f"{name.rstrip('_').replace('_', '-')}={quoteattr(_printable(shown))}")
    opened = " ".join(parts)
    return f"<{opened}>{content}</{tag}>" if content else f"<{opened}/>"


def group(parts: Iterable[str], /, **attributes: str | float | None) -> str:
    """Elements kept together."""
    return element("g", "\n".join(part for part in parts if part), **attributes)


def document(width_mm: float, height_mm: float, parts: Iterable[str], *, title: str) -> str:
    """A whole drawing on white, one unit of its coordinates to the millimetre of paper."""
    size = {"width": f"{number(width_mm)}mm", "height": f"{number(height_mm)}mm"}
    paper = element("rect", width=width_mm, height=height_mm, fill="#fff")
    body = "\n".join(["", element("title", escape(_printable(title))), paper, *parts, ""])
    opened = {"xmlns": "http://www.w3.org/2000/svg", **size, "viewBox": f"0 0 {number(width_mm)} {number(height_mm)}"}
    return element("svg", body, **opened, font_family=FONT, role="img") + "\n"


def text(
    at: Point,
    words: str,
    *,
    size: float = 3.0,
    anchor: str = "start",
    turned_deg: float = 0.0,
    halo: bool = False,
    **more: str | float | None,
) -> str:
    """A line of text whose foot stands at a point; a halo keeps it legible over hatching."""
    x, y = at
    behind: dict[str, str | float | None] = {}
    if halo:
        behind = {"stroke": "#fff", "stroke_width": 1.0, "stroke_linejoin": "round", "paint_order": "stroke"}
    turn = f"rotate({number(turned_deg)} {number(x)} {number(y)})" if turned_deg else None
    placed = {"x": x, "y": y, "font_size": size, "text_anchor": None if anchor == "start" else anchor}
    return element("text", escape(_printable(words)), **placed, transform=turn, **behind, **more)


def text_width(words: str, size: float) -> float:
    """How wide a line of text is in the font drawn with, in mm of paper."""
    return size * sum(_advance(letter) for letter in words)


def clipped_text(words: str, size: float, room: float) -> str:
    """The text, or as much of it as fits with … behind it."""
    if text_width(words, size) <= room:
        return words
    kept = words
    while kept and text_width(kept + "…", size) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def wrapped(words: str, size: float, room: float) -> list[str]:
    """The text in lines no wider than the room; a word that is wider is cut short."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= room:
            lines[-1] = longer
        else:
            lines.append(clipped_text(word, size, room))
    return lines


def line(start: Point, end: Point, /, **attributes: str | float | None) -> str:
    """A straight line."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **attributes)


def path_through(points: Sequence[Point], *, closed: bool = True) -> str:
    """The `d` of a path through points."""
    steps = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def _advance(letter: str) -> float:
    if category(letter) in ("Mn", "Me", "Cf"):
        return 0.0
    return _WIDE if east_asian_width(letter) in "WF" else _NARROW


def _printable(words: str) -> str:
    """Without what XML 1.0 cannot hold (section 2.2, Char); line breaks and tabs become blanks."""
    return "".join(_kept(letter) for letter in words)


def _kept(letter: str) -> str:
    if letter in "\t\n\r":
        return " "
    code = ord(letter)
    is_char = 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000
    return letter if is_char and not 0x7F <= code <= 0x9F else "\N{REPLACEMENT CHARACTER}"
