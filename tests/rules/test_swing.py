"""Swings of the demo saws against arithmetic that a technician can do on paper."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal
from math import hypot
from typing import Any

import pytest

from profilekeeper.actions.demo_history import shipped_files
from profilekeeper.formats import loads
from profilekeeper.model import Profile, read_rules, rules_for
from profilekeeper.rules import Finding, Verdict, judge
from tests.rules.geometry import judged, machine, mm, plain, put, sure, take

SAW = "quayside/saw-1"
BLADE_400, BLADE_500 = "/setups/blade 400/tool_change", "/setups/blade 500/tool_change"
BIN_TOP = -190.0
MACHINES = sorted(path.removesuffix("/profile.yaml") for path in shipped_files() if path.endswith("/profile.yaml"))
UNKNOWN = {
    "hilltop/centre-2": {"/tables/main": ("/supports/pods/height",)},
    "hilltop/centre-3": {"/tables": ("/tables",)},
}


def only_bin(data: Any) -> None:
    """Nothing that rides along and no fence: what is left is the blade over the bin."""
    data["no_go_zones"] = {"waste bin": data["no_go_zones"]["waste bin"]}


@pytest.mark.parametrize(
    ("subject", "z", "radius"),
    [(BLADE_400, -60.0, 200.0), (BLADE_500, 0.0, 250.0)],
)
def test_a_blade_passes_over_the_bin_by_the_height_of_the_pivot_less_its_reach(
    subject: str, z: float, radius: float
) -> None:
    # Derivation: docs/conventions.md: lowest point while tilting = pivot height - sqrt(D² + r²), D = 185 + 34.
    expected = z + 185 - hypot(219, radius) - BIN_TOP

    found = judged(machine(SAW), "swing")[subject]

    assert found.verdict is Verdict.CLEAR
    assert mm(found) == pytest.approx(Decimal(str(round(expected, 1))))
    assert "waste bin" in found.sentence
    assert "(blade)" in found.sentence


def test_the_story_of_the_demo_18_4_then_hits_by_17_4_then_42_6() -> None:
    before, after = judged(machine(SAW), "swing"), judged(moved_down(), "swing")

    assert "by 18.4 ± 3.8 mm, least at 48° tilt" in before[BLADE_400].sentence
    assert after[BLADE_500].verdict is Verdict.HITS
    assert "hits waste bin" in after[BLADE_500].sentence
    assert "by 17.4 mm of height" in after[BLADE_500].sentence
    assert "by 42.6 ± 3.8 mm" in before[BLADE_500].sentence


def moved_down(z: str = "-60.0") -> Profile:
    """The set-up of the 500 blade lower than it stands."""
    return machine(SAW, put("setups/blade 500/tool_change/Z", Decimal(z)))


def test_a_mend_that_is_told_does_mend() -> None:
    mend = judged(moved_down(), "swing")[BLADE_500].mend
    rise = Decimal(mend.split(" by ")[1].split(" mm")[0])
    size = Decimal(mend.split("diameter ")[1].split(" mm")[0])

    higher = judged(moved_down(str(Decimal("-60.0") + rise)), "swing")[BLADE_500]
    a_step_less = judged(moved_down(str(Decimal("-60.0") + rise - Decimal("0.3"))), "swing")[BLADE_500]
    smaller = judged(
        machine(
            SAW,
            put("setups/blade 500/tool_change/Z", Decimal("-60.0")),
            put("tools/2/sections/1/radius", size / 2),
            put("tools/2/diameter", {"new": size}),
        ),
        "swing",
    )[BLADE_500]

    assert Decimal("27.4") < rise < Decimal("33")  # 17.4 of contact, 10 wanted, and what measurements may be off
    assert higher.verdict is Verdict.TIGHT
    assert a_step_less.verdict is Verdict.SHORT
    assert smaller.verdict is Verdict.TIGHT


def test_a_rise_beyond_the_travel_is_not_offered() -> None:
    found = judged(machine(SAW, put("no_go_zones/waste bin/to", Decimal("-140"))), "swing")[BLADE_500]

    assert found.verdict is Verdict.HITS
    assert "raise" not in found.mend
    assert "diameter" in found.mend


@pytest.mark.parametrize(("offset", "reach"), [("0", 332.4), ("60", 289.9), ("-60", 379.6)])
def test_an_offset_of_the_spindle_takes_or_gives_room_by_its_side(offset: str, reach: float) -> None:
    # D 219, r 250: 332.4; with an offset of 60 to one side or the other 379.6 or 289.9.
    side = Decimal(offset)
    expected = {0.0: hypot(219, 250), 60.0: hypot(219, 190), -60.0: hypot(219, 310)}[float(side)]
    saw = machine(SAW, only_bin, put("head/spindle_offset", side), put("head/body", plain(SAW)["head"]["body"][:1]))

    found = judged(saw, "swing")[BLADE_500]

    assert expected == pytest.approx(reach, abs=0.05)
    assert float(mm(found)) == pytest.approx(max(185 - reach - BIN_TOP, 0.0), abs=0.06)


def test_a_second_thing_that_leaves_less_for_sure_is_the_one_told_of() -> None:
    """Nominally a little farther, but known by tape only: its ± 15 counts for more than the bin's ± 2."""
    near = {
        "frame": "floor",
        "outline": [[3200, -500], [3900, -500], [3900, 60], [3200, 60]],
        "from": -900,
        "to": Decimal("-192"),
    }
    saw = machine(
        SAW,
        put("no_go_zones/crate", near),
        lambda d: d["sources"].update({"/no_go_zones/crate": {"how": "measured", "plus_minus": "15 mm"}}),
    )

    found = judged(saw, "swing")[BLADE_400]

    assert found.verdict is Verdict.SHORT
    assert "crate" in found.sentence


