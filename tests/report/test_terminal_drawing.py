"""The silhouette in characters."""

from __future__ import annotations

import pytest

from profilekeeper.quantities import LengthUnit
from profilekeeper.report import ASCII, BLOCKS, terminal_side_view


@pytest.mark.parametrize(("width", "height"), [(60, 24), (40, 16), (100, 40), (5, 3)])
def test_it_keeps_to_the_width_and_height_asked_for(build, width, height):
    lines = terminal_side_view(build.scene(), width, height).splitlines()

    assert max(map(len, lines)) <= max(width, 24)
    assert len(lines) == max(height, 10)


def test_blade_stands_above_the_bin_and_the_number_below(build):
    lines = terminal_side_view(build.scene(build.query(sections=build.blade(name="blade 400")))).splitlines()
    bin_rows = [i for i, row in enumerate(lines[:-3]) if BLOCKS.obstacle in row]
    blade_rows = [i for i, row in enumerate(lines[:-3]) if BLOCKS.tool in row]

    assert blade_rows
    assert max(blade_rows) < min(bin_rows)
    assert lines[-3] == "◆ gap 18.4 mm"
    assert lines[-2] == "█ blade 400 at tilt 47.6°"


def test_a_hit_shows_the_blade_inside_the_bin(build):
    shown = terminal_side_view(build.scene(build.query(sections=build.blade(250.0))), 60, 30).splitlines()

    bin_rows = [row for row in shown[:-3] if BLOCKS.obstacle in row]

    assert any(BLOCKS.tool in row or BLOCKS.witness in row for row in bin_rows)
    assert shown[-3] == "◆ hits by 17.4 mm; free 17.5 higher"


def test_plain_characters_only_where_asked_for(build):
    text = terminal_side_view(build.scene(), glyphs=ASCII)

    assert text.isascii()
    assert "gap 18.4 mm" in text
    assert "deg" in text


def test_inches_where_the_machine_shows_inches(build):
    assert "gap 0.725 in" in terminal_side_view(build.scene(), unit=LengthUnit.IN)
