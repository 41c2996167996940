"""History: of a machine, of a span of time, of a fleet whose clocks are wrong; from git and from the index."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from profilekeeper.store import Change, Entry, Store
from profilekeeper.store.history import read_log, selected

PROFILE = "quayside/saw-2/profile.yaml"
Changes = Callable[..., Change]


def by_git(store: Store, prefix: str = "", **limits: object) -> list[Entry]:
    log = read_log(store.parts[1], store.head)
    return list(selected(log, prefix, limits.get("limit"), limits.get("since"), limits.get("until")))  # type: ignore[arg-type]


@pytest.fixture
def fleet(store: Store, change: Changes) -> Store:
    store.write_history(
        change(b"%d\n" % n, n=n, path=f"{('quayside', 'millrace')[n % 2]}/saw-{n % 6}/profile.yaml") for n in range(60)
    )
    return store


@pytest.mark.parametrize(
    "prefix", ["", "quayside", "quayside/saw-2", PROFILE, "millrace", "store.yaml", "nowhere", "quay"]
)
def test_index_and_git_tell_the_same_history(fleet: Store, prefix: str) -> None:
    assert list(fleet.history(prefix)) == by_git(fleet, prefix)


def test_a_span_of_time_counts_both_ends(fleet: Store, change: Changes) -> None:
    since, until = change(n=10).at, change(n=20).at

    for entries in (list(fleet.history(since=since, until=until)), by_git(fleet, since=since, until=until)):
        assert [entry.message for entry in entries] == [f"as-found {n}" for n in range(20, 9, -1)]


def test_a_limit_counts_what_is_asked_for(fleet: Store) -> None:
    for entries in (list(fleet.history("quayside/saw-2", limit=3)), by_git(fleet, "quayside/saw-2", limit=3)):
        assert [entry.message for entry in entries] == ["as-found 56", "as-found 50", "as-found 44"]
    assert list(fleet.history(limit=0)) == []


def test_a_history_can_end_at_an_older_snapshot(fleet: Store) -> None:
    older = next(entry for entry in fleet.history() if entry.message == "as-found 30").revision

    entries = list(fleet.history("quayside/saw-2", revision=older))

    assert [entry.message for entry in entries] == [f"as-found {n}" for n in (26, 20, 14, 8, 2)]


def test_the_latest_snapshot_of_each(fleet: Store, tmp_path: Path) -> None:
    wanted = ["quayside/saw-2", "millrace", PROFILE, "nowhere"]
    expected = {"quayside/saw-2": "as-found 56", "millrace": "as-found 59", PROFILE: "as-found 56"}

    assert {key: entry.message for key, entry in fleet.latest_of(wanted).items()} == expected
    fleet.cache.latest_of = lambda *_: None  # type: ignore[method-assign]
    assert {key: entry.message for key, entry in fleet.latest_of(wanted).items()} == expected


def test_a_clock_that_was_wrong_never_puts_a_snapshot_before_its_parent(store: Store, change: Changes) -> None:
    minutes = [0, 50, 10, 60, 5]
    revisions = store.write_history(change(b"%d\n" % n, n=n) for n in minutes)

    assert [entry.revision for entry in store.history(PROFILE)] == revisions[::-1]
    assert [entry.revision for entry in by_git(store, PROFILE)] == revisions[::-1]


def test_the_index_follows_new_snapshots(store: Store, change: Changes) -> None:
    for n in range(4):
        store.write(change(b"%d\n" % n, n=n))
        assert [entry.message for entry in store.history(PROFILE)] == [f"as-found {m}" for m in range(n, -1, -1)]


def test_the_index_forgets_a_history_that_was_taken_back(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    first = store.write(change(b"1\n"))
    store.write(change(b"2\n", n=1))
    assert len(list(store.history(PROFILE))) == 2
    store.settle()
    plain_git(store.folder, "reset", "-q", "--hard", first)

    assert [entry.revision for entry in store.history(PROFILE)] == [first]


@pytest.mark.parametrize("damage", ["garbage", "empty", "other form", "hostile form", "folder", "half", "zeros"])
def test_a_damaged_index_is_made_anew_or_done_without(fleet: Store, damage: str) -> None:
    expected = by_git(fleet, "quayside")
    path = fleet.parts[0].own / "cache.sqlite"
    assert list(fleet.history("quayside")) == expected
    fleet.close()
    data = path.read_bytes()
    if damage == "garbage":
        path.write_bytes(b"not an index" * 1000)
    elif damage == "empty":
        path.write_bytes(b"")
    elif damage == "half":
        path.write_bytes(data[: len(data) // 2])
    elif damage == "zeros":
        path.write_bytes(data[:4096] + bytes(len(data) - 4096))
    elif damage == "folder":
        path.unlink()
        path.mkdir()
    else:
        other = sqlite3.connect(path)
        trigger = "CREATE TRIGGER t AFTER INSERT ON meta BEGIN SELECT 1; END"
        other.execute("CREATE TABLE t (x)" if damage == "other form" else trigger)
        other.close()

    with Store.open(fleet.folder) as again:
        assert list(again.history("quayside")) == expected


def test_an_index_that_breaks_while_it_is_read_is_left_for_git(store: Store, change: Changes) -> None:
    revisions = store.write_history(change(b"%d\n" % n, n=n) for n in range(1500))
    list(store.history())
    store.close()
    path = store.parts[0].own / "cache.sqlite"

    with Store.open(store.folder) as again:
        entries = again.history(PROFILE)
        told = [next(entries).revision]
        size = path.stat().st_size
        with path.open("r+b") as file:
            file.seek(4096)
            file.write(bytes(size - 4096))
        told += [entry.revision for entry in entries]

    assert told == revisions[::-1]


def test_a_locked_index_is_done_without(fleet: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("profilekeeper.store.cache._WAIT_S", 0.1)
    list(fleet.history())
    fleet.close()
    holder = sqlite3.connect(fleet.parts[0].own / "cache.sqlite", isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    try:
        with Store.open(fleet.folder) as again:
            assert list(again.history("quayside")) == by_git(again, "quayside")
    finally:
        holder.close()


def test_values_are_kept_by_content_and_version(fleet: Store) -> None:
    blob, other = fleet.blob_id(PROFILE), fleet.blob_id("store.yaml")
    assert blob is not None
    assert other is not None
    fleet.cache.put_values({blob: b"\0worked out"}, "settings 1")
    fleet.close()

    with Store.open(fleet.folder) as again:
        assert again.cache.get_values([blob, other], "settings 1") == {blob: b"\0worked out"}
        assert again.cache.get_values([blob], "settings 2") == {}
        again.cache.drop_values("settings 1")
        assert again.cache.get_values([blob], "settings 1") == {}


def test_a_damaged_value_is_not_given_out(fleet: Store) -> None:
    blob = fleet.blob_id(PROFILE)
    assert blob is not None
    fleet.cache.put_values({blob: b"length 212.730"}, "1")
    fleet.close()
    base = sqlite3.connect(fleet.parts[0].own / "cache.sqlite")
    with base:
        base.execute("UPDATE contents SET data = ?", (b"length 112.730",))
    base.close()

    with Store.open(fleet.folder) as again:
        assert again.cache.get_values([blob], "1") == {}


def test_a_history_being_read_is_not_disturbed_by_new_snapshots(fleet: Store, change: Changes) -> None:
    entries = fleet.history()
    first = next(entries)
    fleet.write(change(b"new\n", n=99))

    rest = list(entries)

    told = [first.message, *(entry.message for entry in rest)]
    assert told == [*(f"as-found {n}" for n in range(59, -1, -1)), "Start"]


LIST = """
import sys
from profilekeeper.store import Store
def memory_kb(what):
    return next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith(what))
