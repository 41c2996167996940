"""The sheet a drawing stands on: A4 lying, title block, scale, scale bar, legend.

Units: mm of paper, from the upper left corner, downwards. Paper size after ISO 216; title block and
preferred scales in the manner of ISO 7200 and ISO 5455, with scales between them where room is short;
from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from profilekeeper.errors import InvalidShape
from profilekeeper.quantities import LengthUnit
from profilekeeper.report.linework import Matter, line_type, surface
from profilekeeper.report.palette import VERDICT_COLOURS
from profilekeeper.report.svg import Point, clipped_text, element, line, number, text, wrapped

__all__ = [
    "CAUTION",
    "DRAWING",
    "PAPER",
    "Title",
    "View",
    "framed",
    "key_row",
    "matter_rows",
    "rounded_down",
    "rounded_off",
    "rounded_up",
    "scale_bar",
    "side_column",
    "title_block",
    "verdict_lines",
]

PAPER = (297.0, 210.0)
DRAWING = (10.0, 10.0, 228.0, 170.0)
_COLUMN = (230.0, 289.0)
_FRAME = (8.0, 8.0, 289.0, 202.0)
_BLOCK_TOP = 172.0
_MOST_ROWS = 18  # of the verdict's sentences: the legend needs what is below
_SCALES = (1, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150, 200, 250, 300, 400, 500)

CAUTION = (
    "Numbers do not make a machine safe: verify at the machine at reduced speed, by a qualified person, "
    "as its maker's manual says. Not drawn and not judged: hoses, cables, splash guards, the operator."
)

# To about a tenth of a millimetre or finer: a drawing is read beside a tape or a feeler gauge.
_PLACES = {
    LengthUnit.MM: 1, LengthUnit.CM: 2, LengthUnit.M: 4, LengthUnit.IN: 3, LengthUnit.FT: 4, LengthUnit.UM: 0,
}  # fmt: skip
# Less than any control resolves, more than a computed length of some metres is off.
_NOISE_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Title:
    """What the title block says; every text as the shop writes it, in any script."""

    machine: str
    tool: str
    position: str
    snapshot: str
    date: str
    heading: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A part of the plane to scale on paper: `scale` mm of the plane to 1 mm of paper."""

    scale: float
    origin_mm: Point
    paper: Point

    @classmethod
    def fitted(cls, low: Point, high: Point, room: tuple[float, float, float, float]) -> View:
        """The largest usual scale at which a rectangle of the plane fits, in the middle of its room.

        Raises:  InvalidShape, if it would take a scale beyond 1 : 500.
        """
        left, top, right, bottom = room
        wide, tall = high[0] - low[0], high[1] - low[1]
        fits = (s for s in _SCALES if wide / s <= right - left and tall / s <= bottom - top)
        scale = next(fits, None)
        if scale is None:
            raise InvalidShape(f"{wide:g} by {tall:g} mm is too large to draw on one sheet; check the outlines")
        paper = ((left + right) / 2, (top + bottom) / 2)
        return cls(scale=scale, origin_mm=((low[0] + high[0]) / 2, (low[1] + high[1]) / 2), paper=paper)

    def at(self, point: Point) -> Point:
        """Where a point of the plane stands on paper."""
        return (
            self.paper[0] + (point[0] - self.origin_mm[0]) / self.scale,
            self.paper[1] - (point[1] - self.origin_mm[1]) / self.scale,
        )

    def all_at(self, points: Iterable[Point]) -> list[Point]:
        """Where points of the plane stand on paper."""
        return [self.at(point) for point in points]

    def marks(self) -> dict[str, str | float | None]:
        """The scale and the plane's zero, so that a program can measure the drawing."""
        zero = self.at((0.0, 0.0))
        return {"data_scale": self.scale, "data_zero": f"{zero[0]:.6f} {zero[1]:.6f}"}


def rounded_down(length_mm: float, unit: LengthUnit) -> str:
    """A length as shown, never more than it is: for room that there is."""
    return _shown(floor((length_mm + _NOISE_MM) * _steps_per_mm(unit)), unit)


def rounded_up(length_mm: float, unit: LengthUnit) -> str:
    """A length as shown, never less than it is: for room that is needed."""
    return _shown(ceil((length_mm - _NOISE_MM) * _steps_per_mm(unit)), unit)


def rounded_off(length_mm: float, unit: LengthUnit) -> str:
    """A length as shown, to the nearest: for where something stands."""
    return _shown(round(length_mm * _steps_per_mm(unit)), unit)


def _steps_per_mm(unit: LengthUnit) -> float:
    return 10.0 ** _PLACES[unit] / float(unit.mm_each)


def _shown(steps: int, unit: LengthUnit) -> str:
    places = _PLACES[unit]
    digits = f"{abs(steps):0{places + 1}d}"
    whole, part = (digits[:-places], f".{digits[-places:]}") if places else (digits, "")
    return f"{'−' if steps < 0 else ''}{whole}{part}"


def framed() -> str:
    """The frame of the sheet."""
    left, top, right, bottom = _FRAME
    box = element("rect", x=left, y=top, width=right - left, height=bottom - top, **line_type("outline"))
    thin = line_type("dimension")
    across = line((left, _BLOCK_TOP), (right, _BLOCK_TOP), **thin)
    return box + across + line((_COLUMN[0], top), (_COLUMN[0], _BLOCK_TOP), **thin)


