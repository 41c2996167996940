"""Comparing 50 settings of many machines: from kept columns, against reading every machine's record anew.

    python benchmarks/bench_compare.py [--machines 1000] [--bar 20]

A store of invented machines is made in a temporary folder. Both ways read the latest content of every machine;
the bar is on their ratio, since absolute times belong to one computer. Exit code 1 below the bar.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from timing import Bars, medians

from profilekeeper.actions.comparing import compare_machines
from profilekeeper.actions.opened import Opened
from profilekeeper.fleet.rows import Comparison
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.store import Author, Change, Store

AUTHOR = Author(name="bench", email="bench@example.invalid")
START = datetime(2026, 1, 5, 7, 0, tzinfo=UTC)
SETTINGS = (
    "/axes/*/backlash", "/axes/*/rapid", "/axes/*/acceleration", "/axes/*/travel", "/axes/*/reference/per_motor_turn",
    "/head/pivot_to_gauge_line", "/head/spindle_level_at", "/head/spindle_down_at", "/spindles/main", "/slab",
    "/control_pages/service/settings", "/tools/calibrating disc 1/marked_speed", "/tools/calibrating disc 2/seat",
)  # fmt: skip


def main() -> int:
    """Print both times and their ratio; 1 below the bar."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--machines", type=int, default=1000)
    parser.add_argument("--bar", type=float, default=20.0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, filled_store(Path(folder) / "store", asked.machines) as store:
        return report(store, asked.machines, asked.bar)


def report(store: Store, machines: int, bar: float) -> int:
    opened = Opened(store=store)
    began = time.perf_counter()
    result = compared(opened)
    first_s = time.perf_counter() - began
    warm_s, opened_s, anew_s = medians(
        3, lambda: compared(opened), lambda: as_a_command(store), lambda: read_anew(store)
    )
    shown = sum(len(c.rows) for c in result.classes)
    print(f"{machines} machines, {shown} settings compared, {len(result.deviations)} at odds")
    print(f"first comparison, which keeps the columns: {first_s:.2f} s; with the store opened for it: {opened_s:.3f} s")
    bars = Bars()
    bars.at_least("comparing from kept columns, against reading every record anew", warm_s, anew_s, bar)
    return 1 if bars.missed else 0


def compared(opened: Opened) -> Comparison:
    return compare_machines(opened, settings=SETTINGS)


def as_a_command(store: Store) -> Comparison:
    """The comparison as the command makes it: the store opened for it, and closed."""
    with Store.open(store.folder) as again:
        return compared(Opened(store=again))


def read_anew(store: Store) -> list[Profile]:
    """Every machine's record, read the plain way."""
    files = store.list_files()
    chosen = [(path, blob) for path, blob in files.items() if path.endswith("/profile.yaml")]
    contents = store.read_blobs(blob for _, blob in chosen)
    return [
        read_profile(strict_yaml.loads(data, source=path), source=path)
        for (path, _), data in zip(chosen, contents, strict=True)
    ]


def filled_store(folder: Path, machines: int) -> Store:
    first = {"store.yaml": b"store: 1\nid: bench\n"}
    store = Store.start(folder, first, message="start", author=AUTHOR, at=START)
    store.write_history(changes(machines))
    return store


def changes(machines: int) -> Iterator[Change]:
    for n in range(machines):
        name = f"shop-{n // 20:04d}/saw-{n % 20}"
        yield Change(
            files={f"{name}/profile.yaml": record(n).encode()},
            message=f"as found {name}",
            author=AUTHOR,
            at=START + timedelta(minutes=n),
            trailers={"Kind": "as-found", "Machine": name, "By": "bench"},
        )


def record(n: int) -> str:
    """An invented saw of about 300 settings; every fifth displays inches, every 95th has a slip in its backlash."""
    inch = n % 5 == 4
    backlash = "0.030" if n % 95 == 14 else ("0.0012" if inch else "0.03")

    def mm(text: str) -> str:
        return f"{text} mm" if inch else text

    axes = "\n".join(_axis(n, k, axis, mm, backlash if axis == "Y" else mm("0.03")) for k, axis in enumerate("XYZ"))
    tools = "\n".join(_tool(n, t, mm) for t in range(1, 16))
    page = "\n".join(f"      P{k}: {{value: {k}.50, unit: bar}}" for k in range(20))
    return f"""profile: 2
machine: {{name: saw-{n % 20}, shop: shop-{n // 20:04d}, class: tilting-head bridge saw, maker: Oddleby}}
units: {{length: {"in" if inch else "mm"}, angle: deg}}
resolution: {{length: {"0.0001" if inch else "0.001"}, angle: 0.01}}
axes:
{axes}
  A: {{kind: tilt, travel: [0, 92], backlash: 0.01}}
head: {{pivot_to_gauge_line: {mm("185.0")}, spindle_level_at: 0, spindle_down_at: 90, swivel_zero_points: +Y}}
spindles: {{main: {{rotation: clockwise, min_speed: 300, max_speed: 6000, ramp_up: 4, ramp_down: 6, hours: {n}}}}}
tables: {{main: {{surface: {mm(f"-330.{n % 100:02d}")}}}}}
slab: {{largest: {{length: {mm("3200")}, width: {mm("1600")}, thickness: {mm("30")}}}, overcut: {mm("2")}}}
tools:
{tools}
control_pages:
  service:
    path: [Service, Page 1]
    settings:
{page}
"""


def _axis(n: int, k: int, axis: str, mm: Callable[[str], str], backlash: str) -> str:
    end, speed = 3000 + 100 * k, (1000, 40) if n % 5 == 4 else (25400, 1016)
    return (
        f"  {axis}: {{kind: linear, travel: [{mm('0')}, {mm(str(end))}], backlash: {backlash}, "
        f"rapid: {speed[0]}, acceleration: {speed[1]}, soft_limits: [{mm(f'-{n % 7}.25')}, {mm(f'{end + n % 9}.5')}], "
        f"reference: {{offset: {mm(f'{n % 13}.41')}, per_motor_turn: {mm('10')}}}}}"
    )


def _tool(n: int, t: int, mm: Callable[[str], str]) -> str:
    return (
        f"  '{t + n % 30}': {{name: calibrating disc {t}, kind: disc, length: {mm(f'{200 + t}.{n % 1000:03d}')}, "
        f"marked_speed: {2400 + t}, speed: {2200 + t}, seat: {mm('32.2')}, sections: ["
        f"{{from: {mm('0')}, to: {mm('70')}, radius: {mm('40')}}}, "
        f"{{from: {mm('70')}, to: {mm('212')}, radius: {mm(str(170 + t))}}}]}}"
    )


if __name__ == "__main__":
    sys.exit(main())
