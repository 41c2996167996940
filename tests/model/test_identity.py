"""Which tool, zone, event or page value of one profile is which of another."""

from __future__ import annotations

from typing import Any

import pytest

from profilekeeper.model.identity import Matching, from_identity, match_over_time, match_sisters, to_identity
from profilekeeper.model.profile import Profile, read_profile

BRUSH = {"id": "k7mq2fzd", "name": "brush", "length": 119}
SECTIONS = [{"from": 0, "to": "2 in", "radius": 40}]


def machine(*, unit: str = "mm", **parts: Any) -> Profile:
    return read_profile(
        {"profile": 2, "machine": {"name": "saw-2", "shop": "quayside"}, "units": {"length": unit}, **parts}
    )


def pairs(matching: Matching) -> set[tuple[str, str, str]]:
    return {(match.before, match.after, match.by) for match in matching.matches}


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ({"4": BRUSH}, {"7": {**BRUSH, "name": "other"}}, {("/tools/4", "/tools/7", "id")}),
        ({"4": {"name": "brush"}}, {"7": {"name": "brush"}}, {("/tools/4", "/tools/7", "name and sections")}),
        ({"4": {"length": 1}}, {"4": {"length": 2}}, {("/tools/4", "/tools/4", "number")}),
        ({"4": {"length": 1}}, {"4": BRUSH}, {("/tools/4", "/tools/4", "number")}),
        ({"4": BRUSH}, {"4": {**BRUSH, "id": "neww2222"}}, set()),
        ({"4": {"name": "a"}, "5": {"name": "a"}}, {"7": {"name": "a"}}, set()),
        ({"4": {"length": 1}}, {"7": {"length": 1}}, set()),
    ],
    ids=["id", "name", "number", "id given later", "ids differ", "a name that two have", "nothing in common"],
)
def test_tools_of_one_machine_over_time(before: Any, after: Any, expected: set[tuple[str, str, str]]) -> None:
    assert pairs(match_over_time(machine(tools=before), machine(tools=after))) == expected


def test_two_tools_that_change_places_are_recognised_without_ids() -> None:
    before = machine(tools={"4": {"name": "brush"}, "7": {"name": "disc"}})
    after = machine(tools={"4": {"name": "disc"}, "7": {"name": "brush"}})

    assert {(b, a) for b, a, _ in pairs(match_over_time(before, after))} == {
        ("/tools/4", "/tools/7"),
        ("/tools/7", "/tools/4"),
    }


def test_sections_are_compared_by_exact_value_whatever_the_unit() -> None:
    before = machine(tools={"4": {"name": "brush", "sections": SECTIONS}})
    after = machine(unit="in", tools={"7": {"name": "brush", "sections": [{"from": 0, "to": 2, "radius": "40 mm"}]}})

    assert pairs(match_over_time(before, after)) == {("/tools/4", "/tools/7", "name and sections")}


def test_zones_go_by_id_then_name_then_shape() -> None:
    here = {"frame": "floor", "to": -190}
    before = machine(no_go_zones={"bin": {"id": "zzzz2222", **here}, "post": {"frame": "ram"}, "fence": here})
    after = machine(no_go_zones={"box": {"id": "zzzz2222", **here}, "post": {"frame": "floor"}, "wall": here})

    assert pairs(match_over_time(before, after)) == {
        ("/no_go_zones/bin", "/no_go_zones/box", "id"),
        ("/no_go_zones/post", "/no_go_zones/post", "name"),
        ("/no_go_zones/fence", "/no_go_zones/wall", "shape"),
    }


def test_events_go_by_id_then_by_what_happened_when_never_by_place() -> None:
    crash, milled = {"kind": "crash", "date": "2026-01-01"}, {"kind": "table milled", "date": "2026-01-12"}
    before = machine(events=[milled, {"id": "evnt2222", **crash}])
    after = machine(events=[{"id": "evnt2222", **crash, "date": "2026-01-02"}, crash, milled])

    assert pairs(match_over_time(before, after)) == {
        ("/events/0", "/events/2", "occasion"),
        ("/events/1", "/events/0", "id"),
    }


def test_sisters_go_by_what_a_tool_is_not_by_number_or_id() -> None:
    one = machine(tools={"4": BRUSH, "5": {"name": "disc"}}, no_go_zones={"bin": {"id": "zzzz2222", "frame": "floor"}})
    other = machine(
        tools={"4": {"name": "disc"}, "9": {**BRUSH, "id": "othr2222"}},
        no_go_zones={"bin": {"id": "yyyy2222", "frame": "floor"}},
    )

    assert pairs(match_sisters(one, other)) == {
        ("/tools/4", "/tools/9", "name and sections"),
        ("/tools/5", "/tools/4", "name and sections"),
        ("/no_go_zones/bin", "/no_go_zones/bin", "name"),
    }


def test_a_move_speaks_only_between_the_versions_in_which_it_happened() -> None:
    page = {"axes X": {"settings": {"Backlash": {"value": 1, "unit": "mm"}}}}
    moved = {"/axes/X/backlash": "/control_pages/axes X/settings/Backlash/value"}
    old, new = machine(control_pages=page), machine(axes={"X": {"backlash": 1}}, moved=moved)

    assert [match.by for match in match_over_time(old, new).matches] == ["moved"]
    assert match_over_time(new, new).matches == ()


def test_a_label_changed_by_an_update_is_an_alias() -> None:
    old = machine(control_pages={"X": {"settings": {"Softlim": {"value": 1}}}})
    new = machine(control_pages={"X": {"settings": {"Soft limit": {"value": 1, "aliases": ["Softlim"]}}}})

    assert pairs(match_over_time(old, new)) == {
        ("/control_pages/X/settings/Softlim", "/control_pages/X/settings/Soft limit", "alias")
    }
    assert match_over_time(new, new).matches == ()


def test_a_pointer_is_led_back_to_where_its_thing_stood() -> None:
    matching = match_over_time(machine(tools={"4": BRUSH}), machine(tools={"7": BRUSH, "8": {"name": "new"}}))

    assert matching.pointer_before("/tools/7/length") == "/tools/4/length"
    assert matching.pointer_before("/tools/8/length") is None
    assert matching.pointer_before("/tables/main/surface") == "/tables/main/surface"


def test_names_by_identity_lead_there_and_back() -> None:
    profile = machine(
        tools={"4": BRUSH, "5": {"name": "disc"}}, events=[{"id": "evnt2222", "kind": "crash", "date": "2026-01-01"}]
    )

    for pointer in ("/tools/4/length", "/tools/5/length", "/events/0/kind", "/tables/main/surface", ""):
        assert from_identity(profile, to_identity(profile, pointer)) == pointer
    assert to_identity(profile, "/tools/4/length") == "/tools/@k7mq2fzd/length"
    assert from_identity(profile, "/tools/@gone2222/length") is None
