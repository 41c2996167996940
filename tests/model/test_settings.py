"""Every single setting by pointer, exact and with its kind."""

from __future__ import annotations

from decimal import Decimal

import pytest

from profilekeeper.formats import loads
from profilekeeper.model import Profile, pointers_like, read_profile
from profilekeeper.model.settings import EMPTY_LIST, EMPTY_MAPPING, read_settings
from profilekeeper.quantities import Angle, Length, Quantity, parse_angle, parse_length, parse_quantity


def profile(body: str, unit: str = "mm") -> Profile:
    return read_profile(loads(f"profile: 2\nmachine: {{name: s, shop: q}}\nunits: {{length: {unit}}}\n{body}"))


def test_a_bare_length_is_in_the_unit_of_the_screen_and_keeps_its_zeros() -> None:
    value = profile('tools: {"4": {length: 21.700}}', "in").value("/tools/4/length")

    assert value == parse_length("21.7 in")
    assert isinstance(value, Length)
    assert str(value) == "21.700 in"


def test_a_length_may_bring_its_own_unit() -> None:
    assert profile('tools: {"4": {length: "1 in"}}').value("/tools/4/length") == parse_length("25.4 mm")


def test_what_reads_an_axis_is_a_length_or_an_angle_by_the_axis() -> None:
    machine = profile("axes: {X: {travel: [0, 1]}, A: {travel: [0, 92]}, W: {kind: rotary, travel: [0, 9]}}")

    assert isinstance(machine.value("/axes/X/travel/1"), Length)
    assert machine.value("/axes/A/travel/1") == parse_angle("92 deg")
    assert isinstance(machine.value("/axes/W/travel/1"), Angle)


@pytest.mark.parametrize(
    ("entry", "value"),
    [
        ("value: 12.5, unit: bar", parse_quantity("12.5 bar")),
        ("value: 3600, unit: mm", parse_length("3600 mm")),
        ("value: 45, unit: deg", parse_angle("45 deg")),
        ("value: 3600, multiplier: 0.001, unit: mm", parse_length("3.6 mm")),
        ("value: 7", Decimal(7)),
        ('value: "00110101"', "00110101"),
        ("value: true", True),
    ],
)
def test_a_page_value_is_what_the_screen_says(entry: str, value: object) -> None:
    machine = profile(f"control_pages: {{p: {{path: [S], settings: {{L: {{{entry}}}}}}}}}")

    assert machine.value("/control_pages/p/settings/L/value") == value


def test_a_cell_of_a_grid_has_the_unit_of_its_column_and_blank_is_not_zero() -> None:
    grid = '{columns: {L: {unit: mm}, N: {}, P: {unit: bar}}, rows: {"1": [12.5, x, 6], "2": [null, 0, null]}}'
    machine = profile(f"control_pages: {{p: {{path: [S], grids: {{t: {grid}}}}}}}")
    row = "/control_pages/p/grids/t/rows"

    assert machine.value(f"{row}/1/0") == parse_length("12.5 mm")
    assert machine.value(f"{row}/1/2") == Quantity(Decimal(6), "bar")
    assert machine.value(f"{row}/2/0") is None
    assert machine.value(f"{row}/2/1") == Decimal(0)


def test_a_page_value_says_itself_how_it_relates_to_sisters_and_what_it_hangs_on() -> None:
    entry = "{value: 4, unit: mm, agreement: agrees within, within: 0.1, hangs_on: [X reference]}"
    kind = (
        profile(f"control_pages: {{p: {{path: [S], settings: {{L: {entry}}}}}}}")
        .settings["/control_pages/p/settings/L/value"]
        .kind
    )

    assert (kind.agreement, kind.within, kind.hangs_on) == ("agrees within", "0.1", ("X reference",))


def test_the_profile_overrules_the_schema_by_a_pattern() -> None:
    machine = profile('tools: {"4": {speed: 2400}, "7": {speed: 900}}\nagreement: {/tools/*/speed: own}')

    assert {machine.settings[f"/tools/{n}/speed"].kind.agreement for n in (4, 7)} == {"own"}


def test_an_empty_branch_is_a_setting_too() -> None:
    machine = profile("no_go_zones: {}\nevents: []")

    assert (machine.value("/no_go_zones"), machine.value("/events")) == (EMPTY_MAPPING, EMPTY_LIST)


def test_names_with_a_slash_or_a_tilde_are_escaped() -> None:
    page = 'control_pages: {p: {path: [S], settings: {"I/O ~": {value: 1}}}}'

    assert profile(page).value("/control_pages/p/settings/I~1O ~0/value") == Decimal(1)


def test_a_length_that_cannot_be_read_is_a_problem_not_a_guess() -> None:
    data = {"profile": 2, "machine": {}, "units": {"length": "mm"}, "tools": {"4": {"length": "12 parsec"}}}

    settings, problems = read_settings(data)

    assert [p.pointer for p in problems] == ["/tools/4/length"]
    assert settings["/tools/4/length"].value == "12 parsec"


def test_a_pattern_finds_what_lies_at_or_below_it_in_file_order() -> None:
    settings = profile('tools: {"7": {length: 1, name: b}, "21": {length: 2}}').settings

    assert pointers_like(settings, "/tools/*/length") == ("/tools/7/length", "/tools/21/length")
    assert pointers_like(settings, "/tools/7") == ("/tools/7/length", "/tools/7/name")
    assert pointers_like(settings, "/tools/2") == ()
