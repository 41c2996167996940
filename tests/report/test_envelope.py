"""Swept outlines against shapely, a general-purpose library of planar geometry, and against closed forms."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin, sqrt

import pytest

from profilekeeper.clearance import Section
from profilekeeper.report.envelope import profile_of, seen_from_above, swept, tilted

shapely = pytest.importorskip("shapely")

TOOLS = {
    "blade": (Section.cylinder(30, 34, 200),),
    "head and disc": (Section.cylinder(-310, 0, 95), Section.cylinder(0, 70, 40), Section.cylinder(70, 212.73, 175)),
    "cone": (Section(from_mm=20, to_mm=110, radius_from_mm=30, radius_to_mm=140),),
    "drill": (Section.cylinder(0, 300, 20),),
    "thin disc": (Section.cylinder(50, 50.5, 150),),
}
TURNS = {"whole": (0, 92), "part": (35, 60), "a little": (44, 45), "around": (-90, 180), "full circle": (0, 360)}


POSES = 40


@pytest.mark.parametrize("turn", TURNS.values(), ids=TURNS)
@pytest.mark.parametrize("offset", [0.0, 60.0])
@pytest.mark.parametrize("sections", TOOLS.values(), ids=TOOLS)
def test_what_is_passed_is_that_of_all_poses_together(sections, offset, turn):
    profiles = [profile_of(section, offset, 185.0) for section in sections]
    start, end = (radians(angle) for angle in turn)
    passed = swept(profiles, start, end)

    for profile, rings in zip(profiles, passed.regions, strict=True):
        poses = [shapely.Polygon(tilted(profile, start + (end - start) * k / POSES)) for k in range(POSES + 1)]
        together = shapely.union_all([pose.buffer(1e-6) for pose in poses])
        area = _filled(rings)
        step = max(hypot(*corner) for corner in profile) * (end - start) / POSES

        # An arc lies at most 0.01 mm outside its chord of half a degree; between two poses, a step.
        assert together.difference(area.buffer(0.02)).area < 1e-3
        assert area.difference(together.buffer(step + 0.02)).area < 1e-3


@pytest.mark.parametrize("turn", TURNS.values(), ids=TURNS)
@pytest.mark.parametrize("sections", TOOLS.values(), ids=TOOLS)
def test_outline_is_the_edge_of_it_all_and_nothing_else(sections, turn):
    start, end = (radians(angle) for angle in turn)
    passed = swept([profile_of(section, 25.0, 185.0) for section in sections], start, end)
    whole = shapely.union_all([_filled(rings).buffer(1e-4) for rings in passed.regions])

    outline = shapely.MultiLineString([piece for piece in passed.outline if len(piece) > 1])
    edge = whole.boundary

    assert outline.difference(edge.buffer(2.1)).length < 1e-3
    assert edge.difference(outline.buffer(2.1)).length < 1e-3


def _filled(rings):
    """Even-odd: the second of two rings is a hole."""
    area = shapely.Polygon()
    for ring in rings:
        if len(ring) > 2:
            area = area.symmetric_difference(shapely.Polygon(ring).buffer(0))
    return area


def _parts(shape):
    return shape.geoms if hasattr(shape, "geoms") else [shape]


@pytest.mark.parametrize("thick", [4, 0])
@pytest.mark.parametrize(("depth", "radius"), [(219, 200), (219, 250), (150, 175), (50, 120)])
def test_lowest_point_is_exact(depth, radius, thick):
    passed = swept([profile_of(Section.cylinder(depth - thick, depth, radius), 0.0, 0.0)], 0.0, radians(92))

    assert min(z for piece in passed.outline for _, z in piece) == pytest.approx(-hypot(depth, radius), abs=1e-9)


@pytest.mark.parametrize("turn", [(0, 90), (20, 50), (0, 92)])
@pytest.mark.parametrize("sections", TOOLS.values(), ids=TOOLS)
@pytest.mark.parametrize("offset", [0.0, 40.0])
def test_outline_from_above_holds_every_rim_and_no_more(sections, turn, offset):
    start, end = (radians(angle) for angle in turn)
    outline = shapely.Polygon(seen_from_above(sections, offset, 185.0, (start, end))).buffer(0)
    hulls = [
        shapely.MultiPoint(list(_rims(section, offset, start + (end - start) * k / 40))).convex_hull
        for section in sections
        for k in range(41)
    ]
    together = shapely.union_all(hulls)

    assert together.difference(outline.buffer(1.0)).area < 1e-6
    filled = shapely.union_all([shapely.Polygon(part.exterior) for part in _parts(together)])
    reach = max(hypot(185 + s.to_mm, s.radius_to_mm) for s in sections)
    slack = 1.0 + reach * (end - start) / 40
    if len(sections) == 1:
        assert outline.difference(filled.buffer(slack)).area < 1e-6


def _rims(section, offset, tilt):
    for along, radius in ((section.from_mm, section.radius_from_mm), (section.to_mm, section.radius_to_mm)):
        centre = offset * sin(tilt) + (185 + along) * cos(tilt)
        for k in range(90):
            turn = 2 * pi * k / 90
            yield centre + radius * sin(tilt) * cos(turn), radius * sin(turn)


def test_widest_forward_reach_from_above_is_the_closed_form_one():
    outline = seen_from_above((Section.cylinder(30, 34, 200),), 0.0, 185.0, (0.0, radians(92)))

    assert max(ahead for ahead, _ in outline) == pytest.approx(sqrt(219**2 + 200**2), abs=1e-9)
    assert max(side for _, side in outline) == pytest.approx(200)
