"""The side view in characters, for a terminal of 60 columns or a message by phone."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from profilekeeper.clearance import Section
from profilekeeper.quantities import LengthUnit
from profilekeeper.report.paper import rounded_down, rounded_off, rounded_up
from profilekeeper.report.side_drawing import SideScene
from profilekeeper.report.svg import Point

__all__ = ["ASCII", "BLOCKS", "Glyphs", "terminal_side_view"]

# A character cell is about twice as high as wide in every usual terminal font.
_TALL = 2.0
_LEAST_WIDTH, _LEAST_HEIGHT = 24, 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Glyphs:
    """Which character stands for what."""

    tool: str
    head: str
    bristle: str
    passed: str
    obstacle: str
    table: str
    witness: str
    pivot: str


BLOCKS = Glyphs(tool="█", head="▓", bristle="▒", passed="·", obstacle="░", table="▁", witness="◆", pivot="+")
ASCII = Glyphs(tool="#", head="%", bristle=":", passed=".", obstacle="/", table="_", witness="*", pivot="+")


def terminal_side_view(
    scene: SideScene, width: int = 60, height: int = 24, *, glyphs: Glyphs = BLOCKS, unit: LengthUnit = LengthUnit.MM
) -> str:
    """The silhouette where room is least, over what stands there, with the gap below it in words.

    No line is longer than `width` characters; width and height below 24 and 10 are taken as these.
    """
    wide, tall = max(width, _LEAST_WIDTH), max(height, _LEAST_HEIGHT) - 3
    grid = _Grid.over(scene, wide, tall)
    rows = [[_cell(scene, grid, i, j, glyphs) for i in range(wide)] for j in range(tall)]
    for point, sign in (
        (scene.turn.pivot(scene.worst_deg), glyphs.pivot),
        (scene.on_obstacle, glyphs.witness),
        (scene.on_tool, glyphs.witness),
    ):
        i, j = grid.cell(point)
        if 0 <= i < wide and 0 <= j < tall:
            rows[j][i] = sign
    lines = ["".join(row).rstrip() for row in rows]
    return "\n".join([*lines, *_words(scene, wide, glyphs, unit)]) + "\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    left: float
    top: float
    step: float
    passed: tuple[tuple[tuple[float, ...], ...], ...]
    tool: tuple[tuple[Section, tuple[Point, ...]], ...]

    @classmethod
    def over(cls, scene: SideScene, wide: int, tall: int) -> _Grid:
        """The grid that shows the swing and what lies just below it."""
        tool = tuple((s, scene.turn.outline(s, scene.worst_deg)) for s in scene.query.sections)
        points = [*scene.passed(), scene.on_obstacle, scene.on_tool]
        left, right = min(s for s, _ in points), max(s for s, _ in points)
        low, high = min(z for _, z in points), max(z for _, z in points)
        low -= 0.12 * (high - low)
        step = max((right - left) / (wide - 2), (high - low) / (_TALL * (tall - 1)), 1e-6)
        heights = [high - (j + 0.5) * step * _TALL for j in range(tall)]
        regions = scene.hard.regions + scene.soft.regions
        passed = tuple(tuple(_crossings(rings, z) for rings in regions) for z in heights)
        return cls(left=(left + right - step * wide) / 2, top=high, step=step, passed=passed, tool=tool)

    def cell(self, point: Point) -> tuple[int, int]:
        """The column and row of a point."""
        return int((point[0] - self.left) // self.step), int((self.top - point[1]) // (self.step * _TALL))

    def middle(self, i: int, j: int) -> Point:
        """The middle of a cell."""
        return self.left + (i + 0.5) * self.step, self.top - (j + 0.5) * self.step * _TALL


def _cell(scene: SideScene, grid: _Grid, i: int, j: int, glyphs: Glyphs) -> str:
    point = grid.middle(i, j)
    for section, outline in grid.tool:
        if _is_near(point, outline, grid.step):
            if section.soft:
                return glyphs.bristle
            return glyphs.head if section.to_mm <= 0 else glyphs.tool
    s, z = point
    for cut in scene.cuts:
        if cut.beside or not cut.from_mm <= z <= cut.to_mm:
            continue
        if any(start <= s <= end for start, end in cut.stretches_mm):
            return glyphs.table if cut.to_mm == scene.table_top_mm else glyphs.obstacle
    return glyphs.passed if any(bisect_left(met, s) % 2 for met in grid.passed[j]) else " "


def _is_near(point: Point, outline: Sequence[Point], step: float) -> bool:
    """Whether any of a few points of the cell lies in the outline: a thin blade must not fall between."""
    x, y = point
    if not _is_close(point, outline, step):
        return False
    spots = [(x + dx * step, y + dy * step * _TALL) for dx in (-0.3, 0.0, 0.3) for dy in (-0.35, -0.12, 0.12, 0.35)]
    return any(_is_inside(spot, outline) for spot in spots)


def _is_close(point: Point, outline: Sequence[Point], step: float) -> bool:
    """Whether a cell may touch an outline at all."""
    x, y = point
    wide, tall = step, step * _TALL
    return (
        min(px for px, _ in outline) - wide <= x <= max(px for px, _ in outline) + wide
        and min(py for _, py in outline) - tall <= y <= max(py for _, py in outline) + tall
    )


def _crossings(rings: Sequence[Sequence[Point]], z: float) -> tuple[float, ...]:
    """Where the edge of a region crosses a height, from left to right: inside after each odd one."""
    met = []
    for ring in rings:
        for k, (bx, by) in enumerate(ring):
            ax, ay = ring[k - 1]
            if (ay > z) != (by > z):
                met.append(ax + (bx - ax) * (z - ay) / (by - ay))
    return tuple(sorted(met))


def _is_inside(point: Point, ring: Sequence[Point]) -> bool:
    """Even-odd rule."""
    x, y = point
    inside = False
    for k, (bx, by) in enumerate(ring):
        ax, ay = ring[k - 1]
        if (ay > y) != (by > y) and x < ax + (bx - ax) * (y - ay) / (by - ay):
            inside = not inside
    return inside


def _words(scene: SideScene, wide: int, glyphs: Glyphs, unit: LengthUnit) -> list[str]:
    gap, name = scene.gap, unit.value
    if not gap.is_contact:
        first = f"{glyphs.witness} gap {rounded_down(gap.low_mm, unit)} {name}"
    elif scene.lift is None or scene.lift.high_mm is None:
        first = f"{glyphs.witness} hits"
    else:
        by = rounded_off((scene.lift.low_mm + scene.lift.high_mm) / 2, unit)
        first = f"{glyphs.witness} hits by {by} {name}; free {rounded_up(scene.lift.high_mm, unit)} higher"
    tool = f"{glyphs.tool} {gap.section.name or 'head'} at tilt {scene.worst_deg:.1f}°"
    other = f"{glyphs.obstacle} {gap.obstacle.name}   {glyphs.passed} passed in the swing"
    plain = [first, tool, other]
    if glyphs is ASCII:
        plain = [row.replace("°", " deg").replace("−", "-") for row in plain]
    return [row[:wide] for row in plain]
