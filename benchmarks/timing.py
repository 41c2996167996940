"""How the benchmarks measure: alternatives take turns in one run, medians are compared, only ratios are bars."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["Bars", "medians"]


def medians(rounds: int, *actions: Callable[[], object], warm: int = 1) -> list[float]:
    """Median seconds of each action; in every round all of them run once, so that a busy machine hits all alike."""
    taken: list[list[float]] = [[] for _ in actions]
    for number in range(warm + rounds):
        for action, times in zip(actions, taken, strict=True):
            began = time.perf_counter()
            action()
            if number >= warm:
                times.append(time.perf_counter() - began)
    return [statistics.median(times) for times in taken]


@dataclass
class Bars:
    """Ratios with their bars; printed as they come, the exit code says whether all are kept."""

    missed: list[str] = field(default_factory=list)

    def at_most(self, what: str, ours: float, theirs: float, bar: float) -> None:
        """Ours may take at most `bar` times as long as theirs (seconds)."""
        self._tell(what, ours / theirs, f"<= {bar}", ours / theirs <= bar, ours, theirs)

    def at_least(self, what: str, ours: float, theirs: float, bar: float) -> None:
        """Ours is at least `bar` times as fast as theirs (seconds)."""
        self._tell(what, theirs / ours, f">= {bar} x faster", theirs / ours >= bar, ours, theirs)

    def _tell(self, what: str, ratio: float, bar: str, kept: bool, ours: float, theirs: float) -> None:
        verdict = "kept" if kept else "MISSED"
        times = f"{ours * 1e3:.3f} ms against {theirs * 1e3:.3f} ms"
        print(f"{what}: {ratio:.3g} (bar {bar}: {verdict}; {times})", flush=True)
        if not kept:
            self.missed.append(what)

    def leave(self) -> None:
        """End the program: 0 if every bar is kept, else 1."""
        sys.exit(1 if self.missed else 0)
