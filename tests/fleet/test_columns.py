"""Columns of one machine: how settings are named on every machine, what their values are, the compact form."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.errors import FormatError
from profilekeeper.fleet.columns import Columns, Copying, cell, columns_of, columns_version, dumps, is_wanted, loads
from profilekeeper.model.profile import Profile

Builder = Callable[..., Profile]
DISC = {
    "name": "disc 350", "length": Decimal("212.73"), "speed": 2200,
    "sections": [{"from": 0, "to": 70, "radius": 40}],
}  # fmt: skip
GAIN = "/control_pages/p/settings/gain/value"
PLACED = {"frame": "machine", "tool_length_active": False}


def values(columns: Columns) -> dict[str, str]:
    return {column.key: cell(packed).shown for column, packed in zip(columns.columns, columns.packed, strict=True)}


def of(profile: Profile, key: str) -> Any:
    columns = columns_of(profile)
    return next((c, cell(p)) for c, p in zip(columns.columns, columns.packed, strict=True) if c.key == key)


def test_a_tool_is_named_by_what_it_is_whatever_its_number(profile: Builder) -> None:
    one, other = (columns_of(profile(tools={number: DISC})) for number in ("4", "21"))

    assert values(one)["/tools/disc 350/length"] == "212.73 mm"
    assert values(one) == values(other)


def test_a_tool_is_found_again_under_its_own_number(profile: Builder) -> None:
    columns = columns_of(profile(tools={"21": {**DISC, "id": "k7mq2fzd"}}))

    column = next(c for c in columns.columns if c.key == "/tools/disc 350/length")

    assert columns.pointer(column) == "/tools/21/length"
    assert columns.own[column.thing] == ("/tools/21", "k7mq2fzd")


def test_inch_and_millimetre_sections_of_one_size_name_one_thing(profile: Builder) -> None:
    in_mm = {"name": "disc", "sections": [{"from": 0, "to": Decimal("50.8"), "radius": Decimal("25.40")}]}
    in_inches = {"name": "disc", "sections": [{"from": 0, "to": 2, "radius": 1}]}

    one = columns_of(profile(tools={"1": in_mm}))
    other = columns_of(profile(unit="in", tools={"1": in_inches}))

    assert [t for t in one.things if t.startswith("/tools/")] == [t for t in other.things if t.startswith("/tools/")]


def test_tools_that_cannot_be_told_apart_or_have_no_name_are_said_not_to_be_matched(profile: Builder) -> None:
    columns = columns_of(profile(tools={"4": DISC, "5": DISC, "6": {"length": 100}}))

    assert columns.unmatched == ("tool 6 has no name", "tools 4 and 5 have the same name and sections")
    assert not [c for c in columns.columns if c.key.startswith("/tools/")]


def test_a_list_of_tool_numbers_becomes_the_names_of_the_tools_in_any_order(profile: Builder) -> None:
    blade = {"name": "blade 400"}
    one = profile(tools={"4": DISC, "7": blade}, tool_changes={"big": {"tools": ["4", "7"], **PLACED}})
    other = profile(tools={"1": blade, "2": DISC}, tool_changes={"big": {"tools": ["1", "2"], **PLACED}})

    assert of(one, "/tool_changes/big/tools")[1].shown == "blade 400, disc 350"
    assert of(one, "/tool_changes/big/tools")[1] == of(other, "/tool_changes/big/tools")[1]


def test_a_grid_cell_is_named_by_its_column(profile: Builder) -> None:
    grid = {"columns": {"L": {"unit": "mm"}, "D": {"unit": "mm"}}, "rows": {"1": [Decimal("120.0"), 350]}}

    found = values(columns_of(profile(control_pages={"tools": {"path": ["Tools"], "grids": {"table": grid}}})))

    assert found["/control_pages/tools/grids/table/rows/1/D"] == "350 mm"


def test_a_page_value_that_could_not_be_read_stands_where_its_value_would(profile: Builder) -> None:
    pages = {"p": {"path": ["P"], "settings": {"gain": {"state": "could not read"}, "filter": {"state": "blank"}}}}

    assert of(profile(control_pages=pages), "/control_pages/p/settings/gain/value")[1].is_read is False
    assert of(profile(control_pages=pages), "/control_pages/p/settings/filter/value")[1].is_read is True


@pytest.mark.parametrize(
    ("unit", "number", "kind", "base"),
    [("mm", 25400, "mm/min", "25400"), ("in", 1000, "mm/min", "25400.0")],
)
def test_speeds_of_axes_carry_the_unit_the_control_displays(
    profile: Builder, unit: str, number: int, kind: str, base: str
) -> None:
    found = of(profile(unit=unit, axes={"X": {"rapid": number}}), "/axes/X/rapid")[1]

    assert (found.kind, found.base) == (kind, Decimal(base))


def test_the_speed_of_a_turning_axis_is_in_degrees(profile: Builder) -> None:
    assert of(profile(unit="in", axes={"A": {"kind": "tilt", "rapid": 900}}), "/axes/A/rapid")[1].shown == "900 deg/min"


def test_a_number_whose_unit_only_the_control_knows_is_of_a_kind_of_its_display(profile: Builder) -> None:
    pages = {"p": {"path": ["P"], "settings": {"gain": {"value": 12}}}}

    kinds = {
        of(profile(unit=unit, control_pages=pages), "/control_pages/p/settings/gain/value")[1].kind
        for unit in ("mm", "in")
    }

    assert len(kinds) == 2


def test_how_closely_sisters_agree_is_in_millimetres_whatever_the_page_shows(profile: Builder) -> None:
    about = {"value": Decimal("0.5"), "unit": "in", "agreement": "agrees within", "within": Decimal("0.01")}
    pages = {"p": {"path": ["P"], "settings": {"sag": about, "bow": {**about, "within": "0.3 mm"}}}}

    column = of(profile(control_pages=pages), "/control_pages/p/settings/sag/value")[0]
    with_unit = of(profile(control_pages=pages), "/control_pages/p/settings/bow/value")[0]

    assert (column.within, with_unit.within) == (Decimal("0.254"), Decimal("0.3"))


@pytest.mark.parametrize(
    ("key", "copying"),
    [
        # Common practice, no source.
        ("/spindles/main/max_speed", Copying.MAY),
        ("/tools/disc 350/speed", Copying.MAY),
        ("/axes/Y/scale", Copying.CHECK),
        ("/axes/Y/backlash", Copying.NEVER),
        ("/axes/Y/pitch_table/0/1", Copying.NEVER),
        ("/axes/A/rotary_zero", Copying.NEVER),
        ("/head/pivot_to_gauge_line", Copying.NEVER),
        ("/work_offsets/G54/X", Copying.NEVER),
        ("/tables/main/surface", Copying.NEVER),
        ("/tools/disc 350/length", Copying.NEVER),
        ("/machine/class", Copying.NEVER),
        ("/units/length", Copying.NEVER),
    ],
)
def test_own_zeros_compensations_and_pivot_lengths_are_never_copied(
    profile: Builder, key: str, copying: Copying
) -> None:
    full = profile(
        axes={"Y": {"backlash": Decimal("0.03"), "scale": 1000, "pitch_table": [[0, 0]]}, "A": {"rotary_zero": 0}},
        head={"pivot_to_gauge_line": 185},
        spindles={"main": {"max_speed": 6000}},
        work_offsets={"G54": {"X": 1, **PLACED}},
        tables={"main": {"surface": -330}},
        tools={"4": DISC},
    )

    assert of(full, key)[0].copying is copying


@pytest.mark.parametrize(
    ("parts", "is_recorded"),
    [({}, False), ({"notes": {"visit": "not yet"}}, False), ({"head": {"pivot_to_gauge_line": 185}}, True)],
    ids=["identity only", "a note", "one value"],
)
def test_a_machine_with_its_identity_only_was_never_recorded(
    profile: Builder, parts: dict[str, Any], is_recorded: bool
) -> None:
    assert columns_of(profile(**parts)).is_recorded is is_recorded


def test_what_is_kept_comes_back_the_same(profile: Builder) -> None:
    hostile = "a\x1bb\x1b4\x1cc\x1dd\x1ee\x1ff ~ / \n é"
    columns = columns_of(profile(tools={"4": DISC, "5": {"name": hostile}}, slab={"largest": {"support": hostile}}))

    assert loads(dumps(columns)) == columns


def test_only_the_columns_asked_for_are_taken_out(profile: Builder) -> None:
    axes = {axis: {"backlash": Decimal("0.03"), "rapid": 9000} for axis in "XY"}
    kept = dumps(columns_of(profile(axes=axes, tools={"4": DISC})))

    some = loads(kept, ("/axes/*/backlash", "/tools/disc 350/speed"))
    none = loads(kept, ("/jet",))

    assert values(some) == {
        "/axes/X/backlash": "0.03 mm", "/axes/Y/backlash": "0.03 mm", "/tools/disc 350/speed": "2200 1/min",
    }  # fmt: skip
    assert values(none) == {}
    assert some.things == none.things == loads(kept).things


@pytest.mark.parametrize("damage", [b"", b"nonsense", b"a\x1cb\x1cc\x1cnot packed"])
def test_bytes_that_are_no_columns_are_refused(damage: bytes) -> None:
    with pytest.raises(FormatError, match="no kept columns"):
        loads(damage)


def test_no_cut_short_form_passes_for_whole(profile: Builder) -> None:
    kept = dumps(columns_of(profile(tools={"4": DISC})))

    for end in range(len(kept)):
        with pytest.raises(FormatError):
            loads(kept[:end])


def test_the_version_names_this_schema_and_stays_the_same_in_one_program() -> None:
    assert columns_version() == columns_version()
    assert columns_version().startswith("columns-")


@pytest.mark.parametrize(
    ("key", "pattern", "wanted"),
    [
        ("/axes/Y/backlash", "/axes/*/backlash", True),
        ("/axes/Y/backlash", "/axes", True),
        ("/axes/Y/backlash", "/axes/", True),
        ("/axes/Y/backlash", "/axes/X", False),
        ("/axes/Y/backlash", "/axes/Y/back", False),
        ("/axes/Y", "/axes/*/backlash", False),
    ],
)
def test_a_pattern_asks_for_what_stands_at_or_below_it(key: str, pattern: str, wanted: bool) -> None:
    assert is_wanted(key, (pattern,)) is wanted


def test_a_page_that_says_agrees_within_without_saying_how_closely_means_exactly(profile: Builder) -> None:
    gain = {"value": 5, "unit": "bar", "agreement": "agrees within"}

    found = of(profile(control_pages={"p": {"path": ["P"], "settings": {"gain": gain}}}), GAIN)[0]

    assert (found.agreement, found.within) == ("agrees within", 0)


def test_a_count_is_compared_as_a_plain_number(profile: Builder) -> None:
    found = of(profile(tools={"4": {**DISC, "pocket": 4}}), "/tools/disc 350/pocket")[1]

    assert (found.kind, found.base, found.shown) == ("a plain number", Decimal(4), "4")


def test_cells_beyond_the_named_columns_of_a_grid_keep_their_place(profile: Builder) -> None:
    grid = {"columns": {"L": {"unit": "mm"}}, "rows": {"1": [Decimal("120.0"), "spare"]}}

    found = values(columns_of(profile(control_pages={"tools": {"path": ["Tools"], "grids": {"table": grid}}})))

    assert found["/control_pages/tools/grids/table/rows/1/1"] == "spare"


def test_the_tool_in_a_pocket_goes_by_its_name(profile: Builder) -> None:
    pockets = {"4": {"tool": "21", "X": 1, **PLACED}}

    found = values(columns_of(profile(tools={"21": DISC}, changer={"pockets": pockets})))

    assert found["/changer/pockets/4/tool"] == "disc 350"
