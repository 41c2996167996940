"""Laws of the geometric rules: nothing passes for want of a datum, and what is larger never has more room."""

from __future__ import annotations

import random
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.clearance.frames import JointBox, Span
from profilekeeper.clearance.scene import scene_of
from profilekeeper.model import read_profile
from profilekeeper.rules import Verdict
from profilekeeper.rules.room import Ask, rooms
from tests.rules.geometry import judged, machine, plain, put, sure, take

SAW = "quayside/saw-1"
PLACE = "/setups/blade 400/tool_change"
NEEDED_BY_SWING = (
    "axes",
    "axes/A",
    "axes/A/kind",
    "axes/C/kind",
    "axes/X",
    "axes/X/moves",
    "axes/Y/moves",
    "axes/Z/moves",
    "head",
    "head/body",
    "head/pivot_to_gauge_line",
    "head/spindle_down_at",
    "head/spindle_level_at",
    "head/spindle_offset",
    "head/swivel_sense",
    "head/swivel_zero_points",
    "head/tilt_axis_offset",
    "head/tilt_axis_offset_across",
    "motion",
    "motion/tool_centre_compensation",
    "no_go_zones",
    "no_go_zones/bridge beam/outline",
    "no_go_zones/riding guard/to",
    "no_go_zones/waste bin/from",
    "no_go_zones/waste bin/outline",
    "no_go_zones/waste bin/to",
    "setups/blade 400/tool_change/C",
    "setups/blade 400/tool_change/X",
    "setups/blade 400/tool_change/Y",
    "setups/blade 400/tool_change/Z",
    "slab",
    "slab/largest",
    "slab/largest/overhang",
    "slab/largest/thickness",
    "supports",
    "supports/direct/height",
    "tables",
    "tables/main/highest",
    "tables/main/outline",
    "tables/main/surface",
)


@pytest.mark.parametrize("path", NEEDED_BY_SWING)
def test_no_swing_passes_by_leaving_a_datum_out(path: str) -> None:
    found = judged(machine(SAW, take(path)), "swing")

    at = found.get(PLACE) or found["/tool_changes"]
    assert at.verdict is Verdict.UNKNOWN
    assert at.missing
    assert at.mend


