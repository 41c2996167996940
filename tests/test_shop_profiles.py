"""The demo fleet as shipped: files that an editor and the tool understand, numbers that fit, six defects and no more.

The arithmetic here is done anew on the plain numbers of the files, apart from the rooms that judge them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from math import cos, hypot, pi, radians
from pathlib import PurePosixPath
from typing import Any

import pytest

from profilekeeper.actions.demo_history import shipped_files
from profilekeeper.fleet import MachineColumns, columns_of, compare_columns
from profilekeeper.formats.edit_yaml import dumps, splice
from profilekeeper.formats.strict_yaml import loads
from profilekeeper.model.profile import profile_problems, read_profile
from profilekeeper.model.reading_order import fields_of, read_reading_order
from profilekeeper.model.schema import problems
from profilekeeper.model.secrets import find_secrets
from profilekeeper.quantities import parse_length
from profilekeeper.resources import shipped

FILES = shipped_files()
MACHINES = sorted(str(PurePosixPath(p).parent) for p in FILES if p.endswith("/profile.yaml"))
RECORDED = [name for name in MACHINES if name != "hilltop/centre-3"]
SAWS = [name for name in MACHINES if "/saw-" in name]
TILTING = [*SAWS, "millrace/combi-1"]
WITHOUT_SCHEMA = {"history.yaml", "storm/storm.yaml"}
PEOPLE = {"R. Okonjo", "M. Teal", "J. Lindqvist", "P. Abara", "S. Veitch"}
MODELINE = re.compile(r"# yaml-language-server: \$schema=(\S+)\n")


@cache
def plain(name: str) -> Any:
    """The plain data of a machine."""
    return loads(FILES[f"{name}/profile.yaml"], source=name)


def mm(machine: Mapping[str, Any], value: Any) -> Decimal:
    """A length of a machine's file in millimetres."""
    if isinstance(value, str):
        return parse_length(value).base
    return Decimal(value) * (Decimal("25.4") if machine["units"]["length"] == "in" else 1)


def test_the_fleet_is_thirteen_machines_of_four_classes_in_four_shops() -> None:
    machines = [plain(name)["machine"] for name in MACHINES]

    assert len(machines) == 13
    assert len({m["class"] for m in machines}) == 4
    assert {m["shop"] for m in machines} == {"quayside", "millrace", "hilltop", "station"}
    assert {m["maker"] for m in machines} == {"Oddleby", "Tarnwick", "Quillbank"}
    assert [f"{m['shop']}/{m['name']}" for m in machines] == MACHINES


@pytest.mark.parametrize("path", sorted(set(FILES) - WITHOUT_SCHEMA))
def test_a_modeline_leads_an_editor_to_the_shipped_schema_that_the_file_satisfies(path: str) -> None:
    found = MODELINE.match(FILES[path])

    assert found, path
    schema_file = (shipped("shop_profiles") / path).parent.joinpath(found[1]).resolve()
    assert schema_file.parent == shipped("schemas").resolve()
    assert schema_file.is_file()
    assert problems(schema_file.name.removesuffix(".schema.json"), loads(FILES[path], source=path)) == ()


@pytest.mark.parametrize("name", MACHINES)
def test_a_profile_is_read_without_a_problem_or_a_notice(name: str) -> None:
    assert profile_problems(plain(name)) == ()
    assert read_profile(plain(name)).notices == ()


@pytest.mark.parametrize("path", sorted(FILES))
def test_a_file_keeps_every_digit_through_a_round_trip_and_holds_no_secret(path: str) -> None:
    data = loads(FILES[path], source=path)

    assert repr(loads(dumps(data))) == repr(data)
    assert find_secrets(data) == ()


@pytest.mark.parametrize("name", RECORDED)
def test_an_edit_leaves_every_other_character_alone(name: str) -> None:
    before = FILES[f"{name}/profile.yaml"]

    after = splice(before, "/machine/hours", 1)

    changed = [(a, b) for a, b in zip(before.split("\n"), after.split("\n"), strict=True) if a != b]
    assert [b for _, b in changed] == ["  hours: 1"]


def test_no_id_stands_twice_in_the_fleet() -> None:
    ids = [i for name in MACHINES for i in _ids(plain(name))]

    assert len(ids) > 200
    assert len(set(ids)) == len(ids)


