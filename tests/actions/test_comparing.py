"""Comparing machines of a store: latest values, since when a value stands, JSON and CSV."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from profilekeeper.actions.compared_forms import _safe
from profilekeeper.actions.comparing import compare_machines, to_csv, to_json
from profilekeeper.actions.opened import Opened
from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.fleet.columns import columns_of, columns_version, dumps
from profilekeeper.fleet.rows import Comparison, Row, State, Verdict
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import read_profile
from profilekeeper.store import Author, Change, Store

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SAW = "tilting-head bridge saw"
BACKLASH = "/axes/Y/backlash"


def text(
    name: str, *, unit: str = "mm", backlash: str = "0.03", sort: str = SAW, tools: str = "{}", note: str = "none"
) -> str:
    """The record of a small saw as a file."""
    shop, _, short = name.partition("/")
    return (
        f"profile: 2\nmachine: {{name: {short}, shop: {shop}, class: {sort}}}\nunits: {{length: {unit}, angle: deg}}\n"
        f"resolution: {{length: {'0.001' if unit == 'mm' else '0.0001'}}}\n"
        f"axes: {{Y: {{backlash: {backlash}}}}}\ntools: {tools}\nnotes: {{visit: {note}}}\n"
    )


class Shops:
    """A store that is written to day by day."""

    def __init__(self, folder: Path) -> None:
        first = {"store.yaml": b"store: 1\nid: k7mq2fzdk7mq2fzd\nname: test\n"}
        author = Author(name="R. Okonjo", email="not given")
        self.store = Store.start(folder, first, message="start", author=author, at=START)
        self.opened = Opened(store=self.store)
        self.day = 0

    def record(self, name: str, content: str, *, by: str = "R. Okonjo", file: str = "profile.yaml") -> str:
        """Record one file of a machine, one day after the one before; the short id."""
        self.day += 1
        change = Change(
            files={f"{name}/{file}": content.encode()},
            message=f"as-left {name}",
            author=Author(name=by, email="not given"),
            at=START + timedelta(days=self.day),
            trailers={"Kind": "as-left", "Machine": name, "By": by},
        )
        return self.store.write(change)[:8]

    def record_all(self, *names: str, **about: str) -> None:
        for name in names:
            self.record(name, text(name, **about))


@pytest.fixture
def shops(tmp_path: Path) -> Iterator[Shops]:
    made = Shops(tmp_path / "store")
    yield made
    made.store.close()


@pytest.fixture
def five_saws(shops: Shops) -> Shops:
    shops.record_all("quayside/saw-1", "quayside/saw-2", "hilltop/saw-1", "station/saw-1")
    shops.record("millrace/saw-1", text("millrace/saw-1", unit="in", backlash="0.030"), by="A. Lund")
    return shops


def row(comparison: Comparison, setting: str = BACKLASH) -> Row:
    return next(r for c in comparison.classes for r in c.rows if r.setting == setting)


def test_the_inch_for_millimetre_slip_of_one_saw_is_found_with_since_when_and_by_whom(five_saws: Shops) -> None:
    five_saws.record("millrace/saw-1", text("millrace/saw-1", unit="in", backlash="0.0300", note="seen"), by="K. Ode")

    found = row(compare_machines(five_saws.opened))

    assert found.at_odds == ("millrace/saw-1",)
    held = found.of("millrace/saw-1")
    assert held is not None
    assert held.hint == "looks like 0.0300 in keyed for 0.03 mm"
    since = found.since["millrace/saw-1"]
    assert (since.by, since.at, since.kind, since.at_least) == (
        "A. Lund", START + timedelta(days=5), "as-left", False,
    )  # fmt: skip


def test_a_value_that_went_and_came_back_stands_since_it_came_back(five_saws: Shops) -> None:
    name = "station/saw-1"
    for value in ("0.09", "0.03"):
        five_saws.record(name, text(name, backlash=value))
    back = five_saws.record(name, text(name, backlash="0.09"), by="A. Lund")

    assert row(compare_machines(five_saws.opened)).since[name].snapshot == back


def test_a_history_not_followed_to_its_end_gives_at_least(five_saws: Shops) -> None:
    name = "millrace/saw-1"
    for note in "abcd":
        five_saws.record(name, text(name, unit="in", backlash="0.030", note=note))

    short = row(compare_machines(five_saws.opened, look_back=3)).since[name]
    whole = row(compare_machines(five_saws.opened, look_back=5)).since[name]

    assert (short.at_least, short.at) == (True, START + timedelta(days=7))
    assert (whole.at_least, whole.at) == (False, START + timedelta(days=5))


def test_behind_a_record_that_cannot_be_read_a_value_may_have_stood_longer(five_saws: Shops) -> None:
    name = "millrace/saw-1"
    five_saws.record(name, "profile: 9\n")
    since = five_saws.record(name, text(name, unit="in", backlash="0.030"))

    found = row(compare_machines(five_saws.opened)).since[name]

    assert (found.snapshot, found.at_least) == (since, True)


def test_a_renumbered_tool_keeps_its_history(shops: Shops) -> None:
    def tools(number: str, speed: int) -> str:
        return f"{{'{number}': {{id: k7mq2fzd, name: disc 350, speed: {speed}}}}}"

    for name in ("quayside/saw-1", "quayside/saw-2"):
        shops.record(name, text(name, tools="{'4': {name: disc 350, speed: 2200}}"))
    shops.record("hilltop/saw-1", text("hilltop/saw-1", tools=tools("7", 2200)))
    changed = shops.record("hilltop/saw-1", text("hilltop/saw-1", tools=tools("7", 2900)))
    shops.record("hilltop/saw-1", text("hilltop/saw-1", tools=tools("21", 2900)))

    found = row(compare_machines(shops.opened), "/tools/disc 350/speed")

    assert found.pointers["hilltop/saw-1"] == "/tools/21/speed"
    assert found.since["hilltop/saw-1"].snapshot == changed


def test_since_when_is_looked_up_for_so_many_machines_only_and_it_is_said(shops: Shops) -> None:
    shops.record_all("quayside/saw-1", "quayside/saw-2", "quayside/saw-3")
    shops.record_all("hilltop/saw-1", backlash="0.5")
    shops.record_all("hilltop/saw-2", backlash="0.6")

    found = compare_machines(shops.opened, walks=1)

    assert set(row(found).since) == {"hilltop/saw-1"}
    assert found.notes == ("since when was looked up for 1 machines; 1 more are at odds: name fewer machines",)


def test_machines_and_shops_can_be_named(five_saws: Shops) -> None:
    found = compare_machines(five_saws.opened, ("quayside", "millrace/saw-1"))

    assert found.classes[0].machines == ("millrace/saw-1", "quayside/saw-1", "quayside/saw-2")


def test_a_record_that_cannot_be_read_is_named_and_stops_nobody(five_saws: Shops) -> None:
    five_saws.record("hilltop/saw-2", "profile: 9\n")

    found = compare_machines(five_saws.opened)

    assert list(found.unreadable) == ["hilltop/saw-2"]
    assert "version 9" in found.unreadable["hilltop/saw-2"]
    assert row(found).at_odds == ("millrace/saw-1",)


def test_a_disputed_value_is_not_judged(five_saws: Shops) -> None:
    candidate = f"{{value: 0.05 mm, snapshot: {five_saws.store.head}}}"
    disputes = f"disputes: 1\nsettings:\n  {BACKLASH}: [{candidate}]\n"
    five_saws.record("quayside/saw-2", disputes, file="disputes.yaml")

    held = row(compare_machines(five_saws.opened)).of("quayside/saw-2")

    assert held is not None
    assert held.state is State.DISPUTED


def test_what_is_kept_by_content_is_what_is_compared(five_saws: Shops) -> None:
    store = five_saws.store
    compare_machines(five_saws.opened)
    blob = store.list_files()["millrace/saw-1/profile.yaml"]
    other = read_profile(strict_yaml.loads(text("millrace/saw-1"), source="x"), source="x")

    store.cache.put_values({blob: dumps(columns_of(other))}, columns_version())

    assert row(compare_machines(five_saws.opened)).verdict is Verdict.ALL_AGREE


@pytest.mark.parametrize("spoil", [lambda data: b"", lambda data: data[:-3], lambda data: b"\xff" * len(data)])
def test_kept_columns_that_are_damaged_are_worked_out_anew(five_saws: Shops, spoil: Callable[[bytes], bytes]) -> None:
    store = five_saws.store
    before = compare_machines(five_saws.opened)
    blobs = [blob for path, blob in store.list_files().items() if path.endswith("/profile.yaml")]
    kept = store.cache.get_values(blobs, columns_version())
    store.cache.put_values({blob: spoil(data) for blob, data in kept.items()}, columns_version())

    assert compare_machines(five_saws.opened) == before
    assert store.cache.get_values(blobs, columns_version()) == kept


def test_a_store_without_its_index_compares_the_same(five_saws: Shops) -> None:
    before = compare_machines(five_saws.opened)
    five_saws.store.cache.drop_values(columns_version())

    assert compare_machines(five_saws.opened) == before


@pytest.mark.parametrize(
    ("asked", "error", "words"),
    [
        ({"names": ("quaysid",)}, UnknownName, "did you mean quayside"),
        ({"settings": ("axes",)}, UsageError, "starts with /"),
        ({"settings": ("/axes/Q",)}, UsageError, "no machine records /axes/Q"),
        ({"settings": ("/tools/21/speed",)}, UsageError, "a tool goes by its name"),
        ({"unit": "cm"}, UsageError, "choose mm or in"),
        ({"include": ("mine",)}, UsageError, "agrees within, own, wears"),
        ({"machine_class": "lathe"}, UsageError, "no machine is of the class lathe"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(
    five_saws: Shops, asked: dict[str, tuple[str, ...]], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        compare_machines(five_saws.opened, **asked)  # type: ignore[arg-type]  # a table of several arguments


def test_only_the_settings_asked_for_are_shown(five_saws: Shops) -> None:
    found = compare_machines(five_saws.opened, settings=("/axes/*/backlash",))

    assert [r.setting for c in found.classes for r in c.rows] == [BACKLASH]


def test_an_empty_store_compares_nothing(shops: Shops) -> None:
    assert compare_machines(shops.opened).classes == ()


def test_json_says_everything_as_text(five_saws: Shops) -> None:
    data = json.loads(json.dumps(to_json(compare_machines(five_saws.opened, unit="in"))))

    sisters = data["classes"][0]
    found = next(s for s in sisters["settings"] if s["setting"] == BACKLASH)
    assert (data["unit"], sisters["class"], found["verdict"], found["shared"]) == ("in", SAW, "some deviate", "0.03 mm")
    odd = found["values"][-1]
    assert (odd["value"], odd["machines"], odd["difference"]) == ("0.030 in", ["millrace/saw-1"], "≈ +0.02882 in")
    assert found["since"]["millrace/saw-1"]["by"] == "A. Lund"


def test_csv_has_a_line_for_each_setting_and_a_column_for_each_machine(five_saws: Shops) -> None:
    five_saws.record("quayside/centre-1", text("quayside/centre-1", sort="work centre"))

    lines = list(csv.DictReader(io.StringIO(to_csv(compare_machines(five_saws.opened)))))

    line = next(x for x in lines if x["class"] == SAW and x["setting"] == BACKLASH)
    assert (line["millrace/saw-1"], line["station/saw-1"], line["quayside/centre-1"]) == ("0.030 in", "0.03 mm", "")
    assert line["slips"] == "millrace/saw-1: looks like 0.030 in keyed for 0.03 mm"


@pytest.mark.parametrize(
    ("shown", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
        ("-2+3", "'-2+3"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("-330.4 mm", "-330.4 mm"),
        ("+0.02882 in", "+0.02882 in"),
        ("-45.00°", "-45.00°"),
        ("-5", "-5"),
        ("-A1", "'-A1"),
        ("-", "'-"),
        ("M30", "M30"),
        ("", ""),
    ],
)
def test_no_text_runs_as_a_formula_and_numbers_stay_numbers(shown: str, written: str) -> None:
    assert _safe(shown) == written