def title_block(title: Title, scale: float | None) -> str:
    """The lower strip: what was drawn, from which record, to which scale, and the caution."""
    shown = "not to scale" if scale is None else f"1 : {number(scale)}"
    cells = [
        ("machine", title.machine, 62.0),
        ("tool", title.tool, 76.0),
        ("position", title.position, 55.0),
        ("snapshot", title.snapshot, 40.0),
        ("date", title.date, 26.0),
        ("scale", shown, 22.0),
    ]
    parts, x = [], _FRAME[0]
    for name, words, wide in cells:
        parts.append(_cell(name, words, x, wide))
        x += wide
        if x < _FRAME[2] - 1:
            parts.append(line((x, _BLOCK_TOP), (x, _BLOCK_TOP + 17), **line_type("dimension")))
    low = _BLOCK_TOP + 17
    parts.append(line((_FRAME[0], low), (_FRAME[2], low), **line_type("dimension")))
    lines = wrapped(CAUTION, 3.0, _FRAME[2] - _FRAME[0] - 8)
    parts += [text((_FRAME[0] + 4, low + 5.2 + 4.6 * k), words) for k, words in enumerate(lines)]
    return element("g", "\n".join(parts), data_part="title block")


def _cell(name: str, words: str, x: float, wide: float) -> str:
    head = text((x + 2, _BLOCK_TOP + 4), name, size=2.4)
    lines = wrapped(words, 3.0, wide - 4)
    if len(lines) > 3:
        lines = [*lines[:2], clipped_text(" ".join(lines[2:]), 3.0, wide - 4)]
    return head + "".join(text((x + 2, _BLOCK_TOP + 8 + 3.9 * k), row) for k, row in enumerate(lines))


def scale_bar(view: View, unit: LengthUnit, at: Point) -> str:
    """A bar of a round length, in four fields, with its length beside it."""
    step = _round_length(32.0 * view.scale / float(unit.mm_each))
    wide = step * float(unit.mm_each) / view.scale
    x, y = at
    fields = "".join(
        element(
            "rect", x=x + wide * k / 4, y=y, width=wide / 4, height=1.6, stroke="#000", stroke_width=0.2,
            fill="#000" if k % 2 == 0 else "#fff",
        )
        for k in range(4)
    )  # fmt: skip
    words = f"{number(step)} {unit.value}"
    return element("g", fields + text((x + wide + 2, y + 1.9), words, halo=True), data_part="scale bar")


def _round_length(about: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is no more than about so long."""
    power = 10.0 ** floor(log10(about))
    return next(k * power for k in (5, 2, 1) if k * power <= about * (1 + 1e-9))


def key_row(at: Point, sample: str, words: str) -> tuple[str, float]:
    """One row of the legend, and how far down the next one stands."""
    x, y = at
    lines = wrapped(words, 2.7, _COLUMN[1] - x - 16)
    shown = "".join(text((x + 14, y + 3.4 * k), row, size=2.7) for k, row in enumerate(lines))
    return sample + shown, max(4.8, 3.4 * len(lines) + 1.4)


def matter_rows(matters: Iterable[Matter]) -> list[tuple[dict[str, str | float | None], str, bool]]:
    """Rows of the legend for surfaces, in a fixed order."""
    seen = set(matters)
    return [(surface(matter), matter.value, True) for matter in Matter if matter in seen]


def verdict_lines(at: Point, verdict: str, lines: Sequence[str]) -> tuple[str, float]:
    """The verdict as a large word, its sentence below; the coloured bar only repeats it."""
    x, y = at
    colour = VERDICT_COLOURS.get(verdict, VERDICT_COLOURS["unknown"])
    parts = [text((x + 4, y + 6), verdict.upper(), size=7, font_weight="bold")]
    below = y + 12.0
    rows = [(row, k == 0) for words in lines for k, row in enumerate(wrapped(words, 2.9, _COLUMN[1] - x - 6))]
    if len(rows) > _MOST_ROWS:
        rows = [*rows[: _MOST_ROWS - 1], ("… more is said by the check", True)]
    for row, is_first in rows:
        below += 0.8 if is_first else 0.0
        parts.append(text((x + 4, below), row, size=2.9))
        below += 4.0
    bar = element("rect", x=x, y=y - 1, width=2, height=below - y - 2, fill=colour, data_verdict=verdict)
    return bar + "".join(parts), below + 2


def side_column(
    verdict: str,
    lines: Sequence[str],
    rows: Sequence[tuple[dict[str, str | float | None], str, bool]],
    notes: Sequence[str],
) -> str:
    """The right-hand column: verdict, legend (surfaces as boxes, lines as strokes), notes."""
    x = _COLUMN[0] + 3
    shown, y = verdict_lines((x, 13.0), verdict, lines)
    parts = [shown]
    for style, words, is_surface in rows:
        box = element("rect", x=x, y=y - 2.6, width=11, height=3.4, **style)
        sample = box if is_surface else line((x, y - 0.9), (x + 11, y - 0.9), **style)
        row, down = key_row((x, y), sample, words)
        parts.append(row)
        y += down
    parts += _notes_below(x, y, notes)
    return element("g", "\n".join(parts), data_part="legend")


def _notes_below(x: float, y: float, notes: Sequence[str]) -> list[str]:
    """Notes row by row down to the title block; what finds no room there is said to be left out."""
    rows: list[tuple[float, str]] = []
    for words in notes:
        y += 0.6
        for row in wrapped(words, 2.5, _COLUMN[1] - x - 2):
            rows.append((y, row))
            y += 3.2
    shown = [pair for pair in rows if pair[0] < _BLOCK_TOP - 5]
    if len(shown) < len(rows):
        below = shown[-1][0] + 3.2 if shown else _BLOCK_TOP - 2
        shown.append((below, f"… {len(rows) - len(shown)} more lines left out"))
    return [text((x, at), row, size=2.5) for at, row in shown]