def test_an_uncertainty_that_nobody_recorded_is_that_of_a_tape_and_asked_for() -> None:
    told = judged(machine(SAW), "swing")[BLADE_400]

    found = judged(machine(SAW, _bin_never_measured), "swing")[BLADE_400]

    assert sure(found) < sure(told)
    assert any("no-go zone waste bin" in note and "as by tape" in note for note in found.notes)
    assert not any("as by tape" in note for note in told.notes)


def _bin_never_measured(data: Any) -> None:
    for covers in ("/no_go_zones", "/no_go_zones/waste bin"):
        del data["sources"][covers]


def test_every_finding_to_act_on_says_once_what_is_not_modelled_and_for_which_mode_it_is_true() -> None:
    for found in judged(machine(SAW), "swing").values():
        assert sum("Not modelled" in note for note in found.notes) == 1
        assert any("compensation off" in note for note in found.notes)
        assert any("operator's walkway" in note and "not judged here" in note for note in found.notes)


def test_margins_of_the_rule_count() -> None:
    assert judged(machine(SAW), "swing", margin=15)[BLADE_400].verdict is Verdict.SHORT
    assert judged(machine(SAW), "swing", margin=14)[BLADE_400].verdict is Verdict.TIGHT
    assert judged(machine(SAW), "swing", margin=14, warn_within=0)[BLADE_400].verdict is Verdict.CLEAR


def test_a_free_swivel_meets_what_a_held_one_passes() -> None:
    """A post beside the head, higher than the pivot: reached only when the head turns to it."""
    post = {"frame": "floor", "outline": [[3440, 300], [3460, 300], [3460, 320], [3440, 320]], "from": -900, "to": 300}
    saw = machine(SAW, put("no_go_zones/post", post), put("tool_changes/default/tools", ["1"]))

    held, free = (judged(saw, "swing", swivel=s)["/tool_changes/default"] for s in ("held", "free"))

    assert held.verdict is Verdict.CLEAR
    assert free.verdict is Verdict.HITS
    assert "post" in free.sentence


def test_bristles_are_judged_apart_and_only_must_not_touch() -> None:
    """The stone so high that the bristles, not the plate, come into it."""
    saw = machine(SAW, put("slab/laminated", Decimal(180)), put("tool_changes/long tools/tools", ["12"]))

    found = judged(saw, "swing")["/tool_changes/long tools"]

    assert found.verdict is Verdict.SHORT
    assert "the bristles of tool 12" in found.sentence
    assert "touch" in found.sentence
    assert any("tool 12 (satin brush 160)" in note for note in found.notes)


def test_the_noted_working_length_and_the_press_count_where_the_slices_say_less() -> None:
    shorter = machine(SAW, put("tools/12/sections/2/to", Decimal("120")), take("tools/12/length_size"))

    found = judged(shorter, "swing")["/tool_changes/long tools"]

    assert any("139.4 mm long" in note for note in found.notes)  # 136.4 as noted and 3 pressed in


def test_a_blade_without_slices_is_built_from_its_sizes() -> None:
    found = judged(machine(SAW, take("tools/1/sections")), "swing")[BLADE_400]

    assert mm(found) == Decimal("18.4")  # seat 32.2 and half the kerf 1.8: the far face at 34.0
    assert any("no slices" in note for note in found.notes)


