"""The head in its tilt plane over what stands there, to scale, with the least gap marked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot

from profilekeeper.clearance import Gap, Lift, Obstacle, Query, Section
from profilekeeper.errors import InvalidShape
from profilekeeper.quantities import LengthUnit
from profilekeeper.report.cut import Cut, TiltPlane, placed_point
from profilekeeper.report.envelope import Swept
from profilekeeper.report.levels import Level, height_marks
from profilekeeper.report.linework import Matter, arrow_line, hatches, line_type, surface
from profilekeeper.report.paper import (
    DRAWING,
    PAPER,
    Title,
    View,
    framed,
    matter_rows,
    rounded_down,
    rounded_off,
    rounded_up,
    scale_bar,
    side_column,
    title_block,
)
from profilekeeper.report.svg import Point, clipped_text, document, element, group, line, path_through, text, text_width
from profilekeeper.report.turning import Turning, turning_of

__all__ = ["SideScene", "side_scene", "side_view"]

_ROOM = (58.0, 17.0, 226.0, 159.0)
_BELOW_MM, _AIR = 40.0, 0.08
_OFF_PLANE_MM = 0.5
_NAME = 2.9
_MOST_TOPS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class SideScene:
    """What a side view shows, worked out: the turn, the worst reading, cuts and the two nearest points.

    In contact `from_point` to `to_point` is how deep the sweep reaches in, as far as the least rise tells.
    """

    query: Query
    gap: Gap
    lift: Lift | None
    turn: Turning
    worst_deg: float
    cuts: tuple[Cut, ...]
    on_tool: Point
    on_obstacle: Point
    off_plane_mm: float
    table_top_mm: float | None
    hard: Swept
    soft: Swept

    def passed(self) -> list[Point]:
        """The corners of all that the swing passes."""
        return [p for part in (self.hard, self.soft) for rings in part.regions for ring in rings for p in ring]


def side_scene(
    query: Query, gap: Gap, *, lift: Lift | None = None, also: Sequence[Obstacle] = (), table: str = ""
) -> SideScene:
    """What there is to draw of a question and its answer.

    `lift` is the least rise asked with nothing required above contact; `also` is drawn but was not judged;
    `table` names the obstacle whose top heights are counted from.
    """
    sunk = lift.high_mm if lift is not None and gap.is_contact and lift.high_mm is not None else 0.0
    shown = lift.gap if lift is not None and sunk else gap
    worst = replace(gap.joints, tilt_deg=shown.joints.tilt_deg, swivel_deg=shown.joints.swivel_deg)
    plane = TiltPlane(head=query.head, joints=worst)
    points = [placed_point(shown.obstacle.frame, p, query.head, shown.joints) for p in _witness(shown)]
    spots = [plane.along_and_off(p[0], p[1]) for p in points]
    cuts = tuple(plane.cut(obstacle) for obstacle in [*query.obstacles, *also])
    turn = turning_of(query, worst)
    hard, soft = (turn.swept([s for s in query.sections if s.soft is kind]) for kind in (False, True))
    return SideScene(
        query=query, gap=gap, lift=lift, turn=turn, hard=hard, soft=soft, worst_deg=worst.tilt_deg, cuts=cuts,
        on_tool=(spots[0][0], points[0][2] - sunk), on_obstacle=(spots[1][0], points[1][2]),
        off_plane_mm=max(abs(off) for _, off in spots),
        table_top_mm=next((cut.to_mm for cut in cuts if table and cut.obstacle.name == table), None),
    )  # fmt: skip


def side_view(
    scene: SideScene,
    title: Title,
    *,
    verdict: str,
    sentences: Sequence[str] = (),
    matters: Mapping[str, Matter] | None = None,
    unit: LengthUnit = LengthUnit.MM,
) -> str:
    """The drawing as SVG on A4: poses, swept outline, surroundings cut, gap, heights, title block.

    `verdict` is the word of the finding, `sentences` what else it says; `matters` tells by name what is
    stone, table, zone; the rest is hatched as standing in the way. All numbers are shown in `unit`.
    Raises:  InvalidShape, if the verdict says that a contact is room, or it is too large to draw.
    """
    if scene.gap.is_contact and verdict in ("clear", "tight"):
        raise InvalidShape(f"the drawing shows contact with {scene.gap.obstacle.name!r}; it cannot be called {verdict}")
    kinds = dict(matters or {})
    view = View.fitted(*_window(scene), _ROOM)
    drawn = [
        _surroundings(scene, view, kinds),
        _envelope(scene, view),
        _poses(scene, view),
        _nose_and_pivot(scene, view),
        _names(scene, view),
        height_marks(_levels(scene, unit), view, scene.table_top_mm, _heading(scene, unit)),
        _witness_mark(scene, view, unit),
    ]
    parts = [
        hatches(),
        _clip(),
        framed(),
        text((12, 14.5), title.heading or "Side view in the tilt plane", size=3.6, font_weight="bold"),
        group(drawn, data_part="view", **view.marks()),
        scale_bar(view, unit, (12.0, 166.0)),
        side_column(verdict, [*_sentences(scene, unit), *sentences], _legend(scene, kinds), _notes(scene, unit)),
        title_block(title, view.scale),
    ]
    return document(*PAPER, parts, title=f"{title.machine}: {title.tool}, {title.position}: {verdict}")


def _witness(gap: Gap) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    return gap.point_on_tool_mm, gap.point_on_obstacle_mm


def _readings(scene: SideScene) -> list[tuple[str, float]]:
    """The poses drawn beside the worst: level and spindle down, or the ends of the tilt."""
    found: list[tuple[str, float]] = []
    for words, geometric in (("level", 0.0), ("spindle down", 90.0)):
        reading = scene.turn.nearest_reading(geometric)
        is_there = abs(scene.turn.head.tilt.geometric_deg(reading) - geometric) < 1e-9
        if not any(abs(reading - other) < 1e-9 for _, other in found):
            found.append((words if is_there else f"tilt {reading:.1f}°", reading))
    return [pose for pose in found if abs(pose[1] - scene.worst_deg) > 0.05]


def _window(scene: SideScene) -> tuple[Point, Point]:
    """The rectangle of the plane that is shown: all the head passes, and what lies below it."""
    points = scene.passed()
    for section in scene.query.sections:
        for tilt in (scene.worst_deg, *(reading for _, reading in _readings(scene))):
            points += scene.turn.outline(section, tilt)
    points += [scene.on_tool, scene.on_obstacle]
    lowest = min(z for _, z in points)
    floor = lowest if scene.table_top_mm is None else min(lowest, scene.table_top_mm)
    left, right = min(s for s, _ in points), max(s for s, _ in points)
    air = max(_AIR * (right - left), 20.0)
    return (left - air, floor - _BELOW_MM), (right + air, max(z for _, z in points) + 15.0)


def _clip() -> str:
    _, top, right, bottom = DRAWING
    left = _ROOM[0] - 3.5
    area = element("rect", x=left, y=top + 6, width=right - left, height=bottom - top - 14)
    return element("defs", element("clipPath", area, id="field"))


def _surroundings(scene: SideScene, view: View, kinds: Mapping[str, Matter]) -> str:
    parts = []
    for cut in sorted(scene.cuts, key=lambda cut: not cut.beside):
        matter = kinds.get(cut.obstacle.name, Matter.THING)
        style = line_type("other pose") if cut.beside else surface(matter)
        for start, end in cut.stretches_mm:
            corners = [(start, cut.from_mm), (end, cut.from_mm), (end, cut.to_mm), (start, cut.to_mm)]
            parts.append(
                element("path", d=path_through(view.all_at(_near(corners, view))), **style, data_name=cut.obstacle.name)
            )
    return group(parts, clip_path="url(#field)", data_part="surroundings")


def _near(corners: Sequence[Point], view: View) -> list[Point]:
    """Corners drawn in to a little beyond the sheet: some viewers lose what lies kilometres off."""
    reach = 400.0 * view.scale
    (s0, z0) = view.origin_mm
    return [(min(max(s, s0 - reach), s0 + reach), min(max(z, z0 - reach), z0 + reach)) for s, z in corners]


def _envelope(scene: SideScene, view: View) -> str:
    parts = []
    for part, name in ((scene.hard, "swept"), (scene.soft, "swept soft")):
        if part.outline:
            d = "".join(path_through(view.all_at(piece), closed=False) for piece in part.outline)
            parts.append(element("path", d=d, **line_type(name), data_part=name))
    return "\n".join(parts)


def _poses(scene: SideScene, view: View) -> str:
    parts = []
    for words, tilt in _readings(scene):
        outlines = [scene.turn.outline(section, tilt) for section in scene.query.sections]
        parts += [element("path", d=path_through(view.all_at(o)), **line_type("other pose")) for o in outlines]
        parts.append(_pose_name(words, [spot for outline in outlines for spot in view.all_at(outline)]))
    for section in scene.query.sections:
        style = line_type("soft" if section.soft else "outline")
        d = path_through(view.all_at(scene.turn.outline(section, scene.worst_deg)))
        parts.append(element("path", d=d, **{**style, "fill": "#fff", "fill_opacity": 0.72}, data_section=section.name))
    return group(parts, data_part="poses")


def _pose_name(words: str, spots: Sequence[Point]) -> str:
    """Above the pose where it reaches highest at its far side, or left of it where it reaches lowest."""
    if words == "spindle down":
        x, y = min(spots, key=lambda spot: (round(-spot[1], 2), spot[0]))
        return text((x - 2.2, y), words, size=2.7, anchor="end", halo=True)
    x, y = min(spots, key=lambda spot: (round(spot[1], 2), -spot[0]))
    return text((x, y - 1.5), words, size=2.7, anchor="middle", halo=True)


def _nose_and_pivot(scene: SideScene, view: View) -> str:
    turn, tilt = scene.turn, scene.worst_deg
    near = min(section.from_mm for section in scene.query.sections)
    far = max(section.to_mm for section in scene.query.sections)
    behind = min(near, -turn.head.pivot_to_gauge_line_mm)
    axis = line(*view.all_at([turn.on_axis(behind - 25, tilt), turn.on_axis(far + 30, tilt)]), **line_type("axis"))
    half = max(max(s.radius_from_mm, s.radius_to_mm) for s in _about_nose(scene)) + 5.0 * view.scale
    ends = view.all_at([turn.on_axis(0, tilt, -half), turn.on_axis(0, tilt, half)])
    nose = line(*ends, **line_type("heavy"), data_part="spindle nose")
    upper = min(ends, key=lambda end: end[1])
    x, y = view.at(turn.pivot(tilt))
    ring = element("circle", cx=x, cy=y, r=1.8, **{**line_type("outline"), "fill": "#fff"}, data_part="pivot")
    cross = line((x - 3.2, y), (x + 3.2, y), **line_type("dimension"))
    cross += line((x, y - 3.2), (x, y + 3.2), **line_type("dimension"))
    words = text((x - 3, y - 3.2), "pivot", size=2.7, anchor="end", halo=True)
    words += text((upper[0] + 1, upper[1] - 1.2), "spindle nose", size=2.7, halo=True)
    return group([axis, nose, ring, cross, words])


def _about_nose(scene: SideScene) -> list[Section]:
    """The sections that begin, end or lie at the spindle nose; all, where there is none."""
    return [s for s in scene.query.sections if s.from_mm <= 0 <= s.to_mm] or list(scene.query.sections)


def _names(scene: SideScene, view: View) -> str:
    """The name of each obstacle, inside it where it shows."""
    _, top, right, bottom = DRAWING
    parts: list[str] = []
    taken: list[tuple[float, float, float]] = []
    for cut in scene.cuts:
        start, end = max(cut.stretches_mm, key=lambda s: s[1] - s[0])
        (x0, y0), (x1, y1) = view.at((start, cut.to_mm)), view.at((end, cut.from_mm))
        x0, x1 = max(x0, _ROOM[0] - 1), min(x1, right)
        if scene.table_top_mm is not None and cut.to_mm > scene.table_top_mm:
            y1 = min(y1, view.at((0.0, scene.table_top_mm))[1])
        y0, y1 = max(y0, top + 8), min(y1, bottom - 8)
        words = cut.obstacle.name + (" (beside this plane)" if cut.beside else "")
        wide = text_width(words, _NAME)
        if x1 - x0 < 3 or y1 < y0:
            continue
        if x1 - x0 < min(wide + 3, 30.0) and y1 - y0 > 15:
            shown = clipped_text(words, _NAME, y1 - y0 - 4)
            parts.append(text(((x0 + x1) / 2 + 1, y1 - 2), shown, size=_NAME, turned_deg=-90, halo=True))
            continue
        shown = clipped_text(words, _NAME, x1 - x0 - 3)
        left, y = x1 - 2 - text_width(shown, _NAME), y1 - 1.6 if y1 - y0 > 12 else y0 + 4.2
        while any(abs(y - other) < 3.4 and left < b and a < x1 - 2 for other, a, b in taken):
            y += 3.4
        if y < bottom - 4:
            taken.append((y, left, x1 - 2))
            parts.append(text((x1 - 2, y), shown, size=_NAME, anchor="end", halo=True))
    return group(parts, data_part="names")


def _heading(scene: SideScene, unit: LengthUnit) -> str:
    return f"above the table, {unit.value}" if scene.table_top_mm is not None else f"Z, {unit.value}"


def _levels(scene: SideScene, unit: LengthUnit) -> list[Level]:
    """Heights worth a number: pivot, lowest point, and the tops of what the plane cuts below them."""
    zero = scene.table_top_mm or 0.0
    pivot, lowest = scene.turn.pivot(scene.worst_deg), min(scene.passed(), key=lambda point: point[1])
    (left, _), (right, _) = _window(scene)
    levels = [
        Level(name="pivot", at=pivot, shown=rounded_off(pivot[1] - zero, unit)),
        Level(name="lowest point", at=lowest, shown=rounded_down(lowest[1] - zero, unit)),
    ]
    return levels + [
        Level(
            name=f"{cut.obstacle.name} top",
            at=(max(cut.stretches_mm[0][0], left), cut.to_mm),
            shown=rounded_up(cut.to_mm - zero, unit),
        )
        for cut in _tops(scene, left, right)
    ]


def _tops(scene: SideScene, left: float, right: float) -> list[Cut]:
    """What shows and ends below the pivot, one for each height: first what is nearest, then the highest."""
    highest = scene.turn.pivot(scene.worst_deg)[1]
    found: dict[float, Cut] = {}
    for cut in sorted(scene.cuts, key=lambda cut: (cut.obstacle.name != scene.gap.obstacle.name, -cut.to_mm)):
        shows = any(start < right and end > left for start, end in cut.stretches_mm)
        if shows and not cut.beside and cut.to_mm < highest and cut.to_mm != scene.table_top_mm:
            found.setdefault(round(cut.to_mm, 3), cut)
    return list(found.values())[:_MOST_TOPS]


def _witness_mark(scene: SideScene, view: View, unit: LengthUnit) -> str:
    """The two nearest points, the dimension between them, and the number large enough to read at arm's length."""
    start, end = view.at(scene.on_tool), view.at(scene.on_obstacle)
    dots = "".join(
        element("circle", cx=x, cy=y, r=0.7, fill="#000", data_point=name)
        for (x, y), name in ((start, "on tool"), (end, "on obstacle"))
    )
    return group([arrow_line(start, end, heavy=True), _flag(scene, start, end, unit), dots], data_part="witness")


