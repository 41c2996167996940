"""How much room there is: swept solids of revolution against prisms, certified.

Answers "does it swing clear?" with an interval that contains the true least gap, the pose and the two
points where it is found, and in contact the rise of Z that frees it. Derivations stand in
docs/clearance-method.md. Names are loaded on first use, so that starting the program never waits for numpy.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "AngleMap": "frames",
    "Frame": "frames",
    "Head": "frames",
    "JointBox": "frames",
    "Joints": "frames",
    "Span": "frames",
    "Straight": "frames",
    "TipHeld": "frames",
    "Obstacle": "shapes",
    "Section": "shapes",
    "rectangle": "shapes",
    "slab_on": "shapes",
    "Gap": "sweep",
    "Query": "sweep",
    "gap": "sweep",
    "gaps": "sweep",
}

__all__ = sorted(_HOMES)  # noqa: PLE0605 - one table says what is public and where it lives


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
