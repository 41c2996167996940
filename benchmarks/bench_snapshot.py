"""Recording a snapshot, as a library call and as a whole command, against plain git and against `--help`."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from sample import profile_text
from timing import Bars, medians

from profilekeeper.actions.opened import Opened, Person, profile_path, trailers
from profilekeeper.actions.recording import Request, record
from profilekeeper.actions.starting import start
from profilekeeper.store import Change, Store

AT = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)
WHO = Person(name="R. Okonjo")
ROUNDS = 20
_numbers = count(1)

BARE = """\
import typer
app = typer.Typer()
@app.command()
def hello(name: str = "you") -> None:
    "Say hello."
    print("hello", name)
@app.command()
def bye(name: str = "you") -> None:
    "Say goodbye."
    print("bye", name)
app()
"""


def main() -> None:
    """Print the ratios and leave."""
    bars = Bars()
    with tempfile.TemporaryDirectory() as scratch:
        small, middle, large = (_store(Path(scratch) / f"of-{n}", n) for n in (10, 1_000, 10_000))
        plain = _plain_git(Path(scratch) / "plain", middle)
        ours, theirs = medians(ROUNDS, lambda: _record(middle), lambda: _commit(plain), warm=3)
        bars.at_most("snapshot as a library call (parse, check, write) / git add + git commit", ours, theirs, 2.0)
        few, many = medians(ROUNDS, lambda: _record(small), lambda: _record(large), warm=3)
        bars.at_most("a snapshot among 10,000 machines / one among 10", many, few, 1.3)
        _commands(bars, Path(scratch), small)
        for opened in (small, middle, large):
            opened.close()
    bars.leave()


def _store(folder: Path, machines: int) -> Opened:
    start(folder, fleet="bench", person=WHO, at=AT, new_id=lambda: f"id{next(_numbers):08d}")
    opened = Opened(store=Store.open(folder))
    opened.store.write_history(
        Change(
            files={profile_path(f"shop-{n % 40}/saw-{n}"): profile_text(n).encode()},
            message="added",
            author=WHO.author,
            at=AT + timedelta(minutes=n),
            trailers=trailers("added", f"shop-{n % 40}/saw-{n}", WHO, {}),
        )
        for n in range(machines)
    )
    opened.store.settle()
    return opened


def _record(opened: Opened) -> None:
    text = profile_text(7, surface=f"-455.{next(_numbers) % 1000:03d}")
    request = Request(
        machine="shop-7/saw-7",
        text=text,
        kind="as-left",
        person=WHO,
        why="milled",
        at=AT + timedelta(days=30, minutes=next(_numbers)),
        new_id=lambda: "none",
    )
    record(opened, request)


def _plain_git(folder: Path, like: Opened) -> Path:
    """A plain repository with the same files, written by git alone."""
    folder.mkdir()
    for path in like.store.list_files():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(like.store.read(path))
    for arguments in (("init", "-q"), ("add", "."), ("commit", "-q", "-m", "all")):
        _git(folder, *arguments)
    return folder


def _commit(folder: Path) -> None:
    path = "shop-7/saw-7/profile.yaml"
    (folder / path).write_text(profile_text(7, surface=f"-455.{next(_numbers) % 1000:03d}"))
    _git(folder, "add", path)
    _git(folder, "commit", "-q", "-m", "milled")


def _git(folder: Path, *arguments: str) -> None:
    identity = ("-c", "user.name=bench", "-c", "user.email=bench@bench.invalid", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *identity, *arguments], cwd=folder, check=True, stdout=subprocess.DEVNULL)


def _commands(bars: Bars, scratch: Path, small: Opened) -> None:
    """Whole commands, each a process of its own, with compiled modules on disk as an installed program has them."""
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONDONTWRITEBYTECODE",)}
    environment |= {"PROFILEKEEPER_BY": "R. Okonjo", "PROFILEKEEPER_STORE": str(small.folder())}
    environment.setdefault("PYTHONPYCACHEPREFIX", str(scratch / "compiled"))
    program = [sys.executable, "-c", "from profilekeeper.cli.main import run; run()"]
    bare = scratch / "bare.py"
    bare.write_text(BARE)

    def run(*command: str) -> None:
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)

    def snapshot() -> None:
        file = scratch / "record.yaml"
        file.write_text(profile_text(7, surface=f"-455.{next(_numbers) % 1000:03d}"))
        run(*program, "snapshot", "shop-7/saw-7", "--as-left", "--from", str(file))

    ours, theirs, whole = medians(
        ROUNDS, lambda: run(*program, "--help"), lambda: run(sys.executable, str(bare), "--help"), snapshot, warm=3
    )
    bars.at_most("profilekeeper --help / a bare Typer program's --help", ours, theirs, 1.5)
    bars.at_most("a snapshot as a whole command / profilekeeper --help", whole, ours, 3.0)


if __name__ == "__main__":
    main()
