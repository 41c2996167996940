"""The machine from above, to scale: table, stone, no-go zones, spots, a swing, and where it has room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, cos, hypot, pi, radians, sin

from profilekeeper.clearance import Head, JointBox, Joints, Obstacle, PlaceMap, Query, Straight
from profilekeeper.errors import InvalidShape
from profilekeeper.quantities import LengthUnit
from profilekeeper.report.cut import placed_outline
from profilekeeper.report.envelope import seen_from_above, turned
from profilekeeper.report.ground_map import best_spot, ground_hatches, ground_rows, map_cells
from profilekeeper.report.linework import Matter, hatches, line_type, surface
from profilekeeper.report.paper import (
    PAPER,
    Title,
    View,
    framed,
    rounded_down,
    rounded_off,
    scale_bar,
    side_column,
    title_block,
)
from profilekeeper.report.svg import (
    Point,
    clipped_text,
    document,
    element,
    group,
    line,
    number,
    path_through,
    text,
    text_width,
    wrapped,
)

__all__ = ["Mark", "plan_view"]

_ROOM = (16.0, 19.0, 226.0, 161.0)
_MOST_NAMED = 24
_NAME = 2.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A tool-change spot or another place worth a number on the plan."""

    name: str
    x_mm: float
    y_mm: float


def plan_view(
    obstacles: Sequence[Obstacle],
    title: Title,
    *,
    verdict: str,
    sentences: Sequence[str] = (),
    marks: Sequence[Mark] = (),
    swing: Query | None = None,
    at: Joints | None = None,
    ground: PlaceMap | None = None,
    warn_mm: float = 0.0,
    matters: Mapping[str, Matter] | None = None,
    unit: LengthUnit = LengthUnit.MM,
) -> str:
    """The drawing as SVG on A4: X to the right, Y up.

    `swing` at the readings `at` adds the outline from above of all that its tilt passes; `ground` lays the
    place map under it, with `warn_mm` more than required told apart.
    Raises:  InvalidShape, if there is nothing to draw, or a swing without readings.
    """
    if swing is not None and at is None:
        raise InvalidShape("a swing on a plan needs the readings it is drawn at")
    kinds = dict(matters or {})
    placed = _placed(obstacles, swing, at)
    passed = _swing_outline(swing, at) if swing is not None and at is not None else ()
    view = View.fitted(*_window(placed, marks, passed, ground), _ROOM)
    drawn = [
        map_cells(ground, warn_mm, view) if ground is not None else "",
        *[_area(obstacle.name, outline, view, _style(kinds, obstacle, ground)) for obstacle, outline, _ in placed],
        _swing(passed, at, view),
        _names(placed, kinds, view),
        *[_mark(i + 1, mark, view) for i, mark in enumerate(marks)],
        best_spot(ground, view) if ground is not None else "",
    ]
    notes = [*_notes(marks, at, ground, unit), *_key_notes(placed, kinds, view)]
    parts = [
        hatches(),
        ground_hatches() if ground is not None else "",
        framed(),
        text((12, 14.5), title.heading or "Plan", size=3.6, font_weight="bold"),
        group(drawn, data_part="view", **view.marks()),
        _compass((221.0, 21.0)),
        scale_bar(view, unit, (12.0, 166.0)),
        side_column(verdict, sentences, _legend(placed, kinds, passed, ground), notes),
        title_block(title, view.scale),
    ]
    return document(*PAPER, parts, title=f"{title.machine}: plan, {title.position}: {verdict}")


_Style = dict[str, str | float | None]
_Placed = list[tuple[Obstacle, tuple[Point, ...], tuple[Point, ...]]]


def _placed(obstacles: Sequence[Obstacle], swing: Query | None, at: Joints | None) -> _Placed:
    """Each with its outline and its largest convex piece; what rides along stands where it is at the readings."""
    head = swing.head if swing is not None else Head(pivot_to_gauge_line_mm=0.0)
    joints = at or Joints(x_mm=0.0, y_mm=0.0, z_mm=0.0, tilt_deg=0.0)
    return [
        (
            obstacle,
            placed_outline(obstacle, obstacle.outline_mm, head, joints),
            placed_outline(obstacle, max(obstacle.pieces(), key=_area_of), head, joints),
        )
        for obstacle in obstacles
    ]


def _area_of(corners: Sequence[Point]) -> float:
    pairs = zip(corners, [*corners[1:], corners[0]], strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)) / 2


def _swing_outline(swing: Query, at: Joints) -> tuple[Point, ...]:
    """All that the tilt passes at one place, from above; a swivel that turns too sweeps it about its axis."""
    head = swing.head
    _, turn = head.angles_rad(at)
    lowest, highest = _tilts(swing)
    along, back, aside = head.swivel_to_tilt_mm[0], head.tilt_to_spindle_mm[0], _aside(head)
    centre, shift = (along, aside), head.pivot_to_gauge_line_mm
    if swing.tip_held is not None:
        x, y, _ = head.axis_point(at, swing.tip_held.tip_mm)
        ahead = (x - at.x_mm) * cos(turn) + (y - at.y_mm) * sin(turn)
        centre, back, shift = (ahead, aside), 0.0, -swing.tip_held.tip_mm
    outline = seen_from_above(swing.sections, back, shift, (lowest, highest))
    level = [(centre[0] + ahead, centre[1] + side) for ahead, side in outline]
    swivels = _swivels(swing, at)
    placed = _turned_through(level, *swivels) if swivels[1] > swivels[0] else turned(level, swivels[0])
    return tuple((at.x_mm + x, at.y_mm + y) for x, y in placed)


