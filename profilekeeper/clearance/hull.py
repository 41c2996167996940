"""The reach of a prism that rides along: every corner turns about the swivel axis on its own circle.

Derivation: docs/clearance-method.md#riders.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from profilekeeper.clearance.distance import Array, Solids

__all__ = ["cosine_range", "hull_bound", "hull_reach", "hull_solids"]

_TURN = 2.0 * np.pi


class _Turned(Protocol):
    """What of a cell matters here."""

    @property
    def hull(self) -> Array: ...
    @property
    def turn(self) -> Array: ...
    @property
    def turn_half(self) -> Array: ...
    @property
    def drift(self) -> Array: ...
    @property
    def spread(self) -> Array: ...
    @property
    def corners(self) -> Array: ...
    @property
    def heights(self) -> Array: ...
    @property
    def tied(self) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]: ...


def hull_solids(cells: _Turned, base: Array, turn: Array) -> Solids:
    """The corners at one swivel angle each, as rims of no radius."""
    ahead, beside, up = cells.hull[:, :, 0], cells.hull[:, :, 1], cells.hull[:, :, 2]
    cosine, sine = np.cos(turn)[:, None], np.sin(turn)[:, None]
    corners = np.stack((ahead * cosine - beside * sine, ahead * sine + beside * cosine, up), axis=2)
    return Solids(
        centre=base[:, None] + corners,
        radius=np.zeros(cells.hull.shape[:2]),
        axis=np.tile((0.0, 0.0, 1.0), (len(base), 1)),
        half=cells.spread,
        corners=cells.corners,
        heights=cells.heights,
    )


def hull_reach(cells: _Turned, way: Array, turn: Array) -> Array:
    """The farthest corner along `way` at P swivel angles each: turn and the answer are (N, P)."""
    size, angle, rise = _circles(cells, way)
    reach: Array = (size[:, None] * np.cos(turn[:, :, None] + angle[:, None]) + rise[:, None]).max(axis=2)
    return reach


def hull_bound(cells: _Turned, way: Array) -> Array:
    """The greatest reach along `way` over the box: exact, save on a move that turns as it travels."""
    size, angle, rise = _circles(cells, way)
    travel = np.einsum("ij,ij->i", way, cells.drift)
    half = np.abs(cells.turn_half)[:, None]
    _, high = cosine_range(cells.turn[:, None] - half + angle, cells.turn[:, None] + half + angle)
    free: Array = (size * high + rise).max(axis=1) + np.abs(travel)
    if not cells.tied.any():
        return free
    middle = cells.turn[:, None] + angle
    slope = travel[:, None] - size * np.sin(middle) * cells.turn_half[:, None]
    tied = (size * np.cos(middle) + rise + np.abs(slope) + size * half * half / 2).max(axis=1)
    return np.where(cells.tied, np.minimum(free, tied), free)


def cosine_range(begin: Array, end: Array) -> tuple[Array, Array]:
    """The least and greatest cosine on [begin, end]."""
    one, other = np.cos(begin), np.cos(end)
    high = np.where(np.floor(end / _TURN) * _TURN >= begin, 1.0, np.maximum(one, other))
    low = np.where(np.floor((end - np.pi) / _TURN) * _TURN + np.pi >= begin, -1.0, np.minimum(one, other))
    return low, high


def _circles(cells: _Turned, way: Array) -> tuple[Array, Array, Array]:
    """Each corner's reach as size * cos(turn + angle) + rise."""
    ahead, beside, up = cells.hull[:, :, 0], cells.hull[:, :, 1], cells.hull[:, :, 2]
    level, heading = np.hypot(way[:, 0], way[:, 1]), np.arctan2(way[:, 1], way[:, 0])
    size = level[:, None] * np.hypot(ahead, beside)
    return size, np.arctan2(beside, ahead) - heading[:, None], way[:, 2:] * up
