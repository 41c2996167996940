"""Builders of scenes with keyword defaults."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from profilekeeper.clearance import Head, JointBox, Obstacle, Query, Section, Span, rectangle


def span(value: float | tuple[float, float]) -> Span:
    return Span(low=value[0], high=value[1]) if isinstance(value, tuple) else Span.at(value)


def box(
    x: float | tuple[float, float] = 0.0,
    y: float | tuple[float, float] = 0.0,
    z: float | tuple[float, float] = 0.0,
    tilt: float | tuple[float, float] = (0.0, 90.0),
    swivel: float | tuple[float, float] = 0.0,
) -> JointBox:
    return JointBox(x_mm=span(x), y_mm=span(y), z_mm=span(z), tilt_deg=span(tilt), swivel_deg=span(swivel))


def wall(
    x: tuple[float, float] = (-3000, 3000),
    y: tuple[float, float] = (-3000, 3000),
    z: tuple[float, float] = (-1000, -500),
    **more: object,
) -> Obstacle:
    settings: dict[str, object] = {"name": "wall", "outline_mm": rectangle(*x, *y), "from_mm": z[0], "to_mm": z[1]}
    return Obstacle(**(settings | more))  # type: ignore[arg-type]  # keyword defaults of a builder


def query(**changes: object) -> Query:
    settings: dict[str, object] = {
        "head": Head(pivot_to_gauge_line_mm=0.0),
        "sections": (Section.cylinder(120, 150, 175),),
        "obstacles": (wall(),),
        "motion": box(),
    }
    return Query(**(settings | changes))  # type: ignore[arg-type]  # keyword defaults of a builder


@pytest.fixture(scope="session")
def build() -> SimpleNamespace:
    return SimpleNamespace(span=span, box=box, wall=wall, query=query)
