"""The nearest points of many pairs of convex solids at once, by the Gilbert-Johnson-Keerthi descent.

Source: Gilbert, Johnson, Keerthi 1988 (IEEE J. Robotics and Automation 4(2)); how it is used, and
why nothing here needs to be exact for a clearance to be safe: docs/clearance-method.md#nearest-points.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Indices", "Nearest", "Solids", "Stop", "nearest"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

# Below this share of its length, what is left of a vector beside the axis is rounding.
_PARALLEL = 1e-12
# Finished pairs are set aside once they are one in this many.
_CROWD = 4
_NEXT, _LAST = [1, 2, 0], [2, 0, 1]
_ONE, _TWO = [0, 0, 1], [1, 2, 2]
_PUT_ONE, _PUT_TWO = np.eye(3)[_ONE], np.eye(3)[_TWO]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solids:
    """N pairs: the hull of K parallel rims (two of a cut cone) swept along X, Y and Z, and an upright prism.

    Shapes:  centre (N, K, 3) of the rims, radius (N, K), axis (N, 3) a unit vector,
             half (N, 3) half widths of the sweep, corners (N, V, 2), heights (N, 2).
    Units:   millimetres.
    """

    centre: Array
    radius: Array
    axis: Array
    half: Array
    corners: Array
    heights: Array

    def take(self, at: Indices | NDArray[np.bool_]) -> Solids:
        """The pairs at some places."""
        return Solids(
            centre=self.centre[at],
            radius=self.radius[at],
            axis=self.axis[at],
            half=self.half[at],
            corners=self.corners[at],
            heights=self.heights[at],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """For each pair: the distance of two of its points, and the direction that separates it best.

    `apart` (N, 3) leads from the obstacle's point to the tool's; `point` and `swept` (N, 3), if traced,
    are the tool's point and the part of the sweep in it; `way` (N, 3) is a unit vector from tool to obstacle.
    """

    distance: Array
    apart: Array
    way: Array
    point: Array
    swept: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """When a pair is done: within `tolerance` of its least distance, `touching`, or farther than `enough`.

    Shapes:  (N,) each, in mm; `rounds` bounds the steps, and what is not done then is left as it stands.
    """

    tolerance: Array
    touching: Array
    enough: Array
    rounds: int

    def take(self, keep: Indices) -> Stop:
        """The pairs at some places."""
        return Stop(
            tolerance=self.tolerance[keep],
            touching=self.touching[keep],
            enough=self.enough[keep],
            rounds=self.rounds,
        )


def nearest(solids: Solids, start: Array, stop: Stop, traced: bool = False) -> Nearest:
    """Two points of each pair, as near as `stop` asks; pairs that touch have the distance 0.

    Shapes:  start (N, 3): first guess of the way from obstacle to tool.
    Units:   millimetres.
    """
    count = len(start)
    out = Nearest(
        distance=np.empty(count),
        apart=np.empty((count, 3)),
        way=np.empty((count, 3)),
        point=np.empty((count, 3)),
        swept=np.empty((count, 3)),
    )
    state = _started(solids, start, stop, 9 if traced else 3)
    for _ in range(stop.rounds):
        new = _supports(state.solids, -state.apart)
        done = _is_done(state, new[:, :3])
        if done.sum() * _CROWD >= len(done):
            state.write(out, done)
            keep = np.flatnonzero(~done)
            if not keep.size:
                return out
            state, new = state.take(keep), new[keep]
        _step(state, new)
    state.write(out, np.ones(len(state.at), dtype=np.bool_))
    return out


@dataclass(slots=True, kw_only=True)
class _Descent:
    """Pairs still approaching: up to four points of tool minus obstacle, and their shares in the nearest.

    Shapes:  parts (N, 4, 3 or 9): each point, then the tool's own and the sweep in it; shares (N, 4).
    """

    solids: Solids
    stop: Stop
    at: Indices
    parts: Array
    shares: Array
    apart: Array
    size: Array
    least: Array
    way: Array
    stuck: NDArray[np.bool_]

    def take(self, keep: Indices) -> _Descent:
        return _Descent(
            solids=self.solids.take(keep),
            stop=self.stop.take(keep),
            at=self.at[keep],
            parts=self.parts[keep],
            shares=self.shares[keep],
            apart=self.apart[keep],
            size=self.size[keep],
            least=self.least[keep],
            way=self.way[keep],
            stuck=self.stuck[keep],
        )

    def write(self, out: Nearest, which: NDArray[np.bool_]) -> None:
        at, size = self.at[which], self.size[which]
        out.distance[at] = np.where(size <= self.stop.touching[which], 0.0, size)
        out.apart[at], out.way[at] = self.apart[which], self.way[which]
        if self.parts.shape[2] > 3:
            sums = np.einsum("ij,ijk->ik", self.shares[which], self.parts[which, :, 3:])
            out.point[at], out.swept[at] = sums[:, :3], sums[:, 3:]


def _started(solids: Solids, start: Array, stop: Stop, parts: int) -> _Descent:
    first = _supports(solids, -start)[:, :parts]
    shares = np.zeros((len(start), 4))
    shares[:, 0] = 1.0
    return _Descent(
        solids=solids,
        stop=stop,
        at=np.arange(len(start)),
        parts=np.repeat(first[:, None], 4, axis=1),
        shares=shares,
        apart=first[:, :3].copy(),
        size=_norm(first[:, :3]),
        least=np.full(len(start), -np.inf),
        way=-start,
        stuck=np.zeros(len(start), dtype=np.bool_),
    )


def _is_done(state: _Descent, new: Array) -> NDArray[np.bool_]:
    """Which pairs are near enough to the least distance; the best separating way is kept for all."""
    size, stop = state.size, state.stop
    unit = state.apart / np.where(size > 0, size, 1.0)[:, None]
    least = np.einsum("ij,ij->i", unit, new)
    better = least > state.least
    state.least = np.where(better, least, state.least)
    state.way = np.where(better[:, None], -unit, state.way)
    close = (size <= stop.touching) | (size - state.least <= stop.tolerance)
    done: NDArray[np.bool_] = close | state.stuck | (state.least > stop.enough)
    return done


def _step(state: _Descent, new: Array) -> None:
    """The new point in place of the one with the least share; a pair that gains nothing is stuck."""
    parts = state.parts.copy()
    parts[np.arange(len(parts)), state.shares.argmin(axis=1)] = parts[:, 0]
    parts[:, 0] = new[:, : parts.shape[2]]
    apart, shares = _least_of_simplex(parts[:, :, :3], np.flatnonzero(state.least <= 0))
    size = _norm(apart)
    better = size < state.size * (1 - 1e-12)
    state.stuck |= ~better
    state.parts = np.where(better[:, None, None], parts, state.parts)
    state.shares = np.where(better[:, None], shares, state.shares)
    state.apart = np.where(better[:, None], apart, state.apart)
    state.size = np.where(better, size, state.size)


def _supports(solids: Solids, way: Array) -> Array:
    """The farthest point of tool minus obstacle along `way`, the tool's own point, its sweep: (N, 9)."""
    rows = np.arange(len(way))
    unit, length = _across(way, solids.axis)
    reach = np.einsum("ijk,ik->ij", solids.centre, way) + solids.radius * length[:, None]
    rim = reach.argmax(axis=1)
    swept = np.sign(way) * solids.half
    tool = solids.centre[rows, rim] + solids.radius[rows, rim, None] * unit + swept
    corner = np.einsum("ijk,ik->ij", solids.corners, way[:, :2]).argmin(axis=1)
    height = np.where(way[:, 2] > 0, solids.heights[:, 0], solids.heights[:, 1])
    found = np.concatenate((tool, tool, swept), axis=1)
    found[:, :2] -= solids.corners[rows, corner]
    found[:, 2] -= height
    return found