def _aside(head: Head) -> float:
    return head.swivel_to_tilt_mm[1] + head.tilt_to_spindle_mm[1]


def _tilts(swing: Query) -> tuple[float, float]:
    motion, tilt = swing.motion, swing.head.tilt
    ends = (
        (motion.tilt_deg.low, motion.tilt_deg.high)
        if isinstance(motion, JointBox)
        else (motion.start.tilt_deg, motion.end.tilt_deg)
    )
    low, high = sorted(radians(tilt.geometric_deg(end)) for end in ends)
    return low, high


def _swivels(swing: Query, at: Joints) -> tuple[float, float]:
    """The geometric swivel from end to end; where it is held, that of the readings."""
    motion, swivel = swing.motion, swing.head.swivel
    if isinstance(motion, Straight) or motion.swivel_deg.half == 0:
        held = swivel.geometric_deg(at.swivel_deg)
        return held, held
    low, high = sorted(swivel.geometric_deg(end) for end in (motion.swivel_deg.low, motion.swivel_deg.high))
    return low, high


def _turned_through(outline: Sequence[Point], start_deg: float, end_deg: float) -> tuple[Point, ...]:
    """What an outline passes while it turns about the swivel axis, the ground inside it counted in.

    The outline is filled towards the axis, so it is never drawn smaller than it is.
    """
    far = sorted((atan2(y, x), hypot(x, y)) for x, y in _fine(outline))
    points: list[Point] = []
    for k in range(360):
        angle = 2 * pi * k / 360
        window = radians(end_deg - start_deg)
        first = angle - radians(end_deg)
        reach = max((r for a, r in far if (a - first) % (2 * pi) <= window + pi / 360), default=0.0)
        points.append((reach * cos(angle), reach * sin(angle)))
    return tuple(points)


def _fine(outline: Sequence[Point]) -> Iterable[Point]:
    """Points along an outline, close together."""
    for (ax, ay), (bx, by) in zip(outline, [*outline[1:], outline[0]], strict=True):
        count = max(1, round(hypot(bx - ax, by - ay) / 2))
        for k in range(count):
            yield ax + (bx - ax) * k / count, ay + (by - ay) * k / count


def _window(
    placed: _Placed, marks: Sequence[Mark], passed: Sequence[Point], ground: PlaceMap | None
) -> tuple[Point, Point]:
    points = [spot for _, outline, _ in placed for spot in outline]
    points += [(mark.x_mm, mark.y_mm) for mark in marks] + list(passed)
    if ground is not None:
        points += [(leaf.x_mm.low, leaf.y_mm.low) for leaf in ground.leaves]
        points += [(leaf.x_mm.high, leaf.y_mm.high) for leaf in ground.leaves]
    if not points:
        raise InvalidShape("there is nothing to draw on the plan; record the table, a zone or a spot first")
    air = 30.0
    return (
        (min(x for x, _ in points) - air, min(y for _, y in points) - air),
        (max(x for x, _ in points) + air, max(y for _, y in points) + air),
    )


def _style(kinds: Mapping[str, Matter], obstacle: Obstacle, ground: PlaceMap | None) -> _Style:
    """Hatched by what it is; over a place map table and stone are outlines only, so that the map shows."""
    return _styles(ground)[kinds.get(obstacle.name, Matter.THING)]


def _styles(ground: PlaceMap | None) -> dict[Matter, _Style]:
    styles = {matter: surface(matter) for matter in Matter}
    if ground is not None:
        styles[Matter.TABLE] |= {"fill": "none", "stroke_width": 0.7}
        styles[Matter.STONE] |= {"fill": "none", "stroke_width": 0.7, "stroke_dasharray": "4 1.2"}
    return styles


def _area(name: str, outline: Sequence[Point], view: View, style: _Style) -> str:
    return element("path", d=path_through(view.all_at(outline)), **style, data_name=name)


def _swing(passed: Sequence[Point], at: Joints | None, view: View) -> str:
    if not passed or at is None:
        return ""
    x, y = view.at((at.x_mm, at.y_mm))
    outline = element("path", d=path_through(view.all_at(passed)), **{**line_type("swept"), "stroke_width": 0.5})
    cross = line((x - 3, y), (x + 3, y), **line_type("axis")) + line((x, y - 3), (x, y + 3), **line_type("axis"))
    return group([outline, cross], data_part="swept")