def test_five_invented_people_did_everything() -> None:
    named = {match[1].strip() for text in FILES.values() for match in re.finditer(r"\bby: ([A-Z][^,}\n]*)", text)}

    assert named == PEOPLE


def test_every_field_of_a_reading_order_is_filled_by_each_of_its_machines_or_lacking_for_a_reason() -> None:
    profiles = {name: read_profile(plain(name)) for name in RECORDED}
    lacking = {
        (name, field.pointer)
        for name, profile in profiles.items()
        for field in fields_of(_order(name), profile)
        if profile.value(field.pointer) is None
    }

    assert {pointer for name, pointer in lacking if name == "hilltop/centre-2"} == {
        "/supports/pods/height",
        "/safe_z/general",
    }
    assert all(re.fullmatch(r"/tools/\d+/(length|diameter_in_control|safe_z)", p) for n, p in lacking if n in TILTING)
    assert {name for name, _ in lacking} <= {"hilltop/centre-2", *TILTING}


def test_one_centre_was_never_read_and_one_has_no_pod_height() -> None:
    assert set(plain("hilltop/centre-3")) == {"profile", "machine", "units"}
    assert "height" not in plain("hilltop/centre-2")["supports"]["pods"]
    assert plain("hilltop/centre-1")["supports"]["pods"]["height"] == 75


@pytest.mark.parametrize("name", RECORDED)
def test_every_touch_off_closes_exactly_against_its_own_day(name: str) -> None:
    rest = dict(open_touch_offs(plain(name)))

    assert len(rest) == len(plain(name)["tools"])
    assert set(rest.values()) == {0}


def test_bit_rows_hex_grids_and_states_stand_on_at_least_three_machines() -> None:
    for wanted in ("type: bits", "type: hex", "grids:", "state: "):
        assert sum(wanted in FILES[f"{name}/profile.yaml"] for name in MACHINES) >= 3, wanted


# The story: a blade of 500 beside the bin.


@pytest.mark.parametrize(
    ("name", "number", "z", "low", "room"),
    [
        ("quayside/saw-1", "1", -60, "296.6", "18.4"),
        ("quayside/saw-2", "1", -60, "296.6", "18.4"),
        ("quayside/saw-1", "2", -60, "332.4", "-17.4"),
        ("quayside/saw-1", "2", 0, "332.4", "42.6"),
    ],
)
def test_the_swing_beside_the_bin_leaves_what_the_story_tells(
    name: str, number: str, z: int, low: str, room: str
) -> None:
    saw = plain(name)
    lowest = lowest_of(saw, saw["tools"][number])

    assert f"{lowest:.1f}" == low
    assert f"{float(pivot(saw, z) - saw['no_go_zones']['waste bin']['to']) - lowest:.1f}" == room


@pytest.mark.parametrize("name", ["quayside/saw-1", "quayside/saw-2", "hilltop/saw-1"])
def test_the_pivot_stands_over_the_lip_of_the_bin_while_tools_are_changed(name: str) -> None:
    saw = plain(name)
    spot, corners = saw["tool_changes"]["default"], saw["no_go_zones"]["waste bin"]["outline"]

    assert min(c[0] for c in corners) < spot["X"] < max(c[0] for c in corners)
    assert min(c[1] for c in corners) < spot["Y"] < max(c[1] for c in corners)


@pytest.mark.parametrize("name", TILTING)
def test_every_tool_swings_clear_of_the_thickest_stone_where_it_is_changed(name: str) -> None:
    saw = plain(name)
    stone = mm(saw, saw["tables"]["main"]["surface"]) + mm(saw, saw["tables"]["main"]["highest"])
    top = float(stone + mm(saw, saw["slab"]["laminated"]))

    for spot, tool in changed_where(saw):
        assert float(pivot(saw, spot["Z"])) - lowest_of(saw, tool) - top > 50, tool["name"]


@pytest.mark.parametrize("name", [n for n in RECORDED if n != "hilltop/centre-2"])
def test_every_safe_height_clears_the_highest_stone_with_the_tool_new_and_at_any_tilt(name: str) -> None:
    machine = plain(name)
    table, safe = machine["tables"]["main"], machine["safe_z"]
    support = mm(machine, machine["supports"].get("pods", {"height": 0})["height"])
    stone = max(mm(machine, machine["slab"]["laminated"]), mm(machine, safe["highest_clamp"]))
    top = mm(machine, table["surface"]) + mm(machine, table["highest"]) + support + stone
    need = float(top + mm(machine, safe["bow"]) + mm(machine, safe["margin"]))

    for tool in machine["tools"].values():
        below = lowest_of(machine, tool) - float(reach_to_nose(machine))
        assert float(mm(machine, tool["safe_z"])) >= need + below, tool["name"]
        assert mm(machine, tool["safe_z"]) <= mm(machine, machine["axes"]["Z"]["travel"][1])