def _branches(data: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every key of every mapping, three deep."""
    if isinstance(data, dict) and len(at) < 3:
        for key, inner in data.items():
            yield (*at, key)
            yield from _branches(inner, (*at, key))


BRANCHES = [b for b in _branches(plain(SAW)) if b[0] in ("axes", "head", "motion", "tables", "slab", "supports")]


@settings(max_examples=20, deadline=None)
@given(path=st.sampled_from(BRANCHES))
def test_leaving_anything_out_gives_a_finding_and_never_more_room_than_there_was(path: tuple[str, ...]) -> None:
    data = plain(SAW)
    here = data
    for step in path[:-1]:
        here = here[step]
    del here[path[-1]]

    found = judged(read_profile(data), "swing")

    assert found
    for subject, finding in found.items():
        assert finding.verdict is Verdict.UNKNOWN or sure(finding) <= sure(WHOLE[subject]) + Decimal("0.1") or (
            path[:2] in (("slab", "laminated"), ("axes", "A"))  # a thinner slab, or tilt swept no farther than down
        )  # fmt: skip


def alone(data: Any) -> None:
    """One place, one tool: what the laws need."""
    data["setups"] = {"blade 400": data["setups"]["blade 400"]}
    data["tool_changes"] = {}
    data["tools"] = {"1": data["tools"]["1"]}


WHOLE = judged(machine(SAW), "swing")


@settings(max_examples=5, deadline=None)
@given(
    x=st.integers(2800, 4000),
    y=st.integers(-600, 600),
    size=st.integers(20, 400),
    top=st.integers(-400, 200),
)
def test_one_more_thing_never_adds_room(x: int, y: int, size: int, top: int) -> None:
    crate = {
        "frame": "floor",
        "outline": [[x, y], [x + size, y], [x + size, y + size], [x, y + size]],
        "from": -1000,
        "to": top,
    }

    found = judged(machine(SAW, alone, put("no_go_zones/crate", crate)), "swing")[PLACE]

    assert sure(found) <= sure(WHOLE[PLACE]) + Decimal("0.1")
    assert found.verdict.rank >= WHOLE[PLACE].verdict.rank


@settings(max_examples=5, deadline=None)
@given(radius=st.integers(150, 260), more=st.integers(1, 60), longer=st.integers(0, 40))
def test_a_larger_tool_never_has_more_room(radius: int, more: int, longer: int) -> None:
    small = machine(SAW, alone, _blade(radius, 34))
    large = machine(SAW, alone, _blade(radius + more, 34 + longer))

    one, other = (judged(saw, "swing")[PLACE] for saw in (small, large))

    assert sure(other) <= sure(one) + Decimal("0.1")
    assert other.verdict.rank >= one.verdict.rank


def _blade(radius: int, to: int) -> Any:
    def change(data: Any) -> None:
        tool = data["tools"]["1"]
        tool["diameter"] = {"new": 2 * radius}
        tool["sections"] = [{"from": 0, "to": Decimal("30.4"), "radius": 75}, {"from": 30, "to": to, "radius": radius}]

    return change


@settings(max_examples=8, deadline=None)
@given(known=st.integers(0, 20), worse=st.integers(1, 20))
def test_what_is_known_less_closely_never_leaves_more_for_sure(known: int, worse: int) -> None:
    def bin_known(within: int) -> Any:
        entry = {"how": "measured", "plus_minus": f"{within} mm"}
        return lambda data: data["sources"].update({"/no_go_zones/waste bin": entry})

    one, other = (judged(machine(SAW, alone, bin_known(w)), "swing")[PLACE] for w in (known, known + worse))

    assert sure(other) <= sure(one) + Decimal("0.1")


def _over_the_bin(data: Any) -> Ask:
    """The 400 blade tilting beside the bin at Z -60, by a record's own scene."""
    scene = scene_of(read_profile(data))
    chain, tool, head, things = scene.chain.value, scene.tools["1"].value, scene.body.value, scene.surroundings.value
    assert chain is not None
    assert tool is not None
    assert head is not None
    assert things is not None
    motion = JointBox(
        x_mm=Span.at(3450), y_mm=Span.at(40), z_mm=Span.at(-60), tilt_deg=chain.tilt, swivel_deg=Span.at(0)
    )
    return Ask(title="blade", tool=tool, others=(head,), soft=False, chain=chain, things=things, motion=motion)


def _measured_otherwise(chance: random.Random) -> Any:
    """The record as somebody else might have measured it: every size off by up to its uncertainty."""
    data = plain(SAW)

    def off(by: float) -> Decimal:
        return Decimal(str(round(chance.choice((-by, by, chance.uniform(-by, by))), 4)))

    for key in ("pivot_to_gauge_line", "spindle_offset", "tilt_axis_offset", "tilt_axis_offset_across"):
        data["head"][key] += off(0.5)
    for section in data["tools"]["1"]["sections"]:
        along = off(0.5)
        section["from"], section["to"], section["radius"] = (
            section["from"] + along,
            section["to"] + along,
            section["radius"] + off(0.5),
        )
    waste, aside, ahead = data["no_go_zones"]["waste bin"], off(2), off(2)
    waste["outline"] = [[x + aside, y + ahead] for x, y in waste["outline"]]
    waste["to"] += off(2)
    return data


def test_however_the_measurements_are_off_the_gap_is_never_below_what_is_called_sure() -> None:
    chance = random.Random(20)
    told, *others = rooms([_over_the_bin(plain(SAW)), *(_over_the_bin(_measured_otherwise(chance)) for _ in range(60))])

    least = min(other.nominal.high_mm for other in others)

    assert told.sure_mm <= least
    assert least < told.gap_mm - 2  # the samples do reach out towards the worst