anonymous = 0
with Store.open(sys.argv[1]) as store:
    for count, _ in enumerate(store.history(), 1):
        anonymous = anonymous if count % 500 else max(anonymous, memory_kb("RssAnon"))
print(count, memory_kb("VmHWM") // 1024, anonymous // 1024)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory from /proc")
@pytest.mark.parametrize("snapshots", [2_000, pytest.param(10_000, marks=pytest.mark.soak)])
def test_many_snapshots_are_listed_in_little_memory(store: Store, change: Changes, snapshots: int) -> None:
    def many() -> Iterator[Change]:
        for n in range(snapshots):
            yield change(b"length: %d\n" % n * 20, n=n, path=f"quayside/saw-{n % 50}/profile.yaml")

    store.write_history(many())
    store.close()

    for _ in ("cold", "warm"):
        done = subprocess.run(
            [sys.executable, "-c", LIST, str(store.folder)],
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        count, peak_mb, anonymous_mb = map(int, done.stdout.split())
        assert count == snapshots + 1
        assert 0 < anonymous_mb <= peak_mb
        assert peak_mb < 150, "the greatest resident size, files mapped in included"


def test_times_keep_their_zone(store: Store, change: Changes) -> None:
    from datetime import timezone

    at = change().at.astimezone(timezone(-timedelta(hours=3, minutes=30)))
    store.write(change(at=at))

    assert next(store.history(PROFILE)).at.isoformat() == at.isoformat()