# The six defects: each where it was planted, and nowhere else.


def test_three_tools_of_quayside_saw_2_carry_the_milling_of_january() -> None:
    saw = plain("quayside/saw-2")
    events = [(e["kind"], e["date"]) for e in saw["events"]][-2:]
    expected = {"4": ("-180.0", "119.8", "121.3"), "7": ("-152.8", "147.0", "148.5"), "9": ("-89.3", "210.5", "212.0")}

    assert events == [("table milled", "2026-01-12"), ("table re-measured", "2026-02-03")]
    assert str(saw["tables"]["main"]["surface"]) == "-331.5"
    between = {n for n, t in saw["tools"].items() if "2026-01-12" <= t["touch_off"]["date"] <= "2026-02-03"}
    assert between == set(expected)
    for number, (z, stored, true) in expected.items():
        touch = saw["tools"][number]["touch_off"]
        assert (str(touch["Z"]), str(touch["thickness"])) == (z, "30.2")
        assert str(saw["tools"][number]["length"]) == stored
        assert str(touch["Z"] - saw["tables"]["main"]["surface"] - touch["thickness"]) == true


def test_the_spare_adapter_of_station_finish_1_alone_unscrews_under_load() -> None:
    loose = {
        (name, number, index) for name in RECORDED for number, index, joint in loosened(plain(name), braking=False)
    }

    assert loose == {("station/finish-1", "31", 1)}


def test_braking_loosens_no_joint_that_is_not_locked() -> None:
    loose = [j for name in RECORDED for _, _, j in loosened(plain(name), braking=True) if j["lock"] == "none"]

    assert loose == []


def test_one_blade_alone_turns_faster_than_the_speed_marked_on_it() -> None:
    fast = [
        (name, number, tool)
        for name in RECORDED
        for number, tool in plain(name)["tools"].items()
        if tool["speed"] > tool.get("marked_speed", 10**6)
    ]

    assert [(name, number) for name, number, _ in fast] == [("quayside/saw-1", "2")]
    blade = fast[0][2]
    assert (blade["marked_speed"], blade["speed"]) == (2400, 2900)
    assert f"{pi * float(blade['diameter']['new']) / 1000 * blade['speed'] / 60:.1f}" == "75.9"


def test_beside_their_sisters_only_the_inch_slip_and_the_speed_stand_out() -> None:
    profiles = [read_profile(plain(name), source=name) for name in MACHINES]

    compared = compare_columns([MachineColumns(machine=p.name, columns=columns_of(p)) for p in profiles])

    rows = [row for each in compared.classes for row in each.rows if str(row.verdict) in ("some deviate", "differ")]
    assert {row.setting for row in rows} == {"/axes/Y/backlash", "/tools/blade 500/speed"}
    slip = next(held for row in rows for held in row.held if held.machines == ("millrace/saw-1",))
    assert slip.shown == "0.0300 in"


def test_sixteen_millings_take_the_reach_of_station_saw_1_though_its_stored_limit_passes() -> None:
    saw = plain("station/saw-1")
    table = saw["tables"]["main"]
    milled = [e["by_how_much"] for e in saw["events"] if e["kind"] == "table milled"]

    assert (len(milled), set(map(str, milled))) == (16, {"1.5"})
    assert (str(table["surface_new"]), str(table["surface"])) == ("-325.2", "-349.2")
    assert table["surface"] > table["surface_limit"] == Decimal("-352.0")
    assert needed_z(saw, saw["tools"]["1"]) == Decimal("-350.2")
    assert saw["axes"]["Z"]["soft_limits"][0] == -350
    assert saw["axes"]["Z"]["soft_limits"][0] - needed_z(saw, saw["tools"]["1"]) + table["surface"] == Decimal("-349.0")


