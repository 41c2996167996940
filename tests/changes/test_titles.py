"""What a technician calls a setting."""

from __future__ import annotations

import pytest

from profilekeeper.changes import GROUPS, group_of, is_geometry, title
from profilekeeper.model.schema import schema

from .built import changed, put, read, record


@pytest.mark.parametrize(
    ("pointer", "words"),
    [
        ("", "the whole machine record"),
        ("/tools/9/length", "tool 9 calibrating disc 350: length"),
        ("/tools/9", "tool 9 calibrating disc 350"),
        ("/tools/77/length", "tool 77: length"),
        ("/tools/9/sections/1/radius", "tool 9 calibrating disc 350: section 2, radius"),
        ("/tools/9/touch_off/Z", "tool 9 calibrating disc 350: touch-off, Z"),
        ("/tables/main/surface", "table main: table height"),
        ("/tables/main/outline/2/0", "table main: outline, corner 3, X"),
        ("/work_offsets/G54/X", "G54 X"),
        ("/tool_changes/default/Z", "tool change default Z"),
        ("/axes/X/soft_limits/1", "axis X: soft limits, high end"),
        ("/no_go_zones/bin/to", "no-go zone bin: to"),
        ("/head/pivot_to_gauge_line", "head: pivot to spindle nose"),
        ("/events/0/note", "event table milled, table main, 2026-01-12: note"),
        ("/control_pages/axes X/settings/Soft limit +/value", "page axes X: Soft limit +"),
        ("/control_pages/axes X/settings/Pressure/value", "page axes X: Druck (no. 2 on the page)"),
        ("/sources/~1tools~19~1length/how", "how it came, tool 9 calibrating disc 350: length: how"),
        ("/changer/pockets/3/tool", "changer: pocket 3, tool"),
    ],
)
def test_a_pointer_is_worded_for_a_technician(pointer: str, words: str) -> None:
    page = "control_pages/axes X/settings/Pressure"
    data = changed(record(), put(f"{page}/label", "Druck"), put(f"{page}/occurrence", 2))

    assert title(read(data), pointer) == words


def test_every_part_of_the_schema_has_a_heading() -> None:
    assert set(GROUPS) == set(schema("profile")["properties"])
    assert group_of(read(record()), "/tools/9/length") == "tools"
    assert group_of(read(record()), "/x-own/a") == "free keys"


@pytest.mark.parametrize(
    ("pointer", "bears"),
    [
        ("/tools/9/length", True),
        ("/tools/9/sections/0/radius", True),
        ("/tools/9/speed", False),
        ("/tools/9/note", False),
        ("/tables/main/surface", True),
        ("/spindles/main/mounted", True),
        ("/machine/serial", False),
        ("/events/0/by_how_much", False),
        ("/control_pages/axes X/settings/Pressure/value", None),
        ("/x-own", False),
    ],
)
def test_what_bears_on_clearance(pointer: str, bears: bool | None) -> None:
    assert is_geometry(pointer) is bears
