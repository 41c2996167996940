"""Whatever breaks off a write, nothing acknowledged is lost and nothing stops the next snapshot."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from profilekeeper.store import Author, Change, Store
from profilekeeper.store.failpoints import STEPS, VARIABLE
from profilekeeper.store.integrity import check_integrity

PROFILE = "quayside/saw-2/profile.yaml"
WORKER = Path(__file__).with_name("worker.py")
ROOT = Path(__file__).parents[2]
AFTER_THE_BRANCH_MOVED = STEPS[STEPS.index("after-ref") :]
BEFORE_IT_MOVED = STEPS[: STEPS.index("after-done")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a broken-off worker had acknowledged, and the error it told of."""

    revisions: list[str]
    error: str
    code: int


def start_worker(
    folder: Path, count: int, *, machine: str = "saw-2", failpoint: str = "", settle: bool = False
) -> subprocess.Popen[str]:
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    if failpoint:
        surroundings[VARIABLE] = failpoint
    return subprocess.Popen(
        [sys.executable, str(WORKER), str(folder), machine, str(count), *(["settle"] if settle else [])],
        env=surroundings,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def outcome_of(worker: subprocess.Popen[str]) -> Outcome:
    out, _ = worker.communicate(timeout=60)
    lines = [line for line in out.splitlines() if line != "ready"]
    revisions = [line for line in lines if len(line) == 40]
    error = next((line for line in lines if line.startswith("error")), "")
    if error.startswith("error FileBehind"):
        revisions.append(error.split()[2])
    return Outcome(revisions=revisions, error=error, code=worker.returncode)


def assert_whole(folder: Path, acknowledged: list[str], change: Change) -> None:
    """Opened again: whole, nothing acknowledged missing, and the next snapshot goes in without delay."""
    with Store.open(folder) as store:
        began = time.monotonic()
        revision = store.write(change)
        took_s = time.monotonic() - began
        recorded = {entry.revision for entry in store.history()}
        assert {*acknowledged, revision} <= recorded
        assert store.settle(), "git's index is free again"
        assert check_integrity(store) == ()
        assert took_s < 4, "a lock left behind is waited for one second, never longer"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one snapshot, to be copied."""
    folder = tmp_path_factory.mktemp("crash") / "template"
    ada, noon = Author(name="Ada", email="ada@quayside.invalid"), datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
    with Store.start(folder, {"store.yaml": b"id: 1\n"}, message="Start", author=ada, at=noon) as store:
        store.write(Change(files={PROFILE: b"0\n"}, message="as-found", author=ada, at=noon))
    return folder


def break_at(template: Path, folder: Path, failpoint: str) -> tuple[Outcome, str]:
    shutil.copytree(template, folder)
    outcome = outcome_of(start_worker(folder, 2, failpoint=failpoint))
    with Store.open(folder) as store:
        return outcome, store.head


SHORT = [(step, "kill") for step in STEPS]
SHORT += [(step, "enospc") for step in ("after-feed", "inside-journal", "after-stage", "after-files")]
LONG = [(step, action) for step in STEPS for action in ("killgroup", "eio", "kill", "enospc")]


@pytest.mark.parametrize(("step", "action"), SHORT, ids=[f"{step}-{action}" for step, action in SHORT])
def test_a_write_broken_off_at_any_step(
    template: Path, tmp_path: Path, change: Callable[..., Change], step: str, action: str
) -> None:
    check_step(template, tmp_path / "fleet", change, step, action)


@pytest.mark.soak
@pytest.mark.parametrize(("step", "action"), LONG, ids=[f"{step}-{action}" for step, action in LONG])
def test_a_write_broken_off_at_any_step_in_any_way(
    template: Path, tmp_path: Path, change: Callable[..., Change], step: str, action: str
) -> None:
    for n in range(3):
        check_step(template, tmp_path / f"fleet-{n}", change, step, action)


def check_step(template: Path, folder: Path, change: Callable[..., Change], step: str, action: str) -> None:
    with Store.open(template) as store:
        before = store.head

    outcome, head = break_at(template, folder, f"{step}:{action}")

    assert outcome.code == (-signal.SIGKILL if action.startswith("kill") else 0), "the step was reached"
    if step in BEFORE_IT_MOVED:
        assert (outcome.revisions, head) == ([], before), "nothing may be recorded yet"
    if step in BEFORE_IT_MOVED and not action.startswith("kill"):
        assert outcome.error.split()[1] == {"enospc": "DiskFull", "eio": "DiskFailed"}[action]
    if step in ("after-ref", "after-stage", "after-replace", "after-files", "after-todo") and not outcome.code:
        assert outcome.error.startswith("error FileBehind") or step == "after-ref"
    if step in AFTER_THE_BRANCH_MOVED:
        assert head != before, "the branch had moved: the snapshot counts"
    with Store.open(folder) as store:
        assert (folder / PROFILE).read_bytes() == store.read(PROFILE), "the file follows when the store is opened"
    assert_whole(folder, outcome.revisions, change(b"after\n"))


def kill_at_random(folder: Path, rounds: int, seed: int, change: Callable[..., Change]) -> dict[str, int]:
    """Kill a worker again and again, the process group in every other round; how many of each."""
    chance = random.Random(seed)
    acknowledged: list[str] = []
    counts = {"group": 0, "alone": 0, "journals": 0, "locks": 0, "index locks": 0}
    usual_s = seconds_for_three(folder)
    for number in range(rounds):
        worker = start_worker(folder, 1000, settle=number % 4 > 1)
        assert worker.stdout is not None
        assert worker.stdout.readline() == "ready\n"
        time.sleep(chance.uniform(0.2, 1.5) * usual_s)
        if number % 2:
            os.killpg(worker.pid, signal.SIGKILL)
        else:
            worker.kill()
        counts["group" if number % 2 else "alone"] += 1
        acknowledged += outcome_of(worker).revisions
        counts["journals"] += (folder / ".git/profilekeeper/journal").exists()
        counts["locks"] += any(folder.glob(".git/**/*.lock"))
        counts["index locks"] += (folder / ".git/index.lock").exists()
        if number % 10 == 9:
            assert_whole(folder, acknowledged, change(b"%d\n" % number))
        else:
            assert_usable(folder, acknowledged[-1:], change(b"%d\n" % number))
    assert_whole(folder, acknowledged, change(b"end\n"))
    return {**counts, "acknowledged": len(acknowledged)}


def seconds_for_three(folder: Path) -> float:
    """How long three snapshots take here and now, so that kills fall among them on any computer."""
    worker = start_worker(folder, 3)
    assert worker.stdout is not None
    worker.stdout.readline()
    began = time.monotonic()
    outcome_of(worker)
    return time.monotonic() - began


def assert_usable(folder: Path, acknowledged: list[str], change: Change) -> None:
    """The quick part of `assert_whole`, after every kill: nothing hinders, and the last one is there."""
    with Store.open(folder) as store:
        revision = store.write(change)
        assert (folder / PROFILE).read_bytes() == store.read(PROFILE)
        assert all(store.is_ancestor(old, revision) for old in acknowledged)


def test_kills_at_random_instants(template: Path, tmp_path: Path, change: Callable[..., Change]) -> None:
    shutil.copytree(template, tmp_path / "fleet")

    counts = kill_at_random(tmp_path / "fleet", 6, 1, change)

    assert counts["acknowledged"] > 0


@pytest.mark.soak
def test_three_hundred_kills_at_random_instants(template: Path, tmp_path: Path, change: Callable[..., Change]) -> None:
    shutil.copytree(template, tmp_path / "fleet")

    counts = kill_at_random(tmp_path / "fleet", 300, 2, change)

    print(counts)
    assert counts["acknowledged"] > 150


def test_two_processes_wait_for_each_other(template: Path, tmp_path: Path) -> None:
    writers_at_once(template, tmp_path / "fleet", writers=3, snapshots=5)


@pytest.mark.soak
def test_eight_processes_wait_for_each_other(template: Path, tmp_path: Path) -> None:
    writers_at_once(template, tmp_path / "fleet", writers=8, snapshots=25)


def writers_at_once(template: Path, folder: Path, *, writers: int, snapshots: int) -> None:
    shutil.copytree(template, folder)
    workers = [start_worker(folder, snapshots, machine=f"saw-{n}") for n in range(3, 3 + writers)]
    outcomes = [outcome_of(worker) for worker in workers]

    assert [outcome.error for outcome in outcomes] == [""] * writers
    acknowledged = [revision for outcome in outcomes for revision in outcome.revisions]
    assert len(set(acknowledged)) == writers * snapshots
    with Store.open(folder) as store:
        entries = list(store.history("quayside"))
        assert {entry.revision for entry in entries} >= set(acknowledged)
        assert len(entries) == writers * snapshots + 1
        assert check_integrity(store) == ()


def test_an_orphaned_git_keeps_the_next_writer_waiting(
    template: Path, tmp_path: Path, change: Callable[..., Change]
) -> None:
    """Python is killed right after it told git to go on: git may still move the branch."""
    shutil.copytree(template, tmp_path / "fleet")
    for _ in range(3):
        outcome_of(start_worker(tmp_path / "fleet", 1, failpoint="after-done:kill"))

        with Store.open(tmp_path / "fleet") as store:
            store.write(change(b"next\n"))
            assert (tmp_path / "fleet" / PROFILE).read_bytes() == b"next\n"


def test_a_hand_edit_after_a_crash_is_not_taken_for_the_crash(
    template: Path, tmp_path: Path, change: Callable[..., Change]
) -> None:
    folder = tmp_path / "fleet"
    shutil.copytree(template, folder)
    outcome_of(start_worker(folder, 1, failpoint="after-ref:kill"))
    (folder / PROFILE).write_bytes(b"by hand\n")

    with Store.open(folder) as store:
        assert (folder / PROFILE).read_bytes() == b"by hand\n"
        assert [trouble.kind for trouble in check_integrity(store)] == ["edited"]


def test_failpoints_do_nothing_unless_switched_on(store: Store, change: Callable[..., Change]) -> None:
    from profilekeeper.store import failpoints

    for step in STEPS:
        failpoints.reach(step)
    assert failpoints._ARMED == ("",)
    store.write(change())
