"""A small machine record of the demo fleet's kind, and readers for the tests of this room."""

from __future__ import annotations

import copy
from collections.abc import Callable
from decimal import Decimal as D
from typing import Any

from profilekeeper.changes import Merged, Reading, Side, merge
from profilekeeper.model.disputes import NO_DISPUTES, Disputes
from profilekeeper.model.profile import Profile, read_profile

Data = dict[str, Any]
OURS = Side(reading=Reading(snapshot="a" * 40, by="R. Okonjo", at="2026-03-04T10:12:00+00:00"))
THEIRS = Side(reading=Reading(snapshot="b" * 40, by="M. Halvorsen", at="2026-03-05T08:00:00+00:00"))


def record(**changes: Any) -> Data:
    """A saw in millimetres with two tools, a table, a tool-change position and a page."""
    data: Data = {
        "profile": 2,
        "machine": {"id": "q8d3m5wz", "name": "saw-2", "shop": "quayside"},
        "units": {"length": "mm"},
        "resolution": {"length": D("0.001"), "angle": D("0.01")},
        "axes": {"X": {"kind": "linear", "soft_limits": [D("-5.0"), D("3605.0")]}, "A": {"kind": "tilt"}},
        "tables": {"main": {"surface": D("-330.0"), "taken_with": "nose", "outline": [[0, 0], [900, 0], [900, 500]]}},
        "no_go_zones": {"bin": {"id": "zzzz2222", "frame": "floor", "to": -190}},
        "work_offsets": {"G54": {"X": D("120.0"), "Z": -30, "frame": "machine", "tool_length_active": False}},
        "tool_changes": {"default": {"Z": -60, "frame": "machine", "tool_length_active": False, "tools": ["4"]}},
        "tools": {
            "4": {"id": "k7mq2fzd", "name": "brush", "length": D("119.800"), "speed": 900},
            "9": {"id": "h3ra8wte", "name": "calibrating disc 350", "length": D("210.500")},
        },
        "events": [{"id": "evnt2222", "kind": "table milled", "table": "main", "date": "2026-01-12"}],
        "control_pages": {
            "axes X": {
                "path": ["Service", "X"],
                "settings": {
                    "Soft limit +": {"value": D("3605.0"), "unit": "mm"},
                    "Pressure": {"value": 6, "unit": "bar"},
                },
            }
        },
    }
    data.update(changes)
    return data


def changed(data: Data, *edits: Callable[[Data], object]) -> Data:
    """A copy of a record with some edits made to it."""
    result = copy.deepcopy(data)
    for edit in edits:
        edit(result)
    return result


def put(pointer: str, value: Any) -> Callable[[Data], None]:
    """An edit that sets one value, by keys joined with /."""

    def edit(data: Data) -> None:
        *above, last = pointer.split("/")
        here: Any = data
        for key in above:
            here = here[int(key)] if isinstance(here, list) else here.setdefault(key, {})
        here[int(last) if isinstance(here, list) else last] = value

    return edit


def drop(pointer: str) -> Callable[[Data], None]:
    """An edit that takes one value out."""

    def edit(data: Data) -> None:
        *above, last = pointer.split("/")
        here: Any = data
        for key in above:
            here = here[int(key)] if isinstance(here, list) else here[key]
        del here[int(last) if isinstance(here, list) else last]

    return edit


def renumber(old: str, new: str) -> Callable[[Data], None]:
    """An edit that gives a tool another number."""

    def edit(data: Data) -> None:
        data["tools"][new] = data["tools"].pop(old)

    return edit


def read(data: Data) -> Profile:
    """The profile in a copy of some data."""
    return read_profile(copy.deepcopy(data))


def merged(
    base: Data | None,
    ours: Data,
    theirs: Data,
    *,
    disputes: tuple[Disputes, Disputes, Disputes] = (NO_DISPUTES, NO_DISPUTES, NO_DISPUTES),
    ancestors: frozenset[tuple[str, str]] = frozenset(),
    sides: tuple[Side, Side] = (OURS, THEIRS),
) -> Merged:
    """Two records merged; `ancestors` are pairs of an older and a newer snapshot."""
    return merge(
        read(base) if base is not None else None,
        read(ours),
        read(theirs),
        ours_side=sides[0],
        theirs_side=sides[1],
        is_ancestor=lambda old, new: old == new or (old, new) in ancestors,
        disputes=disputes,
    )


def is_same_data(one: Any, other: Any) -> bool:
    """Whether two pieces of plain data are the same to the last zero, but for the order of keys."""
    if isinstance(one, dict):
        return (
            isinstance(other, dict) and one.keys() == other.keys() and all(is_same_data(one[k], other[k]) for k in one)
        )
    if isinstance(one, list):
        return isinstance(other, list) and len(one) == len(other) and all(map(is_same_data, one, other))
    if isinstance(one, (bool, str)) or one is None or isinstance(other, (bool, str)) or other is None:
        return type(one) is type(other) and bool(one == other)
    return str(one) == str(other)
