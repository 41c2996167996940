"""`place`: where a tool swings clear. Its spots are asked anew, with a search of the test's own making."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from profilekeeper.clearance import Gap, JointBox, Query, Span, gap, gaps, scene_of
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.resources import shipped
from tests.cli.conftest import Answer, Program

SAW = "quayside/saw-1"
FAST = ("--pitch", "40")


@pytest.fixture
def saw(fleet: Program) -> Program:
    """The store with quayside/saw-1 in it as well."""
    assert fleet("add-machine", SAW, "--from", shipped(f"shop_profiles/{SAW}/profile.yaml")).code == 0
    return fleet


def _profile() -> Profile:
    data = shipped(f"shop_profiles/{SAW}/profile.yaml").read_bytes()
    return read_profile(strict_yaml.loads(data, source=SAW), source=SAW)


def _gap(tool: str, x: float, y: float, z: float) -> Gap:
    """The gap as recorded, built here from the scene's parts; the swivel at 0."""
    return gap(_query(tool, x, y, z))


def _query(tool: str, x: float, y: float, z: float) -> Query:
    scene = scene_of(_profile())
    chain, body, things = scene.chain.value, scene.body.value, scene.surroundings.value
    assert chain is not None
    assert body is not None
    assert things is not None
    blade = scene.tools[tool].value
    assert blade is not None
    still = [Span.at(v) for v in (x, y, z, 0.0)]
    motion = JointBox(x_mm=still[0], y_mm=still[1], z_mm=still[2], tilt_deg=chain.tilt, swivel_deg=still[3])
    obstacles = tuple(obstacle for thing in things for obstacle in thing.obstacles())
    return Query(head=chain.head, sections=(*blade.sections, *body.sections), obstacles=obstacles, motion=motion)


def _mm(amount: Any) -> float:
    assert amount["unit"] == "mm"
    return float(amount["number"])


def _data(done: Answer) -> Any:
    return json.loads(done.out)


def test_spots_called_clear_are_clear_by_the_gap_told_when_asked_anew(saw: Program) -> None:
    done = saw("place", SAW, "--tool", "1", "--z", "-60", *FAST, "--json")

    assert done.code == 0
    spots = _data(done)["spots"]
    assert len(spots) == 3
    assert [int(_mm(s["gap"])) for s in spots] == sorted((int(_mm(s["gap"])) for s in spots), reverse=True)
    for spot in spots:
        found = _gap("1", _mm(spot["x"]), _mm(spot["y"]), -60.0)
        assert found.low_mm - 0.11 <= _mm(spot["gap"]) <= found.high_mm
        assert found.obstacle.name == spot["nearest"]
        assert _mm(spot["gap"]) - _mm(spot["plus_minus"]) >= 10.0 - 0.2


def test_every_sign_of_the_chart_holds_when_its_middle_is_asked_anew(saw: Program) -> None:
    data = _data(saw("place", SAW, "--tool", "2", "--z", "-60", *FAST, "--json"))
    rows = data["chart"]
    names = {chr(ord("a") + k): entry["nearest"] for k, entry in enumerate(data["not_clear"])}
    wide, tall = 3600.0 / len(rows[0]), 2200.0 / len(rows)
    signs = [(i, j, s) for j, row in enumerate(reversed(rows)) for i, s in list(enumerate(row))[j % 5 :: 5]]
    seen = {sign for *_, sign in signs}

    answers = gaps([_query("2", (i + 0.5) * wide, (j + 0.5) * tall, -60.0) for i, j, _ in signs])
    for (*_, sign), found in zip(signs, answers, strict=True):
        if sign == ".":
            assert found.low_mm >= 10.0
        if sign in names:
            # Uncertainties of up to some 15 mm are taken off before a spot is called clear.
            assert found.low_mm < 10.0 + 16.0
            assert found.obstacle.name == names[sign] or found.is_contact

    assert "." in seen
    assert seen & set(names)


def test_where_no_spot_is_clear_the_least_rise_is_told_and_does(saw: Program) -> None:
    done = saw("place", SAW, "--tool", "2", "--z", "-150", *FAST, "--json")

    assert done.code == 1
    data = _data(done)
    assert data["spots"] == []
    rise = data["least_rise"]
    assert _mm(rise["z"]) == pytest.approx(-150.0 + _mm(rise["by"]))
    x, y, z = (_mm(rise[k]) for k in "xyz")
    assert _gap("2", x, y, z).low_mm >= 10.0
    assert "." not in "".join(data["chart"])
    assert saw("place", SAW, "--tool", "2", "--z", f"{z + 20}", *FAST).code == 0


def test_where_no_rise_is_enough_that_is_said(saw: Program) -> None:
    done = saw("place", SAW, "--tool", "1", "--required", "800 mm", *FAST)

    assert done.code == 1
    assert "No rise of Z within the travel" in done.out.replace("\n", " ")


def test_more_room_wanted_never_makes_more_clear_ground(saw: Program) -> None:
    shares = [
        _data(saw("place", SAW, "--tool", "2", "--z", "-60", "--required", f"{mm} mm", *FAST, "--json"))["clear_share"]
        for mm in (5, 40)
    ]

    assert shares == sorted(shares, reverse=True)
    assert shares[0] > shares[-1]


def test_on_the_screen(saw: Program) -> None:
    done = saw("place", SAW, "--tool", "1", "--z", "-60", *FAST, width=60)
    said = " ".join(done.out.split())

    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= 60
    for words in (
        "% of the XY travel",
        "±",
        "smaller Y, where operator's walkway lies",
        "verify at the machine",
        "reach",
    ):
        assert words in said


def test_the_plan_shows_the_map_and_the_best_spot(saw: Program, tmp_path: Path) -> None:
    file = tmp_path / "plan.svg"

    assert saw("place", SAW, "--tool", "1", "--z", "-60", *FAST, "--to", file).code == 0
    parts = {e.get("data-part") for e in ElementTree.parse(file).iter()}
    assert {"place map", "roomiest"} <= parts
    assert saw("place", SAW, "--tool", "2", "--z", "-150", *FAST, "--to", tmp_path / "none.svg").code == 1
    assert "short" in (tmp_path / "none.svg").read_text(encoding="utf-8").lower()


def test_what_is_not_recorded_is_named_in_one_sentence(saw: Program) -> None:
    assert saw("snapshot", SAW, "--as-left", "--take-out", "/tables/main/outline", "--why", "moved").code in (0, 1)

    done = saw("place", SAW, "--tool", "1")

    assert done.code == 3
    assert "table main outline" in done.err
    assert len(done.err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    "arguments",
    [
        ("--tool", "99"),
        ("--tool", "1", "--z", "40"),
        ("--tool", "1", "--z", "high"),
        ("--tool", "1", "--required", "0"),
        ("--tool", "1", "--required", "-3 mm"),
        ("--tool", "1", "--pitch", "0.2"),
        ("--tool", "1", "--to", "plan.bmp"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_sentence(saw: Program, arguments: tuple[str, ...]) -> None:
    done = saw("place", SAW, *arguments)

    assert done.code in (2, 3)
    assert len(done.err.strip().splitlines()) == 1
    assert done.out == ""
