"""The two years of the demo fleet: every state fits its entry, closes, and tells the story."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from itertools import pairwise
from typing import Any

import pytest

from profilekeeper.actions.demo_history import DemoSnapshot, shipped_files, snapshots, storm
from profilekeeper.errors import FormatError
from profilekeeper.formats.changed_data import REMOVED, changed
from profilekeeper.formats.edit_yaml import edit
from profilekeeper.formats.strict_yaml import loads
from profilekeeper.formats.yaml_write import same
from profilekeeper.model.pointer import resolve
from profilekeeper.model.profile import Profile, profile_problems, read_profile
from profilekeeper.model.ruleset import RuleSet, read_rules, rules_for
from profilekeeper.rules import Finding, Verdict, is_met, judge

FILES = shipped_files()


@cache
def history() -> tuple[DemoSnapshot, ...]:
    """All of it; made once."""
    return tuple(snapshots(FILES))


def states(machine: str) -> list[DemoSnapshot]:
    """What stood in the control of a machine, oldest first."""
    return [s for s in history() if s.machine == machine and s.kind != "proposal"]


MACHINES = sorted({s.machine for s in history()})
RECORDED = [name for name in MACHINES if name != "hilltop/centre-3"]


def test_about_two_hundred_acts_over_two_years_are_told_in_order_with_their_time_zone() -> None:
    moments = [s.at for s in history()]

    assert 190 <= len(moments) <= 220
    assert moments == sorted(moments)
    assert all(moment.tzinfo is not None for moment in moments)
    assert 700 < (moments[-1] - moments[0]).days < 760
    assert len(MACHINES) == 13
    assert all(8 <= len(states(name)) <= 27 for name in RECORDED)


@pytest.mark.parametrize("name", MACHINES)
def test_the_last_state_is_the_plain_file_byte_for_byte(name: str) -> None:
    assert states(name)[-1].text == FILES[f"{name}/profile.yaml"]


@pytest.mark.parametrize("name", MACHINES)
def test_every_state_is_a_profile_without_a_problem(name: str) -> None:
    for state in {s.text: s for s in history() if s.machine == name}.values():
        assert profile_problems(_data(state.text)) == (), state.at


@pytest.mark.parametrize("name", MACHINES)
def test_two_states_differ_by_exactly_what_the_entry_between_them_says(name: str) -> None:
    entries = [e for e in _entries() if e["machine"] == name and e["kind"] != "proposal"]

    for (earlier, later), entry in zip(pairwise(states(name)), entries[1:], strict=True):
        undone = {**entry.get("before", {}), **dict.fromkeys(entry.get("not_yet", ()), REMOVED)}
        assert same(changed(_data(later.text), undone), _data(earlier.text)), entry["at"]


def test_going_back_gives_the_text_that_an_edit_gives() -> None:
    entries = [e for e in _entries() if e["machine"] == "quayside/saw-1" and e["kind"] != "proposal"]

    for (earlier, later), entry in [*zip(pairwise(states("quayside/saw-1")), entries[1:], strict=True)][-5:]:
        if not any(pointer.count("/") == 1 for pointer in entry.get("not_yet", ())):
            undone = {**entry.get("before", {}), **dict.fromkeys(entry.get("not_yet", ()), REMOVED)}
            assert edit(later.text, undone) == earlier.text, entry["at"]


@pytest.mark.parametrize("name", RECORDED)
def test_comments_of_the_plain_file_stand_in_the_first_state_too(name: str) -> None:
    first, last = states(name)[0].text, states(name)[-1].text
    above = [line for line in last.split("\n") if line.lstrip().startswith("#")]

    assert [line for line in first.split("\n") if line.lstrip().startswith("#")] == above


@pytest.mark.parametrize("name", RECORDED)
def test_every_touch_off_of_every_state_closes_against_its_own_day(name: str) -> None:
    for state in states(name):
        if state.kind != "proven":
            findings = judged(state, kind="adds-up")
            assert len(findings) >= len(_data(state.text)["tools"])
            assert {f.verdict for f in findings} == {Verdict.CLEAR}
            assert all(f.margin is None or f.value == f.required for f in findings)


def test_what_was_proven_had_run_with_parts_that_are_there() -> None:
    proven = [s for s in history() if s.kind == "proven"]

    assert len(proven) >= 24
    for mark in proven:
        before = [s for s in states(mark.machine) if s.at < mark.at][-1]
        assert mark.text == before.text
        assert mark.parts
        assert all(resolve(_data(mark.text), part) is not None for part in mark.parts)


def test_the_500_blade_was_refused_at_z_minus_60_and_left_41_above_the_bin_at_z_0() -> None:
    proposal = next(s for s in history() if s.kind == "proposal")
    then = [s for s in states("quayside/saw-1") if s.at > proposal.at]

    assert same(_value(proposal, "/tool_changes/default/Z"), Decimal("-60.000"))
    assert _value(proposal, "/tools/2/name") == "blade 500"
    assert _value(then[0], "/tool_changes/default/Z") == 0
    assert str(then[0].measured) == "41 mm"
    assert (then[1].kind, then[1].parts) == ("proven", ("/tools/2", "/tool_changes/default"))
    assert "2" not in _data(states("quayside/saw-1")[0].text)["tools"]


def test_in_the_last_state_of_the_fleet_the_rules_find_what_is_hidden_and_one_honest_unknown() -> None:
    last = [s for name in RECORDED for s in states(name)[-1:]]

    unmet = {(s.machine, f.kind, f.subject, f.verdict) for s in last for f in judged(s) if not is_met(f.verdict)}

    assert {u for u in unmet if u[3] is not Verdict.UNKNOWN} == {
        *(("quayside/saw-2", "stale", f"/tools/{n}/length", Verdict.FAILS) for n in (4, 7, 9)),
        ("quayside/saw-1", "mount", "/tools/2/speed", Verdict.FAILS),
        ("station/finish-1", "mount", "/tools/31/joints/1", Verdict.FAILS),
        ("station/saw-1", "reach", "/tables/main/surface", Verdict.FAILS),
    }
    unknown = {u for u in unmet if u[3] is Verdict.UNKNOWN}
    assert ("hilltop/centre-2", "limit", "/supports/pods/height", Verdict.UNKNOWN) in unknown
    assert {machine for machine, *_ in unknown} == {"hilltop/centre-2"}


@pytest.mark.soak
def test_in_two_years_nothing_else_was_unmet_but_what_the_story_tells() -> None:
    told = Counter(
        (state.machine, f.kind, f.subject.split("/")[1], str(f.verdict))
        for name in RECORDED
        for before, state in pairwise([None, *(s for s in states(name) if s.kind != "proven")])
        if state is not None
        for f in judged(state, before)
        if not is_met(f.verdict)
    )

    assert set(told) == {
        ("quayside/saw-2", "stale", "tools", "fails"),
        ("quayside/saw-2", "invalid", "tables", "fails"),
        ("hilltop/saw-1", "shift", "axes", "fails"),
        ("quayside/saw-1", "mount", "tools", "fails"),
        ("station/finish-1", "mount", "tools", "fails"),
        ("station/saw-1", "reach", "tables", "fails"),
        # Before the first millings the tables stood higher: the safe Z of the blade lay a little inside its margin.
        *((saw, "safe-z", "tools", "short") for saw in
          ("hilltop/saw-1", "millrace/saw-1", "quayside/saw-1", "station/saw-1")),
        # The one honest unknown, the height of the pods, and what hangs on it.
        ("hilltop/centre-2", "limit", "supports", "unknown"),
        ("hilltop/centre-2", "headroom", "tables", "unknown"),
        ("hilltop/centre-2", "reach", "tools", "unknown"),
        ("hilltop/centre-2", "safe-z", "tools", "unknown"),
    }  # fmt: skip
    assert told["hilltop/saw-1", "shift", "axes", "fails"] == 1
    assert told["quayside/saw-2", "invalid", "tables", "fails"] == 2


def test_the_x_reference_of_hilltop_saw_1_went_one_motor_turn_off_in_april() -> None:
    before, after = (s for s in states("hilltop/saw-1") if s.at.date().isoformat() in ("2026-03-25", "2026-04-21"))

    found = judged(after, before, kind="shift")

    assert [(f.verdict, f.subject, str(f.value)) for f in found] == [(Verdict.FAILS, "/axes/X", "10.000 mm")]
    moved = {"/work_offsets/G54/X", "/work_offsets/G55/X", "/instruments/laser/X"}
    assert after_pointers(before, after) == moved


def test_the_storm_left_46_values_off_and_one_was_keyed_back_with_its_digits_crossed() -> None:
    after = storm(FILES)
    before = states("hilltop/saw-1")[-1]

    off = after_pointers(before, after.found)
    assert len(off) == 46
    assert set(after.shown) == off
    assert before.at < after.found.at < after.at == datetime(2026, 5, 28, 9, 40, tzinfo=UTC)
    slips = {p: (v, _value(before, p)) for p, v in after.shown.items() if not same(v, _value(before, p))}
    assert {p: (str(v), str(w)) for p, (v, w) in slips.items()} == {"/tables/main/surface": ("-334.0", "-330.4")}
    assert profile_problems(_data(after.found.text)) == ()


def test_no_value_that_the_storm_changed_is_one_that_cannot_be_keyed_back() -> None:
    settings = _profile(states("hilltop/saw-1")[-1].text).settings

    for pointer in storm(FILES).shown:
        assert settings[pointer].kind.agreement not in ("daily", "note"), pointer
        holder: Any = resolve(_data(FILES["hilltop/saw-1/profile.yaml"]), pointer.rpartition("/")[0])
        assert isinstance(holder, list) or "read_only" not in holder, pointer


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"/entries/1/before": {"/tools/99/length": 1}}, r"entry 2 \(quayside/saw-1, .*there is no '99'"),
        ({"/entries/1/not_yet": ["/axes/X/travel/0"]}, r"entry 2 .*shares its line with other settings"),
        ({"/entries/0/kind": "guessed"}, r"entry 1 .*its kind is none of as-found"),
        ({"/entries/0/at": "2024-06-04T09:10:00"}, r"entry 1 .*has no time zone"),
        ({"/entries/0/machine": "quayside/saw-9"}, r"quayside/saw-9/profile.yaml: the file is not there"),
    ],
    ids=["no such tool", "half a line", "kind", "time zone", "machine"],
)
def test_a_history_that_does_not_fit_is_refused_in_one_sentence(change: dict[str, Any], found: str) -> None:
    files = {**FILES, "history.yaml": edit(_short_history(), change)}

    with pytest.raises(FormatError, match=found):
        list(snapshots(files))


def judged(state: DemoSnapshot, previous: DemoSnapshot | None = None, *, kind: str = "") -> tuple[Finding, ...]:
    """Findings by the built-in rules and those of the fleet (of one kind), as of the day of the state."""
    profile, before = _profile(state.text), None if previous is None else _profile(previous.text)
    rules = rules_for(profile, _shared())
    wanted = replace(rules, rules=tuple(r for r in rules.rules if kind in ("", r.kind)))
    return judge(profile, wanted, previous=before, on=state.at.date())


def after_pointers(before: DemoSnapshot, after: DemoSnapshot) -> set[str]:
    """The pointers of the settings whose values differ, apart from how and when they were read."""
    one, other = (_profile(s.text).settings for s in (before, after))
    pointers = {p for p in {*one, *other} if not p.startswith(("/sources", "/machine/hours", "/spindles/main/hours"))}
    return {p for p in pointers if getattr(one.get(p), "value", None) != getattr(other.get(p), "value", None)}


def _entries() -> list[Any]:
    data: Any = loads(FILES["history.yaml"])
    return list(data["entries"])


def _short_history() -> str:
    """The history up to the third entry: all of quayside/saw-1's first day."""
    return FILES["history.yaml"].split("  - machine: quayside/centre-1")[0]


def _value(state: DemoSnapshot, pointer: str) -> Any:
    return resolve(_data(state.text), pointer)


@cache
def _data(text: str) -> Any:
    return loads(text)


@cache
def _profile(text: str) -> Profile:
    return read_profile(_data(text))


@cache
def _shared() -> tuple[RuleSet, ...]:
    return tuple(read_rules(loads(t, source=p), source=p) for p, t in FILES.items() if p.startswith("rules/"))