@pytest.mark.parametrize("name", [n for n in TILTING if n != "station/saw-1"])
def test_every_other_worn_blade_still_cuts_through_with_the_table_at_its_lowest(name: str) -> None:
    saw = plain(name)
    lowest = mm(saw, saw["tables"]["main"]["lowest"])

    for tool in saw["tools"].values():
        if tool["kind"] == "blade":
            assert needed_z(saw, tool) - lowest > mm(saw, saw["axes"]["Z"]["soft_limits"][0])
            edge = mm(saw, tool["diameter"]["worn_out"] - tool["flange_diameter"]) / 2
            assert float(edge) * cos(radians(45)) > float(mm(saw, saw["slab"]["laminated"]))


@pytest.mark.parametrize("name", [n for n in SAWS if n != "millrace/saw-1"])
def test_the_topping_is_what_the_millings_left_of_it(name: str) -> None:
    table = plain(name)["tables"]["main"]

    assert table["topping"]["now"] == table["topping"]["new"] - (table["surface_new"] - table["surface"])
    assert table["topping"]["bed"] == table["surface"] - table["topping"]["now"]


def open_touch_offs(machine: Mapping[str, Any]) -> Iterator[tuple[str, Decimal]]:
    """By how much each touch-off fails to close, in the unit of the file, all as on its own day."""
    said, master = machine["conventions"], machine["conventions"].get("master_length", 0)
    for number, tool in machine["tools"].items():
        touch = tool["touch_off"]
        under = touch["surface"] + touch["support"] + touch["thickness"] + touch["shim"]
        if touch["attitude"] == "blade upright":
            radius = tool["diameter"]["now"] / 2
            yield number, touch["Z"] + machine["head"]["pivot_to_gauge_line"] - under - radius
        else:
            noted = tool["length"] * (-1 if said["length_sign"] == "negative" else 1)
            yield number, touch["Z"] - under - (noted + master)


def pivot(saw: Mapping[str, Any], z: Any) -> Decimal:
    """The height of the pivot, mm."""
    return mm(saw, z) + reach_to_nose(saw)


def reach_to_nose(machine: Mapping[str, Any]) -> Decimal:
    """From the pivot to the nose, mm; nothing on a spindle that never tilts."""
    return mm(machine, machine["head"].get("pivot_to_gauge_line", 0))


def lowest_of(machine: Mapping[str, Any], tool: Mapping[str, Any]) -> float:
    """How far below the pivot (below the nose, where nothing tilts) a new tool gets at any tilt, mm."""
    ends = [(float(mm(machine, s["to"])), float(mm(machine, s["radius"]))) for s in tool["sections"]]
    if "A" not in machine["axes"]:
        return max(to for to, _ in ends)
    nose = float(reach_to_nose(machine))
    return max(hypot(nose + to, radius) for to, radius in ends)


def changed_where(saw: Mapping[str, Any]) -> Iterator[tuple[Any, Any]]:
    """Every tool with the position it is changed at."""
    named = {number: spot for spot in saw["tool_changes"].values() for number in spot.get("tools", ())}
    for number, tool in saw["tools"].items():
        yield named.get(number, saw["tool_changes"]["default"]), tool


def needed_z(saw: Mapping[str, Any], blade: Mapping[str, Any]) -> Decimal:
    """The Z at which a worn blade, upright, cuts through, mm."""
    worn, overcut = mm(saw, blade["diameter"]["worn_out"]) / 2, mm(saw, saw["slab"]["overcut"])
    return mm(saw, saw["tables"]["main"]["surface"]) + worn - overcut - reach_to_nose(saw)


def loosened(machine: Mapping[str, Any], *, braking: bool) -> Iterator[tuple[str, int, Any]]:
    """The threads that turn loose. Clockwise from the motor tightens right-hand under load, braking the reverse.

    Common practice, no source.
    """
    for number, tool in machine["tools"].items():
        tightens = "right" if (tool.get("runs", "clockwise") == "clockwise") != braking else "left"
        for index, joint in enumerate(tool["joints"]):
            if joint.get("hand", tightens) != tightens:
                yield number, index, joint


def _ids(data: Any) -> Iterator[str]:
    if isinstance(data, Mapping):
        if isinstance(data.get("id"), str):
            yield data["id"]
        for value in data.values():
            yield from _ids(value)
    elif isinstance(data, list):
        for value in data:
            yield from _ids(value)


def _order(name: str) -> Any:
    path = f"reading_orders/{plain(name)['machine']['reading_order']}.yaml"
    return read_reading_order(loads(FILES[path], source=path), source=path)