def _names(placed: _Placed, kinds: Mapping[str, Matter], view: View) -> str:
    """Names on white: table and stone at a corner, the rest amid their largest piece or, too long for it, by key."""
    labels = []
    for key, (obstacle, outline, piece) in zip(_keys(placed, kinds, view), placed, strict=True):
        is_ground = kinds.get(obstacle.name) in (Matter.TABLE, Matter.STONE)
        left, right, top, bottom = _extent(view.all_at(outline if is_ground else piece))
        rows = [key] if key else wrapped(obstacle.name, _NAME, max(24.0, right - left - 4))[:3]
        wide = max((text_width(row, _NAME) for row in rows), default=0.0)
        x, y = left + 1.5, top + 4.0
        if not is_ground:
            x, y = (left + right - wide) / 2, (top + bottom) / 2 + 1.0 - 1.85 * (len(rows) - 1)
        labels.append(_label(x, y, wide, rows))
    return group(labels, data_part="names")


def _keys(placed: _Placed, kinds: Mapping[str, Matter], view: View) -> list[str]:
    """A key for each whose name does not fit on it, nothing for the rest."""
    keys: list[str] = []
    for obstacle, _, piece in placed:
        left, right, top, bottom = _extent(view.all_at(piece))
        rows = wrapped(obstacle.name, _NAME, right - left - 4)
        fits = len(rows) <= 3 and " ".join(rows) == " ".join(obstacle.name.split()) and 3.7 * len(rows) < bottom - top
        is_named = fits or kinds.get(obstacle.name) in (Matter.TABLE, Matter.STONE)
        keys.append("" if is_named else f"Z{sum(map(bool, keys)) + 1}")
    return keys


def _extent(spots: Sequence[Point]) -> tuple[float, float, float, float]:
    """The least and greatest x, then y."""
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    return min(xs), max(xs), min(ys), max(ys)


def _key_notes(placed: _Placed, kinds: Mapping[str, Matter], view: View) -> list[str]:
    """What the keys stand for; the last line says how many found no room in the column."""
    keyed = [(key, o.name) for key, (o, _, _) in zip(_keys(placed, kinds, view), placed, strict=True) if key]
    notes = [f"{key} {clipped_text(name, 2.5, 42)}" for key, name in keyed[:_MOST_NAMED]]
    return notes + ([f"and {len(keyed) - _MOST_NAMED} more"] if len(keyed) > _MOST_NAMED else [])


def _label(x: float, y: float, wide: float, rows: Sequence[str]) -> str:
    paper = element("rect", x=x - 0.8, y=y - 3.0, width=wide + 1.6, height=3.7 * len(rows) + 0.4, fill="#fff")
    return paper + "".join(text((x, y + 3.7 * k), row, size=_NAME) for k, row in enumerate(rows))


def _mark(count: int, mark: Mark, view: View) -> str:
    """A numbered ring at a spot; its name stands in the notes under the same number."""
    x, y = view.at((mark.x_mm, mark.y_mm))
    ring = element("circle", cx=x, cy=y, r=2.8, fill="#fff", stroke="#000", stroke_width=0.5)
    shown = text((x, y + 1.1), str(count), size=3.2, anchor="middle", font_weight="bold")
    return group([ring, shown], data_mark=mark.name)


def _compass(at: Point) -> str:
    """Which way X and Y run."""
    x, y = at[0] - 8, at[1] + 8
    style = {**line_type("outline"), "stroke_width": 0.35}
    axes = f"M{number(x)},{number(y - 8)}V{number(y)}H{number(x + 8)}"
    heads = f"M{number(x - 1)},{number(y - 6)}l1,-2.2l1,2.2M{number(x + 6)},{number(y - 1)}l2.2,1l-2.2,1"
    names = text((x - 3, y - 5), "Y") + text((x + 6, y + 4), "X")
    return element("path", d=axes + heads, **style) + names


def _legend(
    placed: _Placed, kinds: Mapping[str, Matter], passed: Sequence[Point], ground: PlaceMap | None
) -> list[tuple[dict[str, str | float | None], str, bool]]:
    seen = {kinds.get(obstacle.name, Matter.THING) for obstacle, _, _ in placed}
    rows = [(style, matter.value, True) for matter, style in _styles(ground).items() if matter in seen]
    if passed:
        rows.append((line_type("swept"), "all that the swing passes, from above", False))
    if ground is not None:
        rows += ground_rows()
    return rows


def _notes(marks: Sequence[Mark], at: Joints | None, ground: PlaceMap | None, unit: LengthUnit) -> list[str]:
    notes = [
        f"{i + 1}  {mark.name}: X {rounded_off(mark.x_mm, unit)} Y {rounded_off(mark.y_mm, unit)}"
        for i, mark in enumerate(marks)
    ]
    if at is not None:
        notes.append(f"swing drawn at X {rounded_off(at.x_mm, unit)} Y {rounded_off(at.y_mm, unit)}")
    if ground is not None:
        best = ground.roomiest
        notes.append(
            f"◆ most room seen: {rounded_down(best.gap.low_mm, unit)} at X {rounded_off(best.x_mm, unit)} "
            f"Y {rounded_off(best.y_mm, unit)}; required {rounded_off(ground.required_mm, unit)}"
        )
        notes.append(f"proven clear: {ground.clear_share() * 100:.0f} % of the ground mapped")
    return notes
