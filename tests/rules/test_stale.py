"""Tools touched off between milling and correcting the table. Numbers: common practice, no source."""

from __future__ import annotations

import pytest

from profilekeeper.quantities import parse_length
from profilekeeper.rules import Finding, Verdict
from tests.rules.conftest import AXES, findings, profile, verdicts

MILLED = "{kind: table milled, table: main, by_how_much: 1.5, date: 2026-01-12}"
CORRECTED = "{kind: table re-measured, table: main, date: 2026-02-03}"
EVENTS = f"{MILLED}, {CORRECTED}"


def touch(z: str, day: str = "2026-01-20", surface: str = "-330.0", more: str = "") -> str:
    return f"touch_off: {{Z: {z}, surface: {surface}, support: 0, thickness: 30.2, tilt: 90, date: {day}{more}}}"


def stale(tools: str, events: str = EVENTS, *, table: str = "surface: -331.5", more: str = "") -> dict[str, Finding]:
    return findings(
        profile(f"{AXES}{more}\ntables: {{main: {{{table}}}}}\ntools: {{{tools}}}\nevents: [{events}]"), "stale"
    )


def one(tool: str, events: str = EVENTS, *, table: str = "surface: -331.5", more: str = "") -> Finding:
    (finding,) = stale(f'"4": {{{tool}}}', events, table=table, more=more).values()
    return finding


@pytest.mark.parametrize(
    ("z", "stored", "true"), [("-180.0", "119.8", "121.3"), ("-152.8", "147.0", "148.5"), ("-89.3", "210.5", "212.0")]
)
def test_a_length_that_carries_the_milling_fails_with_its_true_length(z: str, stored: str, true: str) -> None:
    finding = one(f"length: {stored}, {touch(z)}")

    assert finding.verdict is Verdict.FAILS
    assert (finding.value, finding.required) == (parse_length(f"{stored} mm"), parse_length(f"{true} mm"))
    assert finding.margin == parse_length("-1.5 mm")
    assert "goes 1.5 mm too deep" in finding.sentence
    assert f"store {true} mm" in finding.mend


def test_the_same_tools_still_add_up_against_their_own_day() -> None:
    tool = f'tools: {{"4": {{length: 119.8, {touch("-180.0")}}}}}'
    body = f"{AXES}\ntables: {{main: {{surface: -331.5}}}}\n{tool}\nevents: [{EVENTS}]"

    assert verdicts(findings(profile(body), "adds-up")) == {"/tools/4/length": "clear"}


@pytest.mark.parametrize(
    ("day", "surface"),
    [("2026-01-05", "-330.0"), ("2026-02-20", "-331.5"), ("2026-02-03", "-331.5"), ("2026-01-20", "-331.5")],
)
def test_touched_before_milling_or_with_the_corrected_height_is_clear(day: str, surface: str) -> None:
    stored = "119.8" if surface == "-330.0" else "121.3"

    assert one(f"length: {stored}, {touch('-180.0', day, surface)}").verdict is Verdict.CLEAR


def test_a_length_already_corrected_is_clear() -> None:
    assert one(f"length: 121.3, {touch('-180.0')}").verdict is Verdict.CLEAR


def test_the_day_of_the_source_dates_the_correction_too() -> None:
    more = "\nsources: {/tables/main/surface: {how: measured, date: 2026-02-03}}"

    assert one(f"length: 119.8, {touch('-180.0')}", MILLED, more=more).verdict is Verdict.FAILS


def test_where_nothing_dates_the_correction_the_two_heights_tell() -> None:
    assert one(f"length: 119.8, {touch('-180.0')}", MILLED).verdict is Verdict.FAILS


def test_while_the_table_value_is_not_corrected_it_is_tight() -> None:
    finding = one(f"length: 119.8, {touch('-180.0')}", MILLED, table="surface: -330.0")

    assert finding.verdict is Verdict.TIGHT
    assert "will be wrong once the table value is corrected" in finding.sentence


def test_two_millings_before_one_correction_add_up() -> None:
    second = MILLED.replace("01-12", "01-16").replace("1.5", "1.0")

    finding = one(f"length: 119.8, {touch('-180.0')}", f"{MILLED}, {second}, {CORRECTED}", table="surface: -332.5")

    assert finding.required == parse_length("122.3 mm")


@pytest.mark.parametrize(
    ("tool", "events", "missing"),
    [
        (f"length: 119.8, {touch('-180.0')}".replace(", date: 2026-01-20", ""), EVENTS, "/tools/4/touch_off/date"),
        (f"length: 119.8, {touch('-180.0')}", EVENTS.replace(" by_how_much: 1.5,", ""), "/events/0/by_how_much"),
        (f"length: 119.8, {touch('-180.0', '2026-01-12')}", EVENTS, "/tools/4/touch_off/true_surface"),
        ("length: 119.8, touch_off: {Z: -180.0, date: 2026-02-03}", EVENTS, "/tools/4/touch_off/surface"),
    ],
    ids=["no date", "no amount", "both on one day", "no height on the day of the correction"],
)
def test_what_cannot_be_told_is_unknown(tool: str, events: str, missing: str) -> None:
    finding = one(tool, events)

    assert finding.verdict is Verdict.UNKNOWN
    assert missing in finding.missing


def test_a_true_height_found_out_later_settles_it() -> None:
    finding = one(f"length: 119.8, {touch('-180.0', '2026-01-12', more=', true_surface: -331.5')}")

    assert finding.verdict is Verdict.FAILS
    assert finding.required == parse_length("121.3 mm")


def test_a_table_that_was_never_milled_says_nothing() -> None:
    assert not stale(f'"4": {{length: 119.8, {touch("-180.0")}}}', "")


def test_the_milling_of_another_table_does_not_count() -> None:
    body = (
        f"{AXES}\ntables: {{main: {{surface: -330}}, left: {{surface: -300}}}}\n"
        f'tools: {{"4": {{length: 119.8, {touch("-180.0", more=", table: main")}}}}}\n'
        f"events: [{MILLED.replace('main', 'left')}]"
    )

    assert not findings(profile(body), "stale")


def test_on_which_table_it_was_touched_is_asked_where_there_are_two() -> None:
    body = (
        f"{AXES}\ntables: {{main: {{surface: -330}}, left: {{surface: -300}}}}\n"
        f'tools: {{"4": {{length: 119.8, {touch("-180.0")}}}}}\nevents: [{MILLED}]'
    )

    (finding,) = findings(profile(body), "stale").values()

    assert finding.missing == ("/tools/4/touch_off/table",)


def test_a_blade_carries_the_milling_in_its_radius() -> None:
    tool = f"kind: blade, diameter_in_control: 400, {touch('-284.8')}".replace("tilt: 90", "tilt: 0")

    finding = one(tool)

    assert (finding.verdict, finding.required) == (Verdict.FAILS, parse_length("403 mm"))


def test_lengths_kept_as_z_at_touch_are_all_too_high_after_milling() -> None:
    """With this convention milling changes every tool and no table value."""
    more = "\nconventions: {length_kind: Z at touch on the table}"
    before = one(f"length: -210.2, {touch('-180.0', '2026-01-05')}", more=more)
    after = one(f"length: -211.7, {touch('-181.5', '2026-01-20')}", more=more)

    assert (before.verdict, before.required) == (Verdict.FAILS, parse_length("-211.7 mm"))
    assert "too high" in before.sentence
    assert after.verdict is Verdict.CLEAR
