"""Tools, their touch-offs, and what their lengths mean."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from profilekeeper.formats import loads
from profilekeeper.model import Known, Tool, conventions_of, nose_to_tip, read_profile, tools_of
from profilekeeper.quantities import parse_angle, parse_length

NO_SURFACE: Known = Known(value=None, missing=("/tables/main/surface",))


def tool(body: str, conventions: str = "{}") -> tuple[Tool, Known]:
    text = f"""
profile: 2
machine: {{name: s, shop: q}}
units: {{length: mm}}
conventions: {conventions}
tools: {{"21": {{{body}}}}}
"""
    profile = read_profile(loads(text))
    found = tools_of(profile)["21"]
    surface = Known(value=parse_length("-330 mm"), used=("/tables/main/surface",))
    return found, nose_to_tip(found, conventions_of(profile), surface)


def test_what_is_not_recorded_is_none_never_zero() -> None:
    bare, length = tool("name: disc")

    empty = [getattr(bare, name) for name in ("length", "seat", "kerf", "speed", "touch_off", "replaced", "pocket")]
    assert empty == [None] * 7
    assert (bare.sections, bare.joints) == ((), ())
    assert bare.diameter.now is None
    assert (length.value, length.missing) == (None, ("/tools/21/length",))


def test_a_whole_tool_is_read() -> None:
    whole, _ = tool(
        "id: k7mq2fzd, name: disc, kind: disc, length: 212.730, pocket: 4, speed: 1100, replaced: 2026-02-01,"
        "diameter: {new: 400, now: 391.4, worn_out: 372},"
        "sections: [{from: 0, to: 70, radius: 40, radius_to: 60, soft: true}, {from: 70, to: 212.73, radius: 175}],"
        "joints: [{thread: M30, hand: right, lock: none}]"
    )

    assert (whole.id, whole.title, whole.pocket) == ("k7mq2fzd", "tool 21 (disc)", "4")
    assert whole.speed == Decimal(1100)
    assert whole.replaced == date(2026, 2, 1)
    assert whole.diameter.worn_out == parse_length("372 mm")
    assert [s.end_radius for s in whole.sections] == [parse_length("60 mm"), parse_length("175 mm")]
    assert [s.soft for s in whole.sections] == [True, None]
    assert whole.joints[0].hand == "right"


def test_a_touch_off_keeps_its_circumstances() -> None:
    touched, _ = tool(
        "touch_off: {Z: -213.2, surface: -455.2, support: 0, thicknesses: [29.1, 29.4, 29.2], tilt: 89.7,"
        "date: 2026-03-04, plus_minus: 0.1, touched: stone}"
    )

    assert touched.touch_off is not None
    assert touched.touch_off.governing_thickness == parse_length("29.4 mm")
    assert touched.touch_off.tilt == parse_angle("89.7 deg")
    assert touched.touch_off.date == date(2026, 3, 4)
    assert touched.touch_off.shim is None


@pytest.mark.parametrize(
    ("conventions", "stored", "length"),
    [
        ("{}", "212.73", "212.73"),
        ("{length_sign: negative}", "-212.73", "212.73"),
        ("{length_kind: difference from master tool, master_length: 150}", "62.73", "212.73"),
        ("{length_kind: difference from master tool, master_length: 150, length_sign: negative}", "-62.73", "212.73"),
        ("{length_kind: Z at touch on the table}", "-117.27", "212.73"),
    ],
)
def test_every_way_to_note_a_length_gives_nose_to_tip(conventions: str, stored: str, length: str) -> None:
    assert tool(f"length: {stored}", conventions)[1].value == parse_length(f"{length} mm")


def test_a_z_that_grows_downwards_gives_the_same_length() -> None:
    profile = read_profile(
        loads(
            "profile: 2\nmachine: {name: s, shop: q}\nunits: {length: mm}\n"
            "conventions: {z_up: negative, length_kind: Z at touch on the table}\ntools: {'21': {length: 117.27}}"
        )
    )
    surface = Known(value=parse_length("330 mm"), used=())

    found = nose_to_tip(tools_of(profile)["21"], conventions_of(profile), surface)

    assert found.value == parse_length("212.73 mm")


@pytest.mark.parametrize(
    ("conventions", "missing"),
    [
        ("{length_kind: not known}", "/conventions/length_kind"),
        ("{length_kind: difference from master tool}", "/conventions/master_length"),
    ],
)
def test_a_meaning_that_is_not_known_is_asked_for(conventions: str, missing: str) -> None:
    length = tool("length: 1", conventions)[1]

    assert (length.value, length.missing) == (None, (missing,))


def test_a_length_kept_as_z_needs_the_table() -> None:
    found, _ = tool("length: -117")
    profile = read_profile(
        loads(
            "profile: 2\nmachine: {name: s, shop: q}\nunits: {length: mm}\n"
            "conventions: {length_kind: Z at touch on the table}"
        )
    )

    assert nose_to_tip(found, conventions_of(profile), NO_SURFACE).missing == ("/tables/main/surface",)