def _flag(scene: SideScene, start: Point, end: Point, unit: LengthUnit) -> str:
    """The number in a box on the obstacle's side of the gap, with a line to it."""
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    sign = -1.0 if scene.gap.is_contact else 1.0
    away = (sign * (end[0] - start[0]), sign * (end[1] - start[1]))
    length = hypot(*away) or 1.0
    words = _gap_number(scene, unit)
    wide = text_width(words, 4.6) + 3
    x = middle[0] + 14 * away[0] / length + (9.0 if away[0] >= 0 else -9.0 - wide)
    y = min(max(middle[1] + 14 * away[1] / length, 24.0), 150.0)
    thin = line_type("dimension")
    leader = line(middle, (x if x > middle[0] else x + wide, y), **thin)
    box = element("rect", x=x, y=y - 3.6, width=wide, height=7.2, **{**thin, "fill": "#fff"})
    return leader + box + text((x + 1.5, y + 1.7), words, size=4.6, font_weight="bold", data_part="gap")


def _gap_number(scene: SideScene, unit: LengthUnit) -> str:
    if not scene.gap.is_contact:
        return rounded_down(scene.gap.low_mm, unit)
    if scene.lift is None or scene.lift.high_mm is None:
        return "hits"
    return f"hits by {rounded_off((scene.lift.low_mm + scene.lift.high_mm) / 2, unit)}"