def test_the_tool_counts_as_new_even_where_its_slices_are_worn() -> None:
    worn = machine(SAW, put("tools/1/sections/1/radius", Decimal("186")))

    assert mm(judged(worn, "swing")[BLADE_400]) == Decimal("18.4")


def test_compensation_on_moves_the_head_and_needs_the_length() -> None:
    on = put("motion/tool_centre_compensation", "on")

    found = judged(machine(SAW, on), "swing")

    assert found[BLADE_400].verdict is Verdict.UNKNOWN
    assert "/tools/1/length" in found[BLADE_400].missing
    # Tip held at the depth it has when down: going level lowers the pivot, so the brush's plate comes lower.
    assert found["/tool_changes/long tools"].verdict is not Verdict.UNKNOWN
    assert mm(found["/tool_changes/long tools"]) < mm(judged(machine(SAW), "swing")["/tool_changes/long tools"])


def test_a_position_read_with_a_length_active_stands_higher_by_the_tool() -> None:
    change = put("tool_changes/long tools/tool_length_active", True)
    only = put("tool_changes/long tools/tools", ["9"])
    low = put("tool_changes/long tools/Z", Decimal("-211.9"))

    plain_z, with_length = machine(SAW, only), machine(SAW, only, change, low)

    at = "/tool_changes/long tools"
    assert mm(judged(plain_z, "swing")[at]) == mm(judged(with_length, "swing")[at])


def test_negative_z_and_a_tilt_that_counts_the_other_way_change_nothing() -> None:
    # The same saw as a control would show it that counts Z downwards and tilt from 90 (level) to 0 (down).
    data = plain(SAW)
    mirrored = machine(SAW, _downwards)

    assert data["conventions"]["z_up"] == "positive"
    assert told(judged(mirrored, "swing")) == told(judged(machine(SAW), "swing"))


def told(found: dict[str, Finding]) -> dict[str, tuple[Verdict, object]]:
    return {subject: (f.verdict, f.value) for subject, f in found.items()}


def _downwards(d: Any) -> None:
    d["conventions"]["z_up"] = "negative"
    d["axes"]["Z"]["travel"] = [0, 350]
    d["axes"]["Z"]["soft_limits"] = [Decimal("-0.5"), 350]
    d["axes"]["A"]["travel"] = [-2, 90]
    d["head"]["spindle_level_at"], d["head"]["spindle_down_at"] = 90, 0
    for table in d["tables"].values():
        table["surface"] = -table["surface"]
    for zone in d["no_go_zones"].values():
        zone["from"], zone["to"] = -zone["from"], -zone["to"]
    for place in (*d["tool_changes"].values(), *(s["tool_change"] for s in d["setups"].values())):
        place["Z"] = -place["Z"]


def test_a_head_that_never_tilts_is_passed_over_in_silence() -> None:
    assert judged(machine("quayside/centre-1"), "swing") == {}


def test_a_machine_never_recorded_is_unknown() -> None:
    found = judged(machine("hilltop/centre-3"), "swing")

    assert {f.verdict for f in found.values()} == {Verdict.UNKNOWN}
    assert all(f.missing and f.mend for f in found.values())


def test_a_named_tool_that_is_not_there_leaves_the_place_unknown() -> None:
    found = judged(machine(SAW, put("tool_changes/long tools/tools", ["4", "77"])), "swing")

    assert found["/tool_changes/long tools"].verdict is Verdict.UNKNOWN
    assert "/tools/77" in found["/tool_changes/long tools"].missing


def test_judging_without_a_geometric_rule_never_loads_numpy() -> None:
    program = (
        "import sys\n"
        "from tests.rules.geometry import machine\n"
        "from profilekeeper.model import built_in_rules\n"
        "from profilekeeper.rules import judge\n"
        "judge(machine('quayside/saw-1'), built_in_rules())\n"
        "print('numpy' in sys.modules)\n"
    )

    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert said.stdout.strip() == "False"


@pytest.mark.parametrize("name", MACHINES)
def test_by_the_rules_of_its_class_a_machine_of_the_fleet_is_clear_or_honestly_unknown(name: str) -> None:
    files = {path: text for path, text in shipped_files().items() if path.startswith("rules/")}
    shared = [read_rules(loads(text), source=path) for path, text in files.items()]
    profile = machine(name)

    found = [f for f in judge(profile, rules_for(profile, shared)) if f.kind in ("swing", "headroom")]

    unknown = {f.subject: f.missing for f in found if f.verdict is Verdict.UNKNOWN}
    assert found
    assert {f.verdict for f in found} <= {Verdict.CLEAR, Verdict.UNKNOWN}
    assert unknown == UNKNOWN.get(name, {})
