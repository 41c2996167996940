"""Heights on a side view: running dimensions from the table, their labels kept apart.

In the manner of ISO 129-1, superimposed running dimensioning; from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from profilekeeper.report.linework import arrow_line, line_type
from profilekeeper.report.paper import View
from profilekeeper.report.svg import Point, clipped_text, element, group, line, text

__all__ = ["Level", "height_marks"]

_RAIL, _LABELS, _TEXT, _APART = 54.0, 11.0, 2.7, 4.2
_LIMITS = (24.0, 160.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A height, the point of the drawing that has it, and its number as shown."""

    name: str
    at: Point
    shown: str


def height_marks(levels: Sequence[Level], view: View, zero_mm: float | None, heading: str) -> str:
    """A rail at the left with an arrow at each height, and a label on a line from it."""
    on_paper = sorted(((view.at(level.at), level) for level in levels), key=lambda pair: pair[0][1])
    feet = _spread([at[1] for at, _ in on_paper])
    parts = [text((_LABELS, _LIMITS[0] - 4.5), heading, size=2.7)]
    for (at, level), foot in zip(on_paper, feet, strict=True):
        parts.append(_mark(at, level, foot))
    if on_paper:
        bottom = view.at((0.0, zero_mm))[1] if zero_mm is not None else on_paper[-1][0][1]
        parts.append(_rail(on_paper, bottom, with_zero=zero_mm is not None))
    return group(parts, data_part="heights")


def _spread(wanted: Sequence[float]) -> list[float]:
    """Places in the same order, far enough apart, as near to those wanted as a pass each way brings them."""
    places: list[float] = []
    for y in wanted:
        places.append(max(y, places[-1] + _APART if places else _LIMITS[0]))
    ceiling = _LIMITS[1]
    for i in range(len(places) - 1, -1, -1):
        places[i] = min(places[i], ceiling)
        ceiling = places[i] - _APART
    return places


def _mark(at: Point, level: Level, foot: float) -> str:
    thin = {**line_type("dimension"), "stroke_width": 0.15}
    end = max(at[0], _RAIL)
    number = f" {level.shown}"
    room = _RAIL - 6 - _LABELS
    words = clipped_text(level.name, _TEXT, room - len(number) * _TEXT * 0.61) + number
    label = text((_LABELS, foot - 0.7), words, size=_TEXT, data_level=level.name)
    shelf = line((_LABELS, foot), (_RAIL - 6, foot), **thin)
    jog = line((_RAIL - 6, foot), (_RAIL - 2, at[1]), **thin)
    return label + shelf + jog + line((_RAIL - 2, at[1]), (end, at[1]), **thin)


def _rail(on_paper: Sequence[tuple[Point, Level]], bottom: float, *, with_zero: bool) -> str:
    if not with_zero:
        return line((_RAIL, on_paper[0][0][1]), (_RAIL, bottom), **line_type("dimension"))
    origin = element("circle", cx=_RAIL, cy=bottom, r=0.9, **{**line_type("dimension"), "fill": "#fff"})
    arrows = [
        arrow_line((_RAIL, bottom), (_RAIL, at[1]), both=False) for at, _ in on_paper if abs(at[1] - bottom) > 0.5
    ]
    return "".join(arrows) + origin
