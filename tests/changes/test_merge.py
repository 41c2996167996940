"""Two people change one machine's record without knowing of each other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal as D
from typing import Any

import pytest

from profilekeeper.changes import Choice, Merged, candidate_data, candidate_text, changes_between
from profilekeeper.changes.tree import Group, Leaf, tree_of
from profilekeeper.errors import InvalidProfile
from profilekeeper.model.disputes import Candidate
from profilekeeper.model.kinds import kind_of
from profilekeeper.model.pointer import parse, resolve

from .built import OURS, THEIRS, changed, drop, merged, put, read, record, renumber
from .generated import switched


def candidates(result: Merged, pointer: str) -> list[tuple[str | None, str]]:
    return sorted((c.value, c.by) for c in result.disputes.settings[pointer])  # type: ignore[type-var]


def at(result: Merged, pointer: str) -> Any:
    return resolve(dict(result.data), pointer)


def test_changes_of_different_settings_are_both_taken() -> None:
    ours = changed(record(), put("tools/4/length", D("118.0")))
    theirs = changed(record(), put("tables/main/surface", D("-331.5")))

    result = merged(record(), ours, theirs)

    assert (at(result, "/tools/4/length"), at(result, "/tables/main/surface")) == (D("118.0"), D("-331.5"))
    assert not result.disputes
    assert {(d.pointer, d.choice) for d in result.decisions} == {
        ("/tools/@k7mq2fzd/length", Choice.OURS),
        ("/tables/main/surface", Choice.THEIRS),
    }


def test_the_same_change_in_two_notations_is_one_change() -> None:
    ours = changed(record(), put("tools/4/length", D("25.4")))
    theirs = changed(record(), put("tools/4/length", "1 in"))

    result = merged(record(), ours, theirs)

    assert not result.disputes
    assert at(result, "/tools/4/length") in (D("25.4"), "1 in")
    assert [d.choice for d in result.decisions] == [Choice.BOTH]


def test_different_changes_of_one_setting_are_disputed_and_the_last_agreed_value_stands() -> None:
    ours = changed(record(), put("tools/4/length", D("118.000")))
    theirs = changed(record(), put("tools/4/length", D("117.5")))

    result = merged(record(), ours, theirs)

    assert at(result, "/tools/4/length") == D("119.800")
    assert candidates(result, "/tools/@k7mq2fzd/length") == [("117.5 mm", "M. Halvorsen"), ("118.000 mm", "R. Okonjo")]
    first = result.disputes.settings["/tools/@k7mq2fzd/length"][0]
    assert first.snapshot in (OURS.reading.snapshot, THEIRS.reading.snapshot)
    assert first.at


def test_with_no_value_once_agreed_the_key_is_left_out_and_only_named_among_the_disputes() -> None:
    ours = changed(record(), put("tools/4/length_limit", 100))
    theirs = changed(record(), put("tools/4/length_limit", 90))

    result = merged(record(), ours, theirs)

    assert "length_limit" not in result.data["tools"]["4"]
    assert candidates(result, "/tools/@k7mq2fzd/length_limit") == [("100 mm", "R. Okonjo"), ("90 mm", "M. Halvorsen")]


def test_a_switch_to_inches_and_a_length_added_meanwhile_merge_exactly() -> None:
    ours = changed(record(), switched)
    theirs = changed(record(), put("tools/21", {"id": "poli2222", "name": "polisher", "length": 100}))

    result = merged(record(), ours, theirs)

    assert (at(result, "/units/length"), at(result, "/tools/21/length")) == ("in", "100 mm")
    assert result.profile.value("/tools/4/length") == result.profile.value("/tools/4/length")
    assert str(result.profile.value("/tables/main/surface")) == "-330.0 mm"
    assert not result.disputes


def test_a_real_change_wins_over_a_change_of_unit_of_the_same_setting() -> None:
    theirs = changed(record(), put("tools/4/length", D("118.0")))

    result = merged(record(), changed(record(), switched), theirs)

    assert str(result.profile.value("/tools/4/length")) == "118.0 mm"
    assert not result.disputes


def test_a_tool_renumbered_by_one_and_edited_by_the_other_is_both() -> None:
    ours = changed(record(), renumber("4", "7"), put("tool_changes/default/tools", ["7"]))
    theirs = changed(record(), put("tools/4/length", D("118.0")))

    result = merged(record(), ours, theirs)

    assert at(result, "/tools/7/length") == D("118.0")
    assert "4" not in result.data["tools"]
    assert not result.disputes


def test_a_reference_made_meanwhile_follows_its_tool_to_the_new_number() -> None:
    ours = changed(record(), renumber("4", "7"), renumber("9", "4"), put("tool_changes/default/tools", ["7"]))
    theirs = changed(record(), put("spindles", {"main": {"mounted": "9"}}))

    result = merged(record(), ours, theirs)

    assert at(result, "/spindles/main/mounted") == "4"
    assert at(result, "/tools/4/name") == "calibrating disc 350"


def test_two_new_tools_under_one_number_are_disputed_and_neither_is_lost() -> None:
    ours = changed(record(), put("tools/21", {"id": "aaaa2222", "name": "polisher", "length": 100}))
    theirs = changed(record(), put("tools/21", {"id": "bbbb2222", "name": "drill", "length": 80}))

    result = merged(record(), ours, theirs)

    assert set(result.data["tools"]) == {"4", "9"}
    texts = [json.loads(c.value or "") for c in result.disputes.settings["/tools/21"]]
    assert sorted(text["name"] for text in texts) == ["drill", "polisher"]
    assert sorted(text["length"] for text in texts) == ["100 mm", "80 mm"]


def test_two_tools_renumbered_to_one_number_keep_their_own() -> None:
    result = merged(record(), changed(record(), renumber("4", "7")), changed(record(), renumber("9", "7")))

    assert set(result.data["tools"]) == {"4", "9"}
    assert len(result.disputes.settings["/tools/7"]) == 2


def test_one_new_tool_recorded_by_both_keeps_what_they_agree_on() -> None:
    ours = changed(record(), put("tools/21", {"id": "aaaa2222", "name": "polisher", "length": 100}))
    theirs = changed(record(), put("tools/21", {"id": "aaaa2222", "name": "polisher", "length": 101}))

    result = merged(record(), ours, theirs)

    assert at(result, "/tools/21") == {"id": "aaaa2222", "name": "polisher"}
    assert len(result.disputes.settings["/tools/@aaaa2222/length"]) == 2


def test_removed_here_and_edited_there_is_disputed() -> None:
    ours = changed(record(), drop("tools/4"), put("tool_changes/default/tools", []))
    theirs = changed(record(), put("tools/4/length", D("118.0")))

    result = merged(record(), ours, theirs)

    assert at(result, "/tools/4/length") == D("119.800")
    values = {c.value for c in result.disputes.settings["/tools/@k7mq2fzd"]}
    assert None in values
    assert any(value and json.loads(value)["length"] == "118.0 mm" for value in values)


def test_removed_here_and_only_rewritten_there_is_removed() -> None:
    ours = changed(record(), drop("tools/9"))

    result = merged(record(), ours, changed(record(), put("tools/9/length", "210.5 mm")))

    assert "9" not in result.data["tools"]


def test_a_height_is_never_put_into_a_frame_that_it_was_not_read_in() -> None:
    position = "tool_changes/default"
    ours = changed(record(), put(f"{position}/frame", "G54"), put(f"{position}/Z", 12))
    theirs = changed(record(), put(f"{position}/X", 900))

    result = merged(record(), ours, theirs)

    assert at(result, f"/{position}") == record()["tool_changes"]["default"]
    assert set(result.disputes.settings) == {f"/{position}"}


def test_a_page_number_is_never_put_beside_another_unit() -> None:
    page = "control_pages/axes X/settings/Soft limit +"
    ours = changed(record(), put(page, {"value": D("141.92913385826771653543307086"), "unit": "in"}))
    theirs = changed(record(), put(f"{page}/value", D("3610.0")))

    result = merged(record(), ours, theirs)

    value, unit = at(result, f"/{page}/value"), at(result, f"/{page}/unit")
    assert (value, unit) in ((D("3610.0"), "mm"), (D("3605.0"), "mm"))


def test_a_page_value_blank_for_one_and_changed_by_the_other_is_disputed_as_one() -> None:
    page = "control_pages/axes X/settings/Pressure"
    ours = changed(record(), put(page, {"state": "blank"}))

    result = merged(record(), ours, changed(record(), put(f"{page}/value", 7)))

    assert at(result, f"/{page}") == {"value": 6, "unit": "bar"}
    assert len(result.disputes.settings[f"/{page}"]) == 2


def test_a_touch_off_is_one_act_and_never_mixed_from_two() -> None:
    base = changed(record(), put("tools/4/touch_off", {"Z": D("-180.0"), "thickness": D("30.2"), "date": "2026-01-20"}))
    ours = changed(base, put("tools/4/touch_off", {"Z": D("-181.0"), "thickness": D("30.2"), "date": "2026-02-20"}))
    theirs = changed(base, put("tools/4/touch_off", {"Z": D("-180.0"), "thickness": D("29.9"), "date": "2026-02-21"}))

    result = merged(base, ours, theirs)

    assert at(result, "/tools/4/touch_off") == base["tools"]["4"]["touch_off"]
    assert len(result.disputes.settings["/tools/@k7mq2fzd/touch_off"]) == 2


def test_a_length_read_under_another_convention_is_disputed() -> None:
    base = record(conventions={"length_sign": "positive"})
    ours = changed(base, put("conventions/length_sign", "negative"), put("tools/4/length", D("-119.8")))
    theirs = changed(base, put("tools/21", {"id": "poli2222", "name": "polisher", "length": 100}))

    result = merged(base, ours, theirs)

    assert at(result, "/conventions/length_sign") == "negative"
    assert "length" not in result.data["tools"]["21"]
    assert [c.value for c in result.disputes.settings["/tools/@poli2222/length"]] == ["100 mm"]


def test_the_two_ends_of_a_travel_are_settings_of_their_own() -> None:
    ours = changed(record(), put("axes/X/soft_limits/0", D("-4.0")))
    theirs = changed(record(), put("axes/X/soft_limits/1", D("3600.0")))

    result = merged(record(), ours, theirs)

    assert at(result, "/axes/X/soft_limits") == [D("-4.0"), D("3600.0")]


def test_an_outline_changed_by_both_is_disputed_as_a_whole() -> None:
    ours = changed(record(), put("tables/main/outline/0", [5, 0]))
    theirs = changed(record(), put("tables/main/outline/1", [905, 0]))

    result = merged(record(), ours, theirs)

    assert at(result, "/tables/main/outline") == record()["tables"]["main"]["outline"]
    assert len(result.disputes.settings["/tables/main/outline"]) == 2


def test_events_and_pictures_of_both_unite() -> None:
    pictures = "control_pages/axes X/pictured"
    ours = changed(
        record(), lambda d: d["events"].append({"kind": "crash", "date": "2026-02-02"}), put(pictures, ["a" * 64])
    )
    theirs = changed(
        record(), lambda d: d["events"].append({"kind": "crash", "date": "2026-02-01"}), put(pictures, ["b" * 64])
    )

    result = merged(record(), ours, theirs)

    assert [e["date"] for e in result.data["events"]] == ["2026-01-12", "2026-02-01", "2026-02-02"]
    assert at(result, f"/{pictures}") != []


def test_pictures_added_to_some_unite_as_a_set() -> None:
    pictures = "control_pages/axes X/pictured"
    base = changed(record(), put(pictures, ["0" * 64]))

    result = merged(base, changed(base, put(pictures, ["0" * 64, "b" * 64])), changed(base, put(pictures, ["a" * 64])))

    assert at(result, f"/{pictures}") == ["a" * 64, "b" * 64]


def test_without_a_common_version_what_is_alike_stands_and_the_rest_is_disputed() -> None:
    theirs = changed(record(), put("tools/4/length", D("118.0")))

    result = merged(None, record(), theirs)

    assert "length" not in result.data["tools"]["4"]
    assert at(result, "/tools/9") == record()["tools"]["9"]
    assert set(result.disputes.settings) == {"/tools/@k7mq2fzd/length"}


def test_a_required_key_that_is_disputed_takes_its_branch_with_it() -> None:
    ours = changed(record(), put("work_offsets/G55", {"frame": "machine", "tool_length_active": False, "X": 5}))
    theirs = changed(record(), put("work_offsets/G55", {"frame": "machine", "tool_length_active": True, "X": 5}))

    result = merged(record(), ours, theirs)

    assert set(result.data["work_offsets"]) == {"G54"}
    assert set(result.disputes.settings) == {"/work_offsets/G55"}


def test_records_of_two_machines_are_refused() -> None:
    with pytest.raises(InvalidProfile, match="two machines"):
        merged(None, record(), changed(record(), put("machine/id", "othr2222")))


@pytest.mark.parametrize(
    "pointer",
    [
        "/tools/4/length",
        "/tools/4/speed",
        "/tools/9/name",
        "/axes/A/kind",
        "/tool_changes/default/tool_length_active",
        "/tool_changes/default/A",
        "/events/0/date",
        "/control_pages/axes X/settings/Pressure/value",
        "/tables/main/outline",
        "/tools/9",
    ],
)
def test_a_candidate_read_back_into_the_record_is_the_value_that_was_recorded(pointer: str) -> None:
    data = changed(record(), put("tool_changes/default/A", D("45.50")), put("tools/9/name", "350"))
    node = next(n for n in _nodes(tree_of(read(data), {})) if n.at == pointer)
    candidate = Candidate(value=candidate_text(node), snapshot="a" * 40)

    back = changed(data, put(pointer[1:], candidate_data(candidate, kind_of(parse(pointer)))))

    assert changes_between(read(data), read(back)).of_value == ()


def _nodes(node: Any) -> Iterator[Any]:
    yield node
    if not isinstance(node, Leaf):
        for inner in node.items.values() if isinstance(node, Group) else node.items:
            yield from _nodes(inner)
