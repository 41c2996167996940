"""The outline of all that a turning head passes, in its tilt plane and seen from above.

Derivation: docs/drawings.md#the-swept-outline. Angles are radians inside; on the tilt plane s runs to where
the level spindle points, z up, both from the centre about which the head turns.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, ceil, cos, hypot, inf, pi, radians, sin, sqrt, tau

from profilekeeper.clearance import Section
from profilekeeper.report.svg import Point

__all__ = ["Line", "Swept", "profile_of", "seen_from_above", "swept", "tilted", "turned"]

Line = tuple[Point, ...]

_GRID = 720  # sectors of the full circle between the corners, which are met exactly
_STEP_MM = 2.0  # where one profile's edge dives under another's, it ends no farther off than this
_BY_MM = 1e-3  # less than anything drawn, more than a chord of the grid or rounding is off
_BESIDE = 1e-9  # radians on either side of a corner's angle, where the outline may jump
_SEEN_SLICES = 48


def profile_of(section: Section, offset_mm: float, shift_mm: float) -> tuple[Point, ...]:
    """The section cut by a plane through its axis, at level: (along the spindle, back from it).

    Shapes:  four corners, counter-clockwise; two may fall together.
    Units:   mm from the centre; `shift_mm` is the gauge line's distance, `offset_mm` that of the axis.
    """
    near, far = section.from_mm + shift_mm, section.to_mm + shift_mm
    one, other = section.radius_from_mm, section.radius_to_mm
    return (near, offset_mm - one), (far, offset_mm - other), (far, offset_mm + other), (near, offset_mm + one)


def tilted(points: Sequence[Point], tilt_rad: float) -> tuple[Point, ...]:
    """Points given at level, after the head has tilted: towards down is positive."""
    c, s = cos(tilt_rad), sin(tilt_rad)
    return tuple((p * c + q * s, q * c - p * s) for p, q in points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swept:
    """What profiles pass together: one tuple of closed rings a profile (even-odd), and the outline of it all.

    The outline is lines that need not close: where one profile's edge lies inside what another passes,
    it is no edge of the whole and is left out.
    """

    regions: tuple[tuple[Line, ...], ...]
    outline: tuple[Line, ...]


def swept(profiles: Sequence[Sequence[Point]], start_rad: float, end_rad: float) -> Swept:
    """What convex profiles pass while they tilt from `start_rad` to `end_rad`.

    Every corner and the lowest point are exact; arcs are chords of half a degree at most, which cut off
    less than a hundred-thousandth of the radius.
    """
    turns = [_Turn(_Ring(profile), start_rad, end_rad) for profile in profiles]
    full = [turn.rings() for turn in turns]
    outline = [piece for i, rings in enumerate(full) for ring in rings for piece in _seen(ring, i, turns)]
    return Swept(
        regions=tuple(tuple(_thinned(ring) for ring in rings) for rings in full),
        outline=tuple(_thinned(piece) for piece in outline),
    )


def seen_from_above(
    sections: Sequence[Section], offset_mm: float, shift_mm: float, tilts_rad: tuple[float, float]
) -> tuple[Point, ...]:
    """The outline from above of what sections pass while they tilt: (forward, sideways) from the centre.

    Each line forward is answered in closed form for the rims; a cone between them is taken at 16 depths.
    What lies between two sections on such a line counts as passed: never less is drawn than is passed.
    """
    discs = [disc for section in sections for disc in _discs(section, shift_mm)]
    edges = {sign * radius * (1 - by) for _, radius in discs for sign in (-1, 1) for by in (-1e-9, 0, 1e-9)}
    rims = {radius for section in sections for radius in (section.radius_from_mm, section.radius_to_mm)}
    close = {rim * -cos(pi * k / _SEEN_SLICES) for rim in rims for k in range(_SEEN_SLICES + 1)}
    sides = sorted(side for side in edges | close if abs(side) <= max(rims))
    ahead = [(max(_far(d, r, side, offset_mm, tilts_rad) for d, r in discs), side) for side in sides]
    astern = [(min(_near(d, r, side, offset_mm, tilts_rad) for d, r in discs), side) for side in reversed(sides)]
    return tuple(point for point in [*ahead, *astern] if abs(point[0]) < inf)


def _discs(section: Section, shift_mm: float) -> list[tuple[float, float]]:
    count = 1 if section.radius_from_mm == section.radius_to_mm else 16
    shares = [k / count for k in range(count + 1)]
    return [
        (
            shift_mm + section.from_mm * (1 - k) + section.to_mm * k,
            section.radius_from_mm * (1 - k) + section.radius_to_mm * k,
        )
        for k in shares
    ]


def _far(depth: float, radius: float, side: float, offset: float, tilts: tuple[float, float]) -> float:
    """The greatest depth·cos t + w·sin t over the tilts, w the rim's reach at this side."""
    if abs(side) > radius * (1 + 1e-12):
        return -inf
    return _crest(depth, offset + sqrt(max(radius * radius - side * side, 0.0)), tilts)