def _sentences(scene: SideScene, unit: LengthUnit) -> list[str]:
    gap, name = scene.gap, scene.gap.obstacle.name
    what = gap.section.name or "the head"
    if not gap.is_contact:
        shown = rounded_down(gap.low_mm, unit)
        width = rounded_up(max(gap.width_mm, 0.0), unit)
        return [
            f"{shown} {unit.value} between {what} and {name}, at tilt {scene.worst_deg:.1f}°",
            f"certified: not less, at most {width} more, for the lengths as recorded",
        ]
    first = f"contact of {what} with {name} at tilt {scene.worst_deg:.1f}°"
    if scene.lift is None:
        return [first]
    if scene.lift.high_mm is None:
        return [first, "no rise within the travel of Z frees it"]
    return [first, f"raise Z by {rounded_up(scene.lift.high_mm, unit)} {unit.value} or more to come free"]


def _legend(scene: SideScene, kinds: Mapping[str, Matter]) -> list[tuple[dict[str, str | float | None], str, bool]]:
    soft = any(section.soft for section in scene.query.sections)
    rows = [
        (line_type("outline"), f"head and tool at tilt {scene.worst_deg:.1f}°, where room is least", False),
        (line_type("other pose"), "at level and spindle down, or the ends of the tilt", False),
        (line_type("swept"), "outline of all the swing passes", False),
    ]
    if soft:
        rows += [(line_type("soft"), "bristles", False), (line_type("swept soft"), "all that bristles pass", False)]
    cut = [kinds.get(c.obstacle.name, Matter.THING) for c in scene.cuts if not c.beside]
    return [*rows, (line_type("heavy"), "spindle nose (gauge line)", False), *matter_rows(cut)]


def _notes(scene: SideScene, unit: LengthUnit) -> list[str]:
    """What the reader must know that lines do not show."""
    notes = []
    section, turn = scene.gap.section, scene.turn
    if turn.offset_mm == 0 and scene.query.tip_held is None:
        depth, radius = turn.gauge_mm + section.to_mm, section.radius_to_mm
        reach = rounded_up(hypot(depth, radius), unit)
        notes.append(
            f"{section.name or 'section'}: far face {rounded_off(depth, unit)} from the pivot, radius "
            f"{rounded_off(radius, unit)}, its corner swings at {reach}"
        )
    low, high = turn.tilts_deg
    notes.append(f"tilt {low:.1f}° to {high:.1f}°, swivel {turn.joints.swivel_deg:.1f}°")
    if scene.query.tip_held is not None:
        notes.append("tool-centre compensation on: the tip stands still, the pivot travels")
    if turn.moves:
        notes.append("X, Y, Z or the swivel move as well: drawn at the place of the least gap, whole tilt there")
    if scene.off_plane_mm > _OFF_PLANE_MM:
        notes.append(
            f"the nearest points lie up to {rounded_up(scene.off_plane_mm, unit)} beside this plane: "
            "the number is the true distance, the drawing its shadow"
        )
    return notes
