"""The place map as hatches: where a swing has room, told apart without colour."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from itertools import groupby

from profilekeeper.clearance import Ground, Leaf, PlaceMap
from profilekeeper.report.paper import View
from profilekeeper.report.svg import element, group, path_through

__all__ = ["best_spot", "ground_hatches", "ground_rows", "map_cells"]


class _Room(StrEnum):
    """What the place map proves of a cell, as the legend says it."""

    CLEAR = "room for the swing, with more than the warning margin"
    TIGHT = "room for the swing, within the warning margin"
    EDGE = "not settled: the edge of the room runs here"
    BLOCKED = "too little room, or contact"


def ground_hatches() -> str:
    """The definitions of the map's hatches."""
    return element("defs", "".join(_ground_hatch(room) for room in _Room))


def ground_rows() -> list[tuple[dict[str, str | float | None], str, bool]]:
    """The map's rows of the legend."""
    thin: dict[str, str | float | None] = {"stroke": "#000", "stroke_width": 0.2}
    return [({"fill": f"url(#{_ground_id(room)})", **thin}, room.value, True) for room in _Room]


def best_spot(ground: PlaceMap, view: View) -> str:
    """A filled mark at the spot with the most room."""
    x, y = view.at((ground.roomiest.x_mm, ground.roomiest.y_mm))
    star = path_through([(x, y - 3), (x + 3, y), (x, y + 3), (x - 3, y)])
    return element("path", d=star, fill="#000", stroke="#fff", stroke_width=0.5, data_part="roomiest")


def _room_of(leaf: Leaf, ground: PlaceMap, warn_mm: float) -> _Room:
    if leaf.ground is Ground.BLOCKED:
        return _Room.BLOCKED
    if leaf.ground is Ground.EDGE:
        return _Room.EDGE
    return _Room.CLEAR if leaf.low_mm >= ground.required_mm + warn_mm else _Room.TIGHT


def map_cells(ground: PlaceMap, warn_mm: float, view: View) -> str:
    """The leaves of the map, one path for each kind; neighbours in a row are drawn as one."""
    parts = []
    for room in _Room:
        leaves = [leaf for leaf in ground.leaves if _room_of(leaf, ground, warn_mm) is room]
        d = "".join(_block(row, view) for row in _joined(leaves))
        if d:
            parts.append(element("path", d=d, fill=f"url(#{_ground_id(room)})", data_ground=room.name.lower()))
    return group(parts, data_part="place map")


_Block = tuple[float, float, float, float]


def _joined(leaves: Sequence[Leaf]) -> list[_Block]:
    """Rectangles (x, x, y, y) joined along X, then along Y, where they meet edge to edge."""
    blocks = [(leaf.x_mm.low, leaf.x_mm.high, leaf.y_mm.low, leaf.y_mm.high) for leaf in leaves]
    blocks = _joined_along(blocks, first=0)
    return _joined_along(blocks, first=2)


def _joined_along(blocks: Sequence[_Block], *, first: int) -> list[_Block]:
    other = 2 - first

    def strip(block: _Block) -> tuple[float, float]:
        return block[other], block[other + 1]

    joined: list[_Block] = []
    for _, row in groupby(sorted(blocks, key=lambda block: (*strip(block), block[first])), key=strip):
        open_block: list[float] | None = None
        for block in row:
            if open_block is not None and abs(open_block[first + 1] - block[first]) < 1e-9:
                open_block[first + 1] = block[first + 1]
                continue
            if open_block is not None:
                joined.append((open_block[0], open_block[1], open_block[2], open_block[3]))
            open_block = list(block)
        if open_block is not None:
            joined.append((open_block[0], open_block[1], open_block[2], open_block[3]))
    return joined


def _block(block: _Block, view: View) -> str:
    (x, y), (right, bottom) = view.at((block[0], block[3])), view.at((block[1], block[2]))
    return f"M{x:.2f},{y:.2f}H{right:.2f}V{bottom:.2f}H{x:.2f}Z"


# Pitch of the hatch, its strokes, their width. Denser is less room, so that the map reads the same in grey.
_HATCH: dict[_Room, tuple[float, str, float]] = {
    _Room.CLEAR: (3.4, "M1.45,1.7H1.95", 0.5),
    _Room.TIGHT: (1.7, "M0.85,0V1.7", 0.25),
    _Room.EDGE: (1.2, "M0,0.6H1.2M0.6,0V1.2", 0.15),
    _Room.BLOCKED: (1.4, "M-0.35,0.35L0.35,-0.35M0,1.4L1.4,0M1.05,1.75L1.75,1.05", 0.45),
}


def _ground_id(room: _Room) -> str:
    return f"ground-{room.name.lower()}"


def _ground_hatch(room: _Room) -> str:
    gap, ruled, wide = _HATCH[room]
    drawn = element("path", d=ruled, fill="none", stroke="#000", stroke_width=wide)
    return element("pattern", drawn, id=_ground_id(room), width=gap, height=gap, patternUnits="userSpaceOnUse")