def _near(depth: float, radius: float, side: float, offset: float, tilts: tuple[float, float]) -> float:
    if abs(side) > radius * (1 + 1e-12):
        return inf
    return -_crest(-depth, sqrt(max(radius * radius - side * side, 0.0)) - offset, tilts)


def _crest(level: float, upright: float, tilts: tuple[float, float]) -> float:
    start, end = tilts
    peak = start + (atan2(upright, level) - start) % tau
    if peak <= end:
        return hypot(level, upright)
    return max(level * cos(t) + upright * sin(t) for t in tilts)


class _Ring:
    """A convex profile seen from the centre: how near and how far it reaches in each direction."""

    __slots__ = ("corners", "encloses", "feet", "sides")

    def __init__(self, profile: Sequence[Point]) -> None:
        points = [p for i, p in enumerate(profile) if p != profile[i - 1]] or [profile[0]]
        self.sides = [(points[i - 1], points[i]) for i in range(len(points))]
        self.corners = [(atan2(y, x), hypot(x, y)) for x, y in points]
        self.feet = [foot for a, b in self.sides if (foot := _foot(a, b)) is not None]
        self.encloses = len(points) > 2 and all(a[0] * b[1] - a[1] * b[0] >= 0 for a, b in self.sides)

    def crossings(self, angle: float) -> list[float]:
        """How far out a ray from the centre meets a side."""
        c, s = cos(angle), sin(angle)
        met = []
        for (ax, ay), (bx, by) in self.sides:
            start, end = c * ay - s * ax, c * by - s * bx
            if start * end <= 0 and start != end:
                share = start / (start - end)
                along = c * (ax + (bx - ax) * share) + s * (ay + (by - ay) * share)
                if along >= 0:
                    met.append(along)
        return met

    def reach(self, start: float, end: float) -> tuple[float, float] | None:
        """The nearest and farthest radius met by any ray from `start` to `end`."""
        found = [radius for angle, radius in self.corners if (angle - start) % tau <= end - start]
        found += [radius for angle, radius in self.feet if (angle - start) % tau <= end - start]
        found += self.crossings(start) + self.crossings(end)
        if not found:
            return None
        return (0.0 if self.encloses else min(found)), max(found)


