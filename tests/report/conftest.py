"""Scenes to draw, with keyword defaults, and a reader of the drawings that knows nothing of how they are made."""

from __future__ import annotations

import re
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from profilekeeper.clearance import Frame, Head, JointBox, Obstacle, Query, Section, Span, gap, least_lift, rectangle
from profilekeeper.report import Matter, Title, side_scene, side_view

TABLE = Obstacle(
    name="table", outline_mm=rectangle(-900, 2600, -1800, 200), from_mm=-420, to_mm=-330, frame=Frame.TABLE
)
BIN = Obstacle(name="offcut bin", outline_mm=rectangle(-160, 330, -300, 300), from_mm=-330, to_mm=-190)
MATTERS = {"table": Matter.TABLE, "slab": Matter.STONE, "rear fence": Matter.ZONE}


def span(value):
    return Span(low=value[0], high=value[1]) if isinstance(value, tuple) else Span.at(value)


def box(x=0.0, y=0.0, z=-60.0, tilt=(0.0, 92.0), swivel=0.0):
    return JointBox(x_mm=span(x), y_mm=span(y), z_mm=span(z), tilt_deg=span(tilt), swivel_deg=span(swivel))


def blade(radius=200.0, name="blade"):
    return (
        Section.cylinder(-310, 0, 95, name="motor body"),
        Section.cylinder(0, 30, 60, name="flange"),
        Section.cylinder(30, 34, radius, name=name),
    )


def title(**changes):
    words = {
        "machine": "quayside/saw-1", "tool": "7: blade 400", "position": "tool-change spot 1", "snapshot": "q4m7t2",
        "date": "2026-03-04",
    }  # fmt: skip
    return Title(**(words | changes))


def query(**changes):
    settings = {
        "head": Head(pivot_to_gauge_line_mm=185.0), "sections": blade(), "obstacles": (BIN,), "motion": box(),
    }  # fmt: skip
    return Query(**(settings | changes))


def scene(asked=None, **more):
    asked = asked or query()
    found = gap(asked)
    lift = least_lift(asked, required_mm=0, room_mm=60) if found.is_contact else None
    return side_scene(asked, found, **({"lift": lift, "also": (TABLE,), "table": "table"} | more))


def drawn(shown=None, *, words=None, **more):
    shown = shown or scene()
    settings = {"verdict": "hits" if shown.gap.is_contact else "tight", "matters": MATTERS}
    return side_view(shown, words or title(), **(settings | more))


class Drawing:
    """An SVG read back: its parts by their marks, in millimetres of the machine."""

    def __init__(self, svg):
        self.root = ElementTree.fromstring(svg)
        view = self.one("data-part", "view")
        self.scale = float(view.get("data-scale"))
        self.zero = tuple(float(word) for word in view.get("data-zero").split())

    def all(self, mark, value=None):
        return [e for e in self.root.iter() if e.get(mark) is not None and value in (None, e.get(mark))]

    def one(self, mark, value):
        (found,) = self.all(mark, value)
        return found

    def machine(self, x, y):
        return (float(x) - self.zero[0]) * self.scale, (self.zero[1] - float(y)) * self.scale

    def points(self, path):
        return [self.machine(x, y) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d"))]

    def point(self, name):
        dot = self.one("data-point", name)
        return self.machine(dot.get("cx"), dot.get("cy"))

    def words(self):
        return [e.text or "" for e in self.root.iter() if e.tag.endswith("}text")]


@pytest.fixture(scope="session")
def build():
    return SimpleNamespace(
        blade=blade, box=box, drawn=drawn, query=query, scene=scene, title=title, table=TABLE, bin=BIN,
        matters=MATTERS, read=Drawing,
    )  # fmt: skip
