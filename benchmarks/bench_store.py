"""Bars for the store, each a ratio between two things measured side by side on this computer.

One line a ratio: name, value, bar, what it was worked out from. Exit code 1 when a bar is missed.

    python benchmarks/bench_store.py [FOLDER]

FOLDER is where the stores are made (default: the system's temporary folder); use a folder on the disk
that counts, since a snapshot waits for the disk and a memory disk does not.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from profilekeeper.store import Author, Change, Store

ADA = Author(name="Ada", email="ada@quayside.invalid")
NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
PROFILE = "".join(f"setting_{n}: {n * 1.5:.3f}\n" for n in range(350)).encode()  # 7 KB, as a profile is
MACHINES_A_SHOP = 25
ROUNDS = 31


def path_of(machine: int) -> str:
    return f"shop-{machine // MACHINES_A_SHOP:03d}/saw-{machine % MACHINES_A_SHOP}/profile.yaml"


def change(machine: int, n: int) -> Change:
    data = PROFILE + f"reading: {n}.{machine}\n".encode()
    at = NOON + timedelta(seconds=n)
    trailers = {"Kind": "as-found", "Machine": path_of(machine).rsplit("/", 1)[0]}
    return Change(files={path_of(machine): data}, message="as-found", author=ADA, at=at, trailers=trailers)


def fleet(folder: Path, machines: int, more: Iterable[Change] = ()) -> Store:
    store = Store.start(folder, {"store.yaml": b"id: 1\n"}, message="Start", author=ADA, at=NOON)
    store.write_history(change(machine, 0) for machine in range(machines))
    store.write_history(more)
    store.settle()
    return store


def median_ms(act: Callable[[int], object], rounds: int = ROUNDS) -> float:
    act(1)
    times = []
    for n in range(2, rounds + 2):
        began = time.perf_counter()
        act(n)
        times.append((time.perf_counter() - began) * 1000)
    return statistics.median(times)


def interleaved_ms(*acts: Callable[[int], object], rounds: int = ROUNDS) -> list[float]:
    """Medians of acts done in turn, so that a noisy minute falls on all of them alike."""
    times: list[list[float]] = [[] for _ in acts]
    for n in range(1, rounds + 1):
        for act, spent in zip(acts, times, strict=True):
            began = time.perf_counter()
            act(n)
            if n > 1:
                spent.append((time.perf_counter() - began) * 1000)
    return [statistics.median(spent) for spent in times]


def plain_git(folder: Path) -> Callable[[int], object]:
    """The same file recorded by `git add` and `git commit`, as they come."""
    named = {f"GIT_{who}_{what}": "ada@quayside" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
    surroundings = {**os.environ, **named}

    def record(n: int) -> None:
        (folder / path_of(1)).write_bytes(PROFILE + b"by git: %d\n" % n)
        for arguments in (["add", path_of(1)], ["commit", "-q", "-m", "as-found"]):
            subprocess.run(["git", "-C", str(folder), *arguments], env=surroundings, check=True)

    return record


def against_plain_git(base: Path) -> Iterator[tuple[str, float, float, str]]:
    with fleet(base / "ours", 1000) as ours, fleet(base / "plain", 1000) as plain:
        plain.close()
        store_ms, settled_ms, git_ms = interleaved_ms(
            lambda n: ours.write(change(1, n)),
            lambda n: (ours.write(change(2, n)), ours.settle()),
            plain_git(plain.folder),
        )
    said = f"{store_ms:.1f} ms against {git_ms:.1f} ms, 1,000 machines"
    yield "a snapshot / git add + git commit", store_ms / git_ms, 2.0, said
    said = f"{settled_ms:.1f} ms against {git_ms:.1f} ms, git's index brought up to date as well"
    yield "a snapshot with its index / git add + git commit", settled_ms / git_ms, 2.0, said


def among_many(base: Path) -> Iterator[tuple[str, float, float, str]]:
    with fleet(base / "few", 10) as few, fleet(base / "many", 10_000) as many:
        few_ms, many_ms = interleaved_ms(lambda n: few.write(change(1, n)), lambda n: many.write(change(1, n)))
        yield "a snapshot among 10,000 / among 10", many_ms / few_ms, 1.3, f"{many_ms:.1f} ms against {few_ms:.1f} ms"

        def command(folder: Path) -> Callable[[int], object]:
            return lambda n: subprocess.run([sys.executable, __file__, "--one", str(folder), str(n)], check=True)

        few.close()
        many.close()
        few_ms, many_ms = interleaved_ms(command(few.folder), command(many.folder), rounds=16)
        said = f"{many_ms:.0f} ms against {few_ms:.0f} ms, as a whole program that closes the store"
        yield "one program, among 10,000 / among 10", many_ms / few_ms, 1.3, said


def histories(base: Path) -> Iterator[tuple[str, float, float, str]]:
    def more(count: int) -> Iterator[Change]:
        return (change(n % 100, n) for n in range(1, count))

    with fleet(base / "short", 100, more(500)) as short, fleet(base / "long", 100, more(10_000)) as long:
        for store in (short, long):
            list(store.history(path_of(1), limit=1))
        short_ms, long_ms = interleaved_ms(
            lambda n: list(short.history(path_of(1), limit=10)), lambda n: list(long.history(path_of(1), limit=10))
        )
        said = f"{long_ms:.2f} ms against {short_ms:.2f} ms, the last ten of one machine, index warm"
        yield "history in 10,000 snapshots / in 500", long_ms / short_ms, 2.0, said
        git_ms = median_ms(
            lambda n: subprocess.run(
                ["git", "-C", str(long.folder), "log", "--format=%H", "--", path_of(1)],
                check=True, stdout=subprocess.DEVNULL,
            ), 11,
        )  # fmt: skip
        whole_ms = median_ms(lambda n: list(long.history(path_of(1))), 11)
        said = f"{whole_ms:.1f} ms against {git_ms:.1f} ms, all of one machine in 10,000 snapshots"
        yield "history of a machine / git log -- path", whole_ms / git_ms, 1.0, said


def reading(base: Path) -> Iterator[tuple[str, float, float, str]]:
    with fleet(base / "read", 1000) as store:
        paths = [path_of(machine) for machine in range(1000)]
        files_ms = median_ms(lambda n: [(store.folder / path).read_bytes() for path in paths], 7)
        store_ms = median_ms(lambda n: list(store.read_many((None, path) for path in paths)), 7)
    said = f"{store_ms:.0f} ms against {files_ms:.0f} ms, 1,000 profiles"
    yield "reading from the history / plain files", store_ms / files_ms, 20.0, said


def one_program(folder: str, n: int) -> None:
    """What one command of a person does: start Python, open, record, close."""
    with Store.open(folder) as store:
        store.write(change(3, n))


def main(folder: str | None) -> int:
    missed = 0
    with tempfile.TemporaryDirectory(dir=folder) as made:
        for bars in (against_plain_git, among_many, histories, reading):
            for name, ratio, bar, said in bars(Path(made) / bars.__name__):
                verdict = "holds" if ratio <= bar else "MISSED"
                missed += ratio > bar
                print(f"{verdict:7} {name:50} {ratio:6.2f} (bar {bar:g})  {said}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one_program(sys.argv[2], int(sys.argv[3]))
    else:
        sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else None))