def _across(way: Array, axis: Array) -> tuple[Array, Array]:
    """The unit vector across the axis nearest to `way`, and how much of `way` lies along it.

    Straight along the axis every rim point is as far as its centre: then the vector is 0, which names
    the centre. Near that, one subtraction leaves a vector that is not across; the second mends it.
    """
    rest = way - np.einsum("ij,ij->i", way, axis)[:, None] * axis
    length = _norm(rest)
    plain = length > _PARALLEL * _norm(way)
    unit = rest / np.where(plain, length, 1.0)[:, None]
    unit -= np.einsum("ij,ij->i", unit, axis)[:, None] * axis
    size = np.where(plain, _norm(unit), 1.0)
    return np.where(plain[:, None], unit / size[:, None], 0.0), np.where(plain, length, 0.0)


def _least_of_simplex(simplex: Array, may_touch: Indices) -> tuple[Array, Array]:
    """The point nearest to the origin of each tetrahedron, and its shares of the four corners.

    The newest corner comes first and takes part in the answer, so eight faces are enough; whether the
    origin is inside needs asking only of pairs not yet proven apart, `may_touch`.
    """
    newest = simplex[:, 0]
    edges = simplex[:, 1:] - newest[:, None]
    gram = np.einsum("ijk,ilk->ijl", edges, edges)
    toward = -np.einsum("ijk,ik->ij", edges, newest)
    shares = np.concatenate((_edge_shares(gram, toward), _face_shares(gram, toward)), axis=1)
    points = newest[:, None] + np.einsum("ijk,ikl->ijl", shares, edges)
    best = np.einsum("ijk,ijk->ij", points, points).argmin(axis=1)
    rows = np.arange(len(simplex))
    point, share = points[rows, best], shares[rows, best]
    if may_touch.size:
        _look_inside(point, share, edges[may_touch], newest[may_touch], may_touch)
    return point, np.concatenate((1.0 - share.sum(axis=1, keepdims=True), share), axis=1)


