"""Line types, hatches and arrowheads: what says which is which on paper without colour.

Source: line types after ISO 128-2 (continuous wide for outlines, dashed for other positions, long-dashed
double-dotted narrow for the extreme positions of what moves, long-dashed dotted for axes), from memory;
which hatch stands for stone, table or a no-go zone is our own choice, told by every drawing's legend.
"""

from __future__ import annotations

from enum import StrEnum
from math import atan2, cos, hypot, pi, sin

from profilekeeper.report.svg import Point, element, line

__all__ = ["Matter", "arrow_line", "hatches", "line_type", "surface"]

_BLACK = "#000"
_WIDE, _NARROW = 0.5, 0.25
_ARROW_LONG, _ARROW_HALF = 2.2, 0.4

_LINES: dict[str, dict[str, str | float | None]] = {
    "outline": {"stroke_width": _WIDE},
    "other pose": {"stroke_width": 0.3, "stroke_dasharray": "2.4 1.2"},
    "swept": {"stroke_width": 0.35, "stroke_dasharray": "7 1.2 0.6 1.2 0.6 1.2"},
    "swept soft": {"stroke_width": 0.35, "stroke_dasharray": "0.4 1.1", "stroke_linecap": "round"},
    "soft": {"stroke_width": _WIDE, "stroke_dasharray": "0.4 1", "stroke_linecap": "round"},
    "axis": {"stroke_width": _NARROW, "stroke_dasharray": "7 1.5 0.8 1.5"},
    "dimension": {"stroke_width": 0.2},
    "heavy": {"stroke_width": 0.8},
}


class Matter(StrEnum):
    """What an obstacle is to the person who reads the drawing."""

    TABLE = "table"
    STONE = "stone"
    ZONE = "no-go zone"
    THING = "stands in the way"
    RIDER = "rides along"


# Hatch: turn in degrees, spacing in mm, width of the stroke in mm, whether crossed, dashes.
_HATCHES: dict[Matter, tuple[float, float, float, bool, str | None]] = {
    Matter.TABLE: (0, 1.6, 0.2, False, None),
    Matter.STONE: (45, 2.4, 0.2, False, "3 1.2"),
    Matter.ZONE: (45, 3.0, 0.25, True, None),
    Matter.THING: (135, 1.5, 0.25, False, None),
    Matter.RIDER: (90, 1.5, 0.25, False, None),
}


def line_type(name: str) -> dict[str, str | float | None]:
    """The attributes of a line type."""
    return {"fill": "none", "stroke": _BLACK, "stroke_linejoin": "round", **_LINES[name]}


def surface(matter: Matter) -> dict[str, str | float | None]:
    """The attributes of a cut or seen surface: hatched, with a continuous outline."""
    return {"fill": f"url(#{_id(matter)})", "stroke": _BLACK, "stroke_width": 0.4, "data_matter": matter.value}


def hatches() -> str:
    """The definitions that `surface` refers to."""
    return element("defs", "\n".join(_hatch(matter) for matter in Matter))


def arrow_line(start: Point, end: Point, *, heavy: bool = False, both: bool = True) -> str:
    """A dimension line with filled arrowheads; outside its ends, pointing inward, where it is short."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    if length < 1e-9:
        return ""
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    inside = length >= 2.6 * _ARROW_LONG
    reach = 0.0 if inside else 1.8 * _ARROW_LONG
    begin = (start[0] - ux * reach, start[1] - uy * reach)
    finish = (end[0] + ux * reach, end[1] + uy * reach)
    style = {**line_type("dimension"), "stroke_width": 0.45 if heavy else 0.2}
    turn = atan2(uy, ux)
    heads = [_arrowhead(end, turn if inside else turn + pi)]
    if both:
        heads.append(_arrowhead(start, turn + pi if inside else turn))
    return line(begin, finish, **style) + "".join(heads)


def _arrowhead(tip: Point, turn: float) -> str:
    """A head that points along `turn` (radians, down the paper is positive) with its tip at a point."""
    c, s = cos(turn), sin(turn)
    corners = [tip] + [
        (tip[0] - c * _ARROW_LONG - s * side, tip[1] - s * _ARROW_LONG + c * side)
        for side in (_ARROW_HALF, -_ARROW_HALF)
    ]
    return element("polygon", points=" ".join(f"{x:.3f},{y:.3f}" for x, y in corners), fill=_BLACK)


def _id(matter: Matter) -> str:
    return f"hatch-{matter.name.lower()}"


def _hatch(matter: Matter) -> str:
    turn, gap, width, crossed, dashes = _HATCHES[matter]
    reach = 8.4 if dashes else gap  # a whole number of dash lengths
    ruled = f"M0,{gap / 2:g}H{reach:g}" + (f"M{gap / 2:g},0V{gap:g}" if crossed else "")
    drawn = element("path", d=ruled, fill="none", stroke=_BLACK, stroke_width=width, stroke_dasharray=dashes)
    paper = element("rect", width=reach, height=gap, fill="#fff")
    return element(
        "pattern", paper + drawn, id=_id(matter), width=reach, height=gap, patternUnits="userSpaceOnUse",
        patternTransform=f"rotate({turn:g})" if turn else None,
    )  # fmt: skip
