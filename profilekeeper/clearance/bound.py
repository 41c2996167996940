"""How far apart two solids stay over a whole box of joint values, seen along one direction.

For any unit direction m: least of m.x over the obstacle, less the tool's greatest m.x over the box.
A poor direction makes the answer smaller, never wrong. Proof: docs/clearance-method.md#the-bound.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from profilekeeper.clearance.distance import Array, Indices, Solids
from profilekeeper.clearance.hull import cosine_range, hull_bound, hull_reach, hull_solids

__all__ = ["Cells", "farthest_pose", "pose_solids", "reach_at", "separation"]

_STEPS = np.linspace(-1.0, 1.0, 7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """N boxes of joint values, each with one tool section and one convex prism.

    Shapes:  depth, radius (N, 2): both rims' distance from the pivot and radius; corners (N, V, 2);
             heights (N, 2); base, spread, drift, mask (N, 3); offset (N, 5); the rest (N,).
    `spread` is the half width of a free translation, `drift` that of one tied to the angles on a
    straight move (then `tied`, and half angles are signed). `mask` says on which coordinates the
    offsets (forward, sideways on the swivel, back, sideways, along on the spindle) act. `hull` (N, K, 3)
    holds a rider's corners (forward, sideways, up) about the swivel axis; K is 0 for a tool section.
    Units:   millimetres and radians.
    """

    depth: Array
    radius: Array
    corners: Array
    heights: Array
    base: Array
    spread: Array
    drift: Array
    mask: Array
    offset: Array
    tilt: Array
    tilt_half: Array
    turn: Array
    turn_half: Array
    tied: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    hull: Array

    def take(self, at: Indices | np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> Cells:
        """The cells at some places."""
        return Cells(**{field.name: getattr(self, field.name)[at] for field in fields(self)})


def pose_solids(cells: Cells, share: Array, side: Array) -> Solids:
    """The solids at `share` of the tilt half width (of the straight move, if tied) and `side` of the swivel's.

    Shapes:  share, side (N,), each from -1 to 1.
    """
    tilt, turn = _angles(cells, share, side)
    if cells.hull.shape[1]:
        return hull_solids(cells, cells.base + cells.drift * share[:, None], turn)
    cos_tilt, sin_tilt, cos_turn, sin_turn = np.cos(tilt), np.sin(tilt), np.cos(turn), np.sin(turn)
    level = np.zeros_like(tilt)
    u = np.stack((cos_turn, sin_turn, level), axis=1)
    v = np.stack((-sin_turn, cos_turn, level), axis=1)
    d = cos_tilt[:, None] * u
    d[:, 2] -= sin_tilt
    n = sin_tilt[:, None] * u
    n[:, 2] += cos_tilt
    offset = cells.offset
    shift = offset[:, :1] * u + (offset[:, 1:2] + offset[:, 3:4]) * v + offset[:, 2:3] * n + offset[:, 4:] * d
    point = cells.base + cells.drift * share[:, None] + cells.mask * shift
    return Solids(
        centre=point[:, None] + cells.depth[:, :, None] * d[:, None],
        radius=cells.radius,
        axis=d,
        half=cells.spread,
        corners=cells.corners,
        heights=cells.heights,
    )


def separation(cells: Cells, way: Array) -> Array:
    """How far every pose of each box stays from its obstacle, seen along `way`: a sound lower bound.

    Shapes:  way (N, 3), unit vectors from tool to obstacle; negative answers say nothing.
    Source:  docs/clearance-method.md#the-bound.
    """
    wall = np.einsum("ijk,ik->ij", cells.corners, way[:, :2]).min(axis=1)
    wall += np.minimum(way[:, 2] * cells.heights[:, 0], way[:, 2] * cells.heights[:, 1])
    fixed = np.einsum("ij,ij->i", way, cells.base) + np.einsum("ij,ij->i", np.abs(way), cells.spread)
    turning = hull_bound(cells, way) if cells.hull.shape[1] else _tool_bound(cells, way)
    gap: Array = wall - fixed - turning
    return gap


def _tool_bound(cells: Cells, way: Array) -> Array:
    reach = _closed_reach(cells, way)
    bent = cells.tied | (cells.offset != 0).any(axis=1)
    if bent.any():
        reach[bent] = np.minimum(reach[bent], _bent_reach(cells.take(bent), way[bent]))
    return reach


def farthest_pose(cells: Cells, way: Array) -> tuple[Array, Array]:
    """About where in each box the tool reaches farthest along `way`: shares as for `pose_solids`."""
    grid = np.broadcast_to(_STEPS, (len(way), len(_STEPS)))
    share = _peak(reach_at(cells, way, grid, np.where(cells.tied[:, None], grid, 0.0)))
    side = np.where(cells.tied, share, 0.0)
    free = ~cells.tied & (cells.turn_half > 0)
    if free.any():
        grid = grid[free]
        at = np.broadcast_to(share[free][:, None], grid.shape)
        side[free] = _peak(reach_at(cells.take(free), way[free], at, grid))
    return share, side


def reach_at(cells: Cells, way: Array, share: Array, side: Array) -> Array:
    """The tool's reach along `way`, past its base, at K poses of each box.

    Shapes:  share, side and the answer (N, K).
    """
    tilt, turn = _angles(cells, share, side)
    if cells.hull.shape[1]:
        riding: Array = hull_reach(cells, way, turn) + share * np.einsum("ij,ij->i", way, cells.drift)[:, None]
        return riding
    cos_tilt, sin_tilt = np.cos(tilt), np.sin(tilt)
    size, heading = _level_part(way)
    ahead, beside = size[:, None] * np.cos(turn - heading[:, None]), -size[:, None] * np.sin(turn - heading[:, None])
    rise = way[:, 2:]
    along = ahead * cos_tilt - rise * sin_tilt
    across = np.hypot(ahead * sin_tilt + rise * cos_tilt, beside)
    rims = cells.depth[:, :, None] * along[:, None] + cells.radius[:, :, None] * across[:, None]
    reach: Array = rims.max(axis=1) + share * np.einsum("ij,ij->i", way, cells.drift)[:, None]
    if cells.offset.any():
        reach += _offset_reach(cells, way, tilt, turn)
    return reach


def _offset_reach(cells: Cells, way: Array, tilt: Array, turn: Array) -> Array:
    size, heading = _level_part(way * cells.mask)
    ahead, beside = size[:, None] * np.cos(turn - heading[:, None]), -size[:, None] * np.sin(turn - heading[:, None])
    rise = (way * cells.mask)[:, 2:]
    forward, side, back, more_side, deep = (column[:, None] for column in cells.offset.T)
    reach: Array = (forward + back * np.sin(tilt) + deep * np.cos(tilt)) * ahead
    reach += (side + more_side) * beside + (back * np.cos(tilt) - deep * np.sin(tilt)) * rise
    return reach


def _angles(cells: Cells, share: Array, side: Array) -> tuple[Array, Array]:
    tail = (slice(None),) + (None,) * (share.ndim - 1)
    return (
        cells.tilt[tail] + cells.tilt_half[tail] * share,
        cells.turn[tail] + cells.turn_half[tail] * side,
    )


def _level_part(way: Array) -> tuple[Array, Array]:
    return np.hypot(way[:, 0], way[:, 1]), np.arctan2(way[:, 1], way[:, 0])


def _peak(values: Array) -> Array:
    """Where the parabola through the greatest value and its neighbours peaks."""
    rows = np.arange(len(values))
    at = values.argmax(axis=1)
    inner = np.clip(at, 1, values.shape[1] - 2)
    left, centre, right = (values[rows, inner + k] for k in (-1, 0, 1))
    bend = left - 2 * centre + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    step = _STEPS[1] - _STEPS[0]
    peak: Array = np.where(at == inner, _STEPS[inner] + step * np.clip(shift, -1.0, 1.0), _STEPS[at])
    return peak


def _closed_reach(cells: Cells, way: Array) -> Array:
    """The greatest reach over the box in closed form; exact where there are no offsets."""
    tilt, turn = _ends(cells.tilt, cells.tilt_half), _ends(cells.turn, cells.turn_half)
    low, high = _tilted_range(way, tilt, turn, 0.0)
    depth, radius = cells.depth, cells.radius
    ideal = np.hypot(depth, radius)
    ideal = np.divide(depth, ideal, out=np.zeros_like(depth), where=ideal > 0)
    cosine = np.clip(np.clip(ideal, low[:, None], high[:, None]), -1.0, 1.0)
    reach: Array = (depth * cosine + radius * np.sqrt(1.0 - cosine * cosine)).max(axis=1)
    reach += np.abs(np.einsum("ij,ij->i", way, cells.drift))
    if cells.offset.any():
        reach += _offset_bound(cells, way, tilt, turn)
    return reach


def _ends(middle: Array, half: Array) -> tuple[Array, Array]:
    return middle - np.abs(half), middle + np.abs(half)


def _offset_bound(cells: Cells, way: Array, tilt: tuple[Array, Array], turn: tuple[Array, Array]) -> Array:
    """The sum of what each offset can add at most, wherever that is."""
    masked = way * cells.mask
    size, heading = _level_part(masked)
    ahead = cosine_range(turn[0] - heading, turn[1] - heading)
    beside = cosine_range(turn[0] - heading + np.pi / 2, turn[1] - heading + np.pi / 2)
    along = _tilted_range(masked, tilt, turn, 0.0)
    back = _tilted_range(masked, tilt, turn, -np.pi / 2)
    offset = cells.offset
    terms = (
        (offset[:, 0], size * ahead[0], size * ahead[1]),
        (offset[:, 1] + offset[:, 3], size * beside[0], size * beside[1]),
        (offset[:, 2], *back),
        (offset[:, 4], *along),
    )
    total: Array = sum((np.maximum(by * low, by * high) for by, low, high in terms), np.zeros(len(way)))
    return total


def _tilted_range(way: Array, tilt: tuple[Array, Array], turn: tuple[Array, Array], lead: float) -> tuple[Array, Array]:
    """The range of way.d over the box (of way.n with a lead of -90 degrees).

    At a fixed tilt both are linear in way.u, so the ends of its range are enough; for each end the
    value is a single cosine of the tilt.
    """
    size, heading = _level_part(way)
    shares = cosine_range(turn[0] - heading, turn[1] - heading)
    low, high = np.full(len(way), np.inf), np.full(len(way), -np.inf)
    for share in shares:
        level = size * share
        radius, phase = np.hypot(level, way[:, 2]), np.arctan2(way[:, 2], level) + lead
        least, most = cosine_range(tilt[0] + phase, tilt[1] + phase)
        low, high = np.minimum(low, radius * least), np.maximum(high, radius * most)
    return low, high


def _bent_reach(cells: Cells, way: Array) -> Array:
    """The greatest reach over the box from its slope at the middle and a bound of its bend.

    Each rim point moves by no more than its slope plus half its greatest second derivative; the
    slope's greatest sum over all rim points is convex, so the corners of the box are enough.
    """
    frame = _frame(way, cells)
    offset = _frame(way * cells.mask, cells)
    best = np.full(len(way), -np.inf)
    for share, side in ((1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)):
        reach = _sloped_rims(cells, frame, share, side) + _sloped_offset(cells, offset, share, side)
        reach += share * np.einsum("ij,ij->i", way, cells.drift)
        best = np.where(cells.tied & (share != side), best, np.maximum(best, reach))
    bent: Array = best + _bend(cells, way)
    return bent


_Frame = tuple[Array, Array, Array, Array, Array, Array]


def _frame(way: Array, cells: Cells) -> _Frame:
    """way.u, way.v, way.d, way.n and the cosine and sine of the tilt, at the middle."""
    size, heading = _level_part(way)
    cos_tilt, sin_tilt = np.cos(cells.tilt), np.sin(cells.tilt)
    ahead, beside = size * np.cos(cells.turn - heading), -size * np.sin(cells.turn - heading)
    along, back = ahead * cos_tilt - way[:, 2] * sin_tilt, ahead * sin_tilt + way[:, 2] * cos_tilt
    return ahead, beside, along, back, cos_tilt, sin_tilt


def _sloped(cells: Cells, frame: _Frame, share: float, side: float) -> tuple[Array, Array, Array, Array]:
    """way.u, way.v, way.d, way.n at a corner of the box, by their slopes at the middle."""
    ahead, beside, along, back, cos_tilt, sin_tilt = frame
    tilt, turn = share * cells.tilt_half, side * cells.turn_half
    return (
        ahead + beside * turn,
        beside - ahead * turn,
        along - back * tilt + beside * cos_tilt * turn,
        back + along * tilt + beside * sin_tilt * turn,
    )


def _sloped_rims(cells: Cells, frame: _Frame, share: float, side: float) -> Array:
    _, beside, along, back = _sloped(cells, frame, share, side)
    rims = cells.depth * along[:, None] + cells.radius * np.hypot(back, beside)[:, None]
    reach: Array = rims.max(axis=1)
    return reach


def _sloped_offset(cells: Cells, frame: _Frame, share: float, side: float) -> Array:
    ahead, beside, along, back = _sloped(cells, frame, share, side)
    forward, sideways, behind, more_side, deep = cells.offset.T
    reach: Array = forward * ahead + (sideways + more_side) * beside + behind * back + deep * along
    return reach


def _bend(cells: Cells, way: Array) -> Array:
    """Half the greatest second derivative over the box, times the squared half widths."""
    level, held = np.hypot(way[:, 0], way[:, 1]), way * cells.mask
    held_level = np.hypot(held[:, 0], held[:, 1])
    arm = np.hypot(cells.depth, cells.radius).max(axis=1)
    more = np.hypot(cells.offset[:, 2], cells.offset[:, 4])
    out = np.hypot(cells.offset[:, 0], cells.offset[:, 1] + cells.offset[:, 3])
    tilt, turn = np.abs(cells.tilt_half), np.abs(cells.turn_half)
    swing = arm * level + more * held_level
    bend: Array = (arm + more) * tilt * tilt + 2 * swing * tilt * turn + (swing + out * held_level) * turn * turn
    return bend / 2