def _look_inside(point: Array, share: Array, edges: Array, newest: Array, at: Indices) -> None:
    """Where the origin lies inside the tetrahedron, its shares and the point they give take over."""
    whole = _whole_shares(edges, newest)
    inside = whole.any(axis=1)
    at, whole = at[inside], whole[inside]
    found = newest[inside] + np.einsum("ij,ijk->ik", whole, edges[inside])
    nearer = _norm(found) < _norm(point[at])
    share[at[nearer]], point[at[nearer]] = whole[nearer], found[nearer]


def _edge_shares(gram: Array, toward: Array) -> Array:
    squares = np.einsum("ijj->ij", gram)
    share = np.clip(toward / np.where(squares > 0, squares, 1.0), 0.0, 1.0)
    return share[:, :, None] * np.eye(3)


def _face_shares(gram: Array, toward: Array) -> Array:
    """Shares inside each of the three faces at the newest corner; 0 (the corner itself) where outside."""
    first, second, mixed = gram[:, _ONE, _ONE], gram[:, _TWO, _TWO], gram[:, _ONE, _TWO]
    along, beside = toward[:, _ONE], toward[:, _TWO]
    whole = first * second - mixed * mixed
    sound = whole > 1e-14 * first * second
    whole[~sound] = 1.0
    one = (along * second - beside * mixed) / whole
    two = (beside * first - along * mixed) / whole
    inside = sound & (one >= 0) & (two >= 0) & (one + two <= 1)
    return (one * inside)[:, :, None] * _PUT_ONE + (two * inside)[:, :, None] * _PUT_TWO


def _whole_shares(edges: Array, newest: Array) -> Array:
    """Shares of the origin where it lies inside the tetrahedron; 0 where it does not."""
    left, right = edges[:, _NEXT], edges[:, _LAST]
    normals = left[:, :, _NEXT] * right[:, :, _LAST] - left[:, :, _LAST] * right[:, :, _NEXT]
    volume = np.einsum("ij,ij->i", edges[:, 0], normals[:, 0])
    sound = np.abs(volume) > 1e-12 * np.prod(_norm(edges), axis=1)
    shares = -np.einsum("ijk,ik->ij", normals, newest) / np.where(sound, volume, 1.0)[:, None]
    inside = sound & (shares >= 0).all(axis=1) & (shares.sum(axis=1) <= 1)
    found: Array = shares * inside[:, None]
    return found


def _norm(vectors: Array) -> Array:
    length: Array = np.sqrt(np.einsum("...i,...i->...", vectors, vectors))
    return length