def _foot(a: Point, b: Point) -> tuple[float, float] | None:
    """The point of a side nearest to the centre, where it is no corner: (angle, radius)."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    share = -(a[0] * dx + a[1] * dy) / square if square else 0.0
    if not 0 < share < 1:
        return None
    x, y = a[0] + dx * share, a[1] + dy * share
    return atan2(y, x), hypot(x, y)


class _Turn:
    """One profile and the angles through which it turns."""

    __slots__ = ("end", "ring", "start")

    def __init__(self, ring: _Ring, start: float, end: float) -> None:
        self.ring, self.start, self.end = ring, start, end

    def reach(self, angle: float) -> tuple[float, float] | None:
        """How near and how far the profile comes in one direction; all between is passed."""
        return self.ring.reach(angle + self.start, angle + self.end)

    def holds(self, point: Point) -> bool:
        """Whether a point is passed."""
        reach = self.reach(atan2(point[1], point[0]))
        return reach is not None and reach[0] <= hypot(*point) <= reach[1]

    def rings(self) -> list[list[Point]]:
        """The closed edge, with what is passed on its left hand."""
        return _rings([(angle, self.reach(angle)) for angle in self._angles()])

    def _angles(self) -> list[float]:
        """Directions at which the edge is asked for: an even grid, straight down, and about every corner."""
        special = [-pi / 2, pi / 2, 0.0]
        for angle, _ in [*self.ring.corners, *self.ring.feet]:
            special += [angle - self.start, angle - self.end]
        about = [angle + by for angle in special for by in (-_BESIDE, 0.0, _BESIDE)]
        grid = [tau * k / _GRID for k in range(_GRID)]
        return sorted({angle % tau for angle in [*about, *grid]})


_Reached = tuple[float, tuple[float, float] | None]


def _rings(reached: Sequence[_Reached]) -> list[list[Point]]:
    """One ring for each stretch of directions without a break; a full turn has an outer and an inner one."""
    empty = next((i for i, (_, reach) in enumerate(reached) if reach is None), None)
    if empty is None:
        return _full_circle(reached)
    runs: list[list[tuple[float, float, float]]] = [[]]
    for angle, reach in [*reached[empty:], *reached[:empty]]:
        if reach is None:
            runs.append([])
        else:
            runs[-1].append((angle, *reach))
    return [_there_and_back(run) for run in runs if run]


def _full_circle(reached: Sequence[_Reached]) -> list[list[Point]]:
    outer = [(far * cos(a), far * sin(a)) for a, (_, far) in _known(reached)]
    inner = [(near * cos(a), near * sin(a)) for a, (near, _) in _known(reached)]
    return [outer, inner[::-1]] if any(point != (0.0, 0.0) for point in inner) else [outer]


def _known(reached: Sequence[_Reached]) -> list[tuple[float, tuple[float, float]]]:
    return [(angle, reach) for angle, reach in reached if reach is not None]


def _there_and_back(run: Sequence[tuple[float, float, float]]) -> list[Point]:
    outward = [(far * cos(a), far * sin(a)) for a, _, far in run]
    return outward + [(near * cos(a), near * sin(a)) for a, near, _ in reversed(run)]


def _seen(ring: Sequence[Point], own: int, turns: Sequence[_Turn]) -> list[list[Point]]:
    """The stretches of one profile's edge that are edge of the whole."""
    points = list(_in_steps(ring))
    if len(turns) == 1:
        return [[*ring, ring[0]]]
    shown = [_is_edge(a, b, own, turns) for a, b in pairwise(points)]
    pieces: list[list[Point]] = []
    for k, ((a, b), is_shown) in enumerate(zip(pairwise(points), shown, strict=True)):
        if not is_shown:
            continue
        if k == 0 or not shown[k - 1]:
            pieces.append([a])
        pieces[-1].append(b)
    return pieces


def _in_steps(ring: Sequence[Point]) -> Iterator[Point]:
    """The ring closed, its sides cut to at most a step."""
    for a, b in pairwise([*ring, ring[0]]):
        count = max(1, ceil(hypot(b[0] - a[0], b[1] - a[1]) / _STEP_MM))
        for k in range(count):
            yield a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count
    yield ring[0]


def _is_edge(a: Point, b: Point, own: int, turns: Sequence[_Turn]) -> bool:
    """Whether nothing else is passed just outside a step; an edge that two share is told once, by the first."""
    length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    aside = ((b[1] - a[1]) / length * _BY_MM, (a[0] - b[0]) / length * _BY_MM)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    outside = (middle[0] + aside[0], middle[1] + aside[1])
    inside = (middle[0] - aside[0], middle[1] - aside[1])
    if any(turn.holds(outside) for i, turn in enumerate(turns) if i != own):
        return False
    return not any(turn.holds(inside) for turn in turns[:own])


def _thinned(points: Sequence[Point]) -> tuple[Point, ...]:
    """Without points that lie on the straight way between their neighbours, and without repeats."""
    kept: list[Point] = []
    for point in points:
        if kept and hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) < 1e-6:
            continue
        while len(kept) > 1 and _is_straight(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return tuple(kept)


def _is_straight(a: Point, b: Point, c: Point) -> bool:
    length = hypot(c[0] - a[0], c[1] - a[1])
    across = abs((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0]))
    onward = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return onward >= 0 and across <= 1e-7 * length


def turned(points: Sequence[Point], angle_deg: float) -> tuple[Point, ...]:
    """Points turned about the centre, counter-clockwise."""
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    return tuple((x * c - y * s, x * s + y * c) for x, y in points)
