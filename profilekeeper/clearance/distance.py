"""The nearest points of many pairs of convex solids at once, by the Gilbert-Johnson-Keerthi descent.

Source: Gilbert, Johnson, Keerthi 1988 (IEEE J. Robotics and Automation 4(2)); how it is used, and
why nothing here needs to be exact for a clearance to be safe: docs/clearance-method.md#nearest-points.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Indices", "Nearest", "Solids", "nearest"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_ROUNDS = 40
# Below this share of its length, what is left of a vector beside the axis is rounding.
_PARALLEL = 1e-12
# Finished pairs are set aside once they are one in this many.
_CROWD = 4
_NEXT, _LAST = [1, 2, 0], [2, 0, 1]
_ONE, _TWO = [0, 0, 1], [1, 2, 2]
_PUT_ONE, _PUT_TWO = np.eye(3)[_ONE], np.eye(3)[_TWO]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solids:
    """N pairs: a cut cone swept along X, Y and Z, and an upright prism.

    Shapes:  centre (N, 2, 3) of both rims, radius (N, 2), axis (N, 3) a unit vector,
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

    `apart` (N, 3) leads from the obstacle's point to the tool's; `point` and `swept` (N, 3) are the
    tool's point and the part of the sweep in it; `way` (N, 3) is a unit vector from tool to obstacle.
    """

    distance: Array
    apart: Array
    point: Array
    swept: Array
    way: Array


def nearest(
    solids: Solids, start: Array, tolerance: Array, touching: Array, enough: Array, rounds: int = 40
) -> Nearest:
    """Two points of each pair whose distance exceeds the least by at most the tolerance.

    A pair proven farther apart than `enough` is left as it stands, and so is one not done in time.
    Shapes:  start (N, 3): first guess of the way from obstacle to tool; the others (N,).
    Units:   millimetres; pairs no farther apart than `touching` count as touching, distance 0.
    """
    count = len(start)
    out = Nearest(
        distance=np.empty(count),
        apart=np.empty((count, 3)),
        point=np.empty((count, 3)),
        swept=np.empty((count, 3)),
        way=np.empty((count, 3)),
    )
    state = _started(solids, start, tolerance, touching, enough)
    for _ in range(rounds):
        new = _supports(state.solids, -state.apart)
        done = _is_done(state, new[0])
        if done.sum() * _CROWD >= len(done):
            state.write(out, done)
            keep = np.flatnonzero(~done)
            if not keep.size:
                return out
            state, new = state.take(keep), (new[0][keep], new[1][keep], new[2][keep])
        _step(state, new)
    state.write(out, np.ones(len(state.at), dtype=np.bool_))
    return out


def _is_done(state: _Descent, new: Array) -> NDArray[np.bool_]:
    """Which pairs are near enough to the least distance; the best separating way is kept for all."""
    size = state.size
    unit = state.apart / np.where(size > 0, size, 1.0)[:, None]
    least = np.einsum("ij,ij->i", unit, new)
    better = least > state.least
    state.least = np.where(better, least, state.least)
    state.way = np.where(better[:, None], -unit, state.way)
    close = (size <= state.touching) | (size - state.least <= state.tolerance)
    done: NDArray[np.bool_] = close | state.stuck | (state.least > state.enough)
    return done


@dataclass(slots=True, kw_only=True)
class _Descent:
    """Pairs still approaching: up to four points of tool minus obstacle, and their shares in the nearest.

    Shapes:  parts (N, 4, 9): each point, the tool's own point, and the sweep in it; shares (N, 4).
    """

    solids: Solids
    at: Indices
    parts: Array
    shares: Array
    apart: Array
    size: Array
    tolerance: Array
    touching: Array
    enough: Array
    least: Array
    way: Array
    stuck: NDArray[np.bool_]

    def take(self, keep: Indices) -> _Descent:
        return _Descent(
            solids=self.solids.take(keep),
            at=self.at[keep],
            parts=self.parts[keep],
            shares=self.shares[keep],
            apart=self.apart[keep],
            size=self.size[keep],
            tolerance=self.tolerance[keep],
            touching=self.touching[keep],
            enough=self.enough[keep],
            least=self.least[keep],
            way=self.way[keep],
            stuck=self.stuck[keep],
        )

    def write(self, out: Nearest, which: NDArray[np.bool_]) -> None:
        at, size = self.at[which], self.size[which]
        sums = np.einsum("ij,ijk->ik", self.shares[which], self.parts[which])
        out.distance[at] = np.where(size <= self.touching[which], 0.0, size)
        out.apart[at], out.point[at], out.swept[at] = self.apart[which], sums[:, 3:6], sums[:, 6:]
        out.way[at] = self.way[which]


def _started(solids: Solids, start: Array, tolerance: Array, touching: Array, enough: Array) -> _Descent:
    first = np.concatenate(_supports(solids, -start), axis=1)
    shares = np.zeros((len(start), 4))
    shares[:, 0] = 1.0
    return _Descent(
        solids=solids,
        at=np.arange(len(start)),
        parts=np.repeat(first[:, None], 4, axis=1),
        shares=shares,
        apart=first[:, :3].copy(),
        size=_norm(first[:, :3]),
        tolerance=tolerance,
        touching=touching,
        enough=enough,
        least=np.full(len(start), -np.inf),
        way=-start,
        stuck=np.zeros(len(start), dtype=np.bool_),
    )


def _step(state: _Descent, new: tuple[Array, Array, Array]) -> None:
    """The new point in place of the one with the least share; a pair that gains nothing is stuck."""
    rows = np.arange(len(state.at))[:, None]
    kept = state.parts[rows, np.argsort(-state.shares, axis=1)[:, :3]]
    parts = np.concatenate((np.concatenate(new, axis=1)[:, None], kept), axis=1)
    apart, shares = _least_of_simplex(parts[:, :, :3])
    size = _norm(apart)
    better = size < state.size * (1 - 1e-12)
    state.stuck |= ~better
    state.parts = np.where(better[:, None, None], parts, state.parts)
    state.shares = np.where(better[:, None], shares, state.shares)
    state.apart = np.where(better[:, None], apart, state.apart)
    state.size = np.where(better, size, state.size)


def _supports(solids: Solids, way: Array) -> tuple[Array, Array, Array]:
    """The farthest point of tool minus obstacle along `way`, the tool's point, and its sweep part."""
    rows = np.arange(len(way))
    unit, length = _across(way, solids.axis)
    reach = np.einsum("ijk,ik->ij", solids.centre, way) + solids.radius * length[:, None]
    rim = (reach[:, 1] > reach[:, 0]).astype(np.int64)
    swept = np.sign(way) * solids.half
    tool = solids.centre[rows, rim] + solids.radius[rows, rim, None] * unit + swept
    corner = np.einsum("ijk,ik->ij", solids.corners, way[:, :2]).argmin(axis=1)
    height = np.where(way[:, 2] > 0, solids.heights[:, 0], solids.heights[:, 1])
    wall = np.concatenate((solids.corners[rows, corner], height[:, None]), axis=1)
    return tool - wall, tool, swept


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


def _least_of_simplex(simplex: Array) -> tuple[Array, Array]:
    """The point nearest to the origin of each tetrahedron, and its shares of the four corners.

    The newest corner comes first and takes part in the answer, so eight faces are enough.
    """
    newest = simplex[:, 0]
    edges = simplex[:, 1:] - newest[:, None]
    gram = np.einsum("ijk,ilk->ijl", edges, edges)
    toward = -np.einsum("ijk,ik->ij", edges, newest)
    shares = np.concatenate(
        (_edge_shares(gram, toward), _face_shares(gram, toward), _whole_shares(edges, newest)), axis=1
    )
    corner_shares = np.concatenate((1.0 - shares.sum(axis=2, keepdims=True), shares), axis=2)
    points = np.einsum("ijk,ikl->ijl", corner_shares, simplex)
    sizes = np.einsum("ijk,ijk->ij", points, points)
    best = sizes.argmin(axis=1)
    rows = np.arange(len(simplex))
    return points[rows, best], corner_shares[rows, best]


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
    found: Array = (shares * inside[:, None])[:, None, :]
    return found


def _norm(vectors: Array) -> Array:
    length: Array = np.sqrt(np.einsum("...i,...i->...", vectors, vectors))
    return length
