"""How much room there is: swept solids of revolution against prisms, certified.

Answers "does it swing clear?" with an interval that contains the true least gap, the pose and the two
points where it is found, and in contact the rise of Z that frees it. Derivations stand in
docs/clearance-method.md. Names are loaded on first use, so that starting the program never waits for numpy.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from profilekeeper.clearance.bodies import Body
    from profilekeeper.clearance.chain import Chain
    from profilekeeper.clearance.frames import AngleMap, Frame, Head, JointBox, Joints, Span, Straight, TipHeld
    from profilekeeper.clearance.lift import Lift, least_lift
    from profilekeeper.clearance.path import (
        FirstContact,
        SwivelWay,
        any_path,
        first_contact,
        in_order,
        leg_gaps,
        swivel_span,
        together,
    )
    from profilekeeper.clearance.place import Ground, Leaf, PlaceMap, Spot, place_map
    from profilekeeper.clearance.riders import RiderGap, RiderQuery, rider_gap, rider_gaps
    from profilekeeper.clearance.scene import Scene, scene_of
    from profilekeeper.clearance.shapes import Obstacle, Section, rectangle, slab_on
    from profilekeeper.clearance.surroundings import Stone, Thing
    from profilekeeper.clearance.sweep import Gap, HardAndSoft, Query, gap, gaps, hard_and_soft
    from profilekeeper.clearance.verdict import Room, room_verdict

__all__ = [
    "AngleMap",
    "Body",
    "Chain",
    "FirstContact",
    "Frame",
    "Gap",
    "Ground",
    "HardAndSoft",
    "Head",
    "JointBox",
    "Joints",
    "Leaf",
    "Lift",
    "Obstacle",
    "PlaceMap",
    "Query",
    "RiderGap",
    "RiderQuery",
    "Room",
    "Scene",
    "Section",
    "Span",
    "Spot",
    "Stone",
    "Straight",
    "SwivelWay",
    "Thing",
    "TipHeld",
    "any_path",
    "first_contact",
    "gap",
    "gaps",
    "hard_and_soft",
    "in_order",
    "least_lift",
    "leg_gaps",
    "place_map",
    "rectangle",
    "rider_gap",
    "rider_gaps",
    "room_verdict",
    "scene_of",
    "slab_on",
    "swivel_span",
    "together",
]

_HOMES = {
    "bodies": ("Body",),
    "chain": ("Chain",),
    "scene": ("Scene", "scene_of"),
    "surroundings": ("Stone", "Thing"),
    "frames": ("AngleMap", "Frame", "Head", "JointBox", "Joints", "Span", "Straight", "TipHeld"),
    "lift": ("Lift", "least_lift"),
    "path": (
        "FirstContact",
        "SwivelWay",
        "any_path",
        "first_contact",
        "in_order",
        "leg_gaps",
        "swivel_span",
        "together",
    ),
    "place": ("Ground", "Leaf", "PlaceMap", "Spot", "place_map"),
    "riders": ("RiderGap", "RiderQuery", "rider_gap", "rider_gaps"),
    "shapes": ("Obstacle", "Section", "rectangle", "slab_on"),
    "sweep": ("Gap", "HardAndSoft", "Query", "gap", "gaps", "hard_and_soft"),
    "verdict": ("Room", "room_verdict"),
}


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"{__name__}.{home}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
