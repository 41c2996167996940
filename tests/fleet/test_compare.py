"""Sister machines beside each other: verdicts, who deviates, by how much, and what is not judged."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.fleet.compare import MachineColumns, compare_columns
from profilekeeper.fleet.rows import Comparison, Row, State, Verdict
from profilekeeper.quantities import LengthUnit

Builder = Callable[..., MachineColumns]
BACKLASH = "/axes/Y/backlash"


def backlash(text: str) -> dict[str, Any]:
    return {"Y": {"backlash": Decimal(text)}}


def spindle(speed: int) -> dict[str, Any]:
    return {"main": {"max_speed": speed}}


def row(comparison: Comparison, setting: str) -> Row:
    return next(r for c in comparison.classes for r in c.rows if r.setting == setting)


@pytest.fixture(scope="module")
def saws(machine: Builder) -> list[MachineColumns]:
    """Five saws; one displays inches, and its Y backlash was keyed as if it displayed millimetres."""
    return [
        machine("quayside/saw-1", axes=backlash("0.03")),
        machine("quayside/saw-2", axes=backlash("0.030")),
        machine("hilltop/saw-1", axes=backlash("0.03")),
        machine("station/saw-1", axes=backlash("0.03")),
        machine("millrace/saw-1", unit="in", axes=backlash("0.030")),
    ]


def test_an_inch_machine_with_a_number_meant_as_millimetres_is_found_and_named(saws: list[MachineColumns]) -> None:
    found = row(compare_columns(saws), BACKLASH)

    assert (found.verdict, found.shared, found.at_odds) == (Verdict.SOME_DEVIATE, "0.03 mm", ("millrace/saw-1",))
    held = found.of("millrace/saw-1")
    assert held is not None
    assert (held.state, held.delta_shown) == (State.DEVIATES, "+0.7320 mm")
    assert held.hint == "looks like 0.030 in keyed for 0.03 mm"


@pytest.mark.parametrize(("unit", "shown"), [(LengthUnit.MM, "+0.7320 mm"), (LengthUnit.IN, "≈ +0.02882 in")])
def test_the_difference_is_told_in_the_unit_asked_for(saws: list[MachineColumns], unit: LengthUnit, shown: str) -> None:
    held = row(compare_columns(saws, unit=unit), BACKLASH).of("millrace/saw-1")

    assert held is not None
    assert held.delta_shown == shown


def test_what_the_control_rounds_to_the_same_agrees_and_is_said(machine: Builder) -> None:
    sisters = [
        machine("quayside/saw-1", slab={"overcut": 2}),
        machine("quayside/saw-2", slab={"overcut": 2}),
        machine("millrace/saw-1", unit="in", slab={"overcut": Decimal("0.0787")}),
    ]

    found = row(compare_columns(sisters), "/slab/overcut")

    assert found.verdict is Verdict.ALL_AGREE
    assert found.sentence == "all agree: 3 hold 2 mm, 1 of them as the control rounds it"
    held = found.of("millrace/saw-1")
    assert held is not None
    assert (held.state, held.shown) == (State.ROUNDED, "0.0787 in")


def test_a_step_of_the_control_more_is_a_deviation(machine: Builder) -> None:
    sisters = [machine(n, slab={"overcut": Decimal(v)}) for n, v in zip("abc", ("2", "2", "2.001"), strict=True)]

    assert row(compare_columns(sisters), "/slab/overcut").at_odds == ("c",)


def test_where_no_step_is_known_only_equal_values_are_the_same(machine: Builder) -> None:
    sisters = [
        machine(n, step=Decimal(0), slab={"overcut": Decimal(v)})
        for n, v in zip("abc", ("2", "2", "2.0004"), strict=True)
    ]

    assert row(compare_columns(sisters), "/slab/overcut").at_odds == ("c",)


@pytest.mark.parametrize(("pivot", "verdict"), [("186.0", Verdict.ALL_AGREE), ("186.1", Verdict.SOME_DEVIATE)])
def test_what_agrees_within_a_millimetre_may_differ_by_that(machine: Builder, pivot: str, verdict: Verdict) -> None:
    pivots = ("185", "185", pivot)
    sisters = [machine(n, head={"pivot_to_gauge_line": Decimal(v)}) for n, v in zip("abc", pivots, strict=True)]

    found = row(compare_columns(sisters), "/head/pivot_to_gauge_line")

    assert (found.verdict, found.within) == (verdict, "± 1 mm")


def test_of_two_machines_neither_is_the_deviant(machine: Builder) -> None:
    sisters = [machine("a", spindles=spindle(6000)), machine("b", spindles=spindle(5000))]

    found = row(compare_columns(sisters), "/spindles/main/max_speed")

    assert (found.verdict, found.shared, found.at_odds) == (Verdict.DIFFER, "", ("a", "b"))
    assert [h.delta_shown for h in found.held] == ["+1000 1/min", "-1000 1/min"]


def test_a_tie_is_said_and_no_value_is_called_shared(machine: Builder) -> None:
    sisters = [machine(n, spindles=spindle(v)) for n, v in zip("abcd", (5000, 5000, 6000, 6000), strict=True)]

    found = row(compare_columns(sisters), "/spindles/main/max_speed")

    assert (found.verdict, found.shared, set(found.tied)) == (Verdict.DIFFER, "", {"5000 1/min", "6000 1/min"})


def test_the_value_most_share_wins_over_one_written_more_often_elsewhere(machine: Builder) -> None:
    speeds = (5000, 5000, 6000, 6000, 6000, 7000)
    sisters = [machine(n, spindles=spindle(v)) for n, v in zip("abcdef", speeds, strict=True)]

    found = row(compare_columns(sisters), "/spindles/main/max_speed")

    assert (found.shared, found.at_odds) == ("6000 1/min", ("a", "b", "f"))


def test_a_setting_that_some_lack_does_not_agree_everywhere(machine: Builder) -> None:
    sisters = [machine("a", spindles=spindle(6000)), machine("b", spindles=spindle(6000)),
               machine("c", spindles={"main": {"min_speed": 300}}), machine("d", slab={"overcut": 2})]  # fmt: skip

    found = row(compare_columns(sisters), "/spindles/main/max_speed")

    assert (found.verdict, found.missing, found.without) == (Verdict.AGREE_WHERE_KNOWN, ("c",), ("d",))


def test_one_machine_alone_is_too_few_and_it_is_said(machine: Builder) -> None:
    alone = compare_columns([machine("quayside/saw-1", spindles=spindle(6000))]).classes[0]

    assert alone.sentence == "too few to compare: only quayside/saw-1 is recorded in the class tilting-head bridge saw"
    assert {r.verdict for r in alone.rows} == {Verdict.TOO_FEW}


def test_a_machine_with_its_identity_only_is_listed_and_not_compared(machine: Builder) -> None:
    result = compare_columns([machine("a", spindles=spindle(6000)), machine("b", spindles=spindle(6000)), machine("c")])

    assert (result.classes[0].machines, result.classes[0].never_recorded) == (("a", "b"), ("c",))
    assert all("c" not in r.missing + r.without for r in result.classes[0].rows)


def test_classes_are_compared_within_themselves_however_capitals_are_set(machine: Builder) -> None:
    result = compare_columns([
        machine("a", machine_class="work centre", spindles=spindle(9000)),
        machine("b", spindles=spindle(6000)),
        machine("c", machine_class="Tilting-Head Bridge Saw", spindles=spindle(6000)),
        machine("d", machine_class="", spindles=spindle(1)),
    ])  # fmt: skip

    assert [c.machines for c in result.classes] == [("b", "c"), ("a",)]
    assert result.unclassed == ("d",)


def test_one_class_can_be_asked_for(machine: Builder) -> None:
    both = [machine("a", machine_class="work centre"), machine("b")]

    assert [c.machine_class for c in compare_columns(both, machine_class="Work Centre").classes] == ["work centre"]


def test_own_worn_and_daily_values_are_counted_but_shown_only_on_request(machine: Builder) -> None:
    sisters = [
        machine(n, tables={"main": {"surface": -330 - k, "surface_limit": -340}}, spindles=spindle(6000))
        for k, n in enumerate("ab")
    ]

    plain = compare_columns(sisters).classes[0]
    full = compare_columns(sisters, include=("own", "wears"))

    # name, shop, both units, both steps of the display, the limit of the table
    assert plain.hidden == {"own": 7, "wears": 1}
    assert not plain.at_odds
    worn = row(full, "/tables/main/surface")
    assert (worn.agreement, worn.verdict, worn.at_odds) == ("wears", Verdict.NOT_JUDGED, ())
    assert not full.deviations


def test_a_machine_that_calls_a_setting_its_own_is_not_judged_by_it(machine: Builder) -> None:
    sisters = [machine(n, spindles=spindle(6000)) for n in "ab"]
    apart = machine("c", spindles=spindle(4000), agreement={"/spindles/main/max_speed": "own"})

    found = row(compare_columns([*sisters, apart]), "/spindles/main/max_speed")

    assert (found.verdict, found.agreement) == (Verdict.ALL_AGREE, "agrees")
    held = found.of("c")
    assert held is not None
    assert held.state is State.NOT_JUDGED


@pytest.mark.parametrize("pointer", ["/spindles/main/max_speed", "/spindles/main"])
def test_a_disputed_value_is_unknown_and_counts_for_nobody(machine: Builder, pointer: str) -> None:
    sisters = [machine(n, spindles=spindle(6000)) for n in "ab"]
    disputed = machine("c", spindles=spindle(6000), disputed=(pointer,))

    found = row(compare_columns([*sisters, disputed]), "/spindles/main/max_speed")

    assert found.verdict is Verdict.AGREE_WHERE_KNOWN
    assert [(h.state, h.machines) for h in found.held] == [(State.SHARED, ("a", "b")), (State.DISPUTED, ("c",))]


def page(value: dict[str, Any]) -> dict[str, Any]:
    return {"p": {"path": ["P"], "settings": {"gain": value}}}


GAIN = "/control_pages/p/settings/gain/value"


def test_a_value_the_control_would_not_show_is_unknown(machine: Builder) -> None:
    sisters = [machine(n, control_pages=page({"value": 5, "unit": "bar"})) for n in "ab"]
    hidden = machine("c", control_pages=page({"state": "hidden by access level"}))

    found = row(compare_columns([*sisters, hidden]), GAIN)

    assert found.verdict is Verdict.AGREE_WHERE_KNOWN
    held = found.of("c")
    assert held is not None
    assert held.state is State.UNREAD


@pytest.mark.parametrize(
    ("third", "state"),
    [
        ({"value": 500, "unit": "kPa"}, State.SHARED),
        ({"value": Decimal("72.5"), "unit": "psi"}, State.NOT_COMPARABLE),
        ({"value": "off"}, State.DEVIATES),
        ({"state": "not fitted"}, State.DEVIATES),
    ],
    ids=["other unit, same value", "no exact relation", "a word", "not fitted"],
)
def test_units_with_an_exact_relation_are_compared_and_others_are_not(
    machine: Builder, third: dict[str, Any], state: State
) -> None:
    sisters = [machine(n, control_pages=page({"value": 5, "unit": "bar"})) for n in "ab"]

    held = row(compare_columns([*sisters, machine("c", control_pages=page(third))]), GAIN).of("c")

    assert held is not None
    assert held.state is state


def test_numbers_without_a_unit_are_never_compared_between_inch_and_millimetre(machine: Builder) -> None:
    sisters = [machine(n, control_pages=page({"value": 12})) for n in "ab"]
    inches = machine("c", unit="in", control_pages=page({"value": 12}))

    found = row(compare_columns([*sisters, inches]), GAIN)

    assert found.verdict is Verdict.AGREE_WHERE_KNOWN
    held = found.of("c")
    assert held is not None
    assert held.state is State.NOT_COMPARABLE


def test_two_values_that_cannot_be_compared_are_unknown_not_different(machine: Builder) -> None:
    sisters = [machine("a", control_pages=page({"value": 5, "unit": "bar"})),
               machine("b", control_pages=page({"value": 72, "unit": "psi"}))]  # fmt: skip

    assert row(compare_columns(sisters), GAIN).verdict is Verdict.UNKNOWN


def disc(**more: Any) -> dict[str, Any]:
    return {"name": "disc 350", "sections": [{"from": 0, "to": 70, "radius": 40}], **more}


def test_tools_are_compared_by_what_they_are_under_their_own_numbers(machine: Builder) -> None:
    sisters = [
        machine("a", tools={"4": disc(speed=2200)}),
        machine("b", tools={"21": disc(speed=2200)}),
        machine("c", tools={"4": disc(speed=2900), "9": {"name": "blade 400", "speed": 1}}),
    ]

    found = row(compare_columns(sisters), "/tools/disc 350/speed")

    assert (found.at_odds, found.pointers["b"], found.pointers["c"]) == (("c",), "/tools/21/speed", "/tools/4/speed")
    assert row(compare_columns(sisters), "/tools/blade 400/speed").without == ("a", "b")


def test_a_drawing_rounded_to_inches_is_of_the_same_tool(machine: Builder) -> None:
    inches = {"name": "disc 350", "speed": 2200,
              "sections": [{"from": 0, "to": Decimal("2.7559"), "radius": Decimal("1.5748")}]}  # fmt: skip
    sisters = [machine("a", tools={"4": disc(speed=2200)}), machine("b", unit="in", tools={"4": inches})]

    assert row(compare_columns(sisters), "/tools/disc 350/speed").verdict is Verdict.ALL_AGREE


def test_tools_of_one_name_with_other_sections_are_compared_apart_and_it_is_said(machine: Builder) -> None:
    wide = {"name": "disc 350", "speed": 2900, "sections": [{"from": 0, "to": 70, "radius": 60}]}
    sisters = [machine(n, tools={"4": disc(speed=2200)}) for n in "ab"] + [machine("c", tools={"4": wide})]

    found = compare_columns(sisters).classes[0]

    assert found.notes == ("disc 350 is the name of 2 tools with other sections, each compared by itself",)
    assert {r.setting for r in found.rows if r.setting.endswith("/speed")} == {
        "/tools/disc 350 (1)/speed", "/tools/disc 350 (2)/speed",
    }  # fmt: skip
    assert not found.at_odds


def test_titles_are_those_of_every_other_screen(machine: Builder) -> None:
    found = compare_columns([machine("a", tools={"4": disc(speed=2200)}, axes=backlash("0.03"))])

    assert row(found, BACKLASH).title == "axis Y: backlash"
    assert row(found, "/tools/disc 350/speed").title == "tool disc 350: speed"
