"""The walk through the documentation: every marked command is run, and what it says is what the page shows.

Marks are comments of the Markdown, invisible to a reader:

    <!-- walk in demo -->          this page's commands run beside the store that `profilekeeper demo` leaves
    <!-- walk in nothing -->       ... in an empty folder
    <!-- clock 2026-06-03 07:30 -->    from here on it is that time; every command takes ten minutes
    <!-- run -->                   the block below: `$ COMMAND` lines, each followed by what it says
    <!-- run first=8 last=2 exit=1 width=60 typed="||-331.5|" -->
                                   only the first and last lines are shown, `...` for the rest; the exit code
                                   (`0|1`: either); the width of the terminal; what is keyed at its questions, by |
    <!-- file NAME -->             the block below is written to a file of that name
    <!-- edit NAME old="..." new="..." -->    a text file is edited by hand, as the page says in words

Commands are `profilekeeper ...`, `git ...`, `cd`, `cp`, `ls` and `rm`; no shell runs. The clock stands still and the
ids are drawn the same way each time.
"""

from __future__ import annotations

import io
import os
import random
import re
import secrets
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

WHO = "R. Okonjo"
DEMO_FOLDER = "profilekeeper-demo"
DEMO_DAY = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
FIRST_DAY = datetime(2026, 6, 2, 8, 0, tzinfo=UTC)
WIDTH = 90
LEFT_OUT = "..."

_MARK = re.compile(r"<!-- (walk in|clock|run|file|edit) ?(.*?) ?-->\s*")
_ID = re.compile(r"\b[0-9a-f]{8,64}\b")
_COUNT = re.compile(r"\b\d+ (snapshots|texts|clear)\b")


class WalkError(Exception):
    """A page cannot be walked: where, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One mark of a page with the lines between the fences below it; `start` counts lines from 0."""

    verb: str
    words: str
    start: int
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one command said on both streams, and its exit code."""

    code: int
    text: str


@dataclass(slots=True)
class Walker:
    """Runs commands in a folder, with a clock of its own."""

    root: Path
    demo: Path | None = None
    at: datetime = FIRST_DAY
    here: Path = field(init=False)
    chance: random.Random = field(default_factory=lambda: random.Random(2026))

    def __post_init__(self) -> None:
        self.root = self.root.resolve()
        self.here = self.root

    def page(self, text: str) -> str:
        """The page with every shown answer replaced by what the commands say now.

        Raises:  WalkError, where a command ends with another exit code than the page says, or an edit does not fit.
        """
        lines = text.split("\n")
        for block in reversed(list(self._blocks_in_order(lines))):
            lines[block.start : block.start + len(block.lines)] = self._answers.pop(block.start)
        return "\n".join(lines)

    _answers: dict[int, list[str]] = field(default_factory=dict)

    def _blocks_in_order(self, lines: list[str]) -> Iterator[Block]:
        self._answers.clear()
        for block in blocks(lines):
            if block.verb == "run":
                self._answers[block.start] = self._run_block(block)
                yield block
            else:
                self._prepare(block)

    def _prepare(self, block: Block) -> None:
        if block.verb == "walk in":
            if block.words == "demo" and self.demo is not None:
                shutil.copytree(self.demo, self.root / DEMO_FOLDER)
        elif block.verb == "clock":
            self.at = datetime.strptime(block.words, "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
        elif block.verb == "file":
            path = self.here / block.words
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text("\n".join(block.lines) + "\n", encoding="utf-8")
        else:
            self._edit(block)

    def _edit(self, block: Block) -> None:
        name, *rest = shlex.split(block.words)
        wanted = dict(word.split("=", 1) for word in rest)
        path = self.here / name
        text = path.read_text(encoding="utf-8")
        if text.count(wanted["old"]) != 1:
            raise WalkError(f"line {block.start}: {wanted['old']!r} stands {text.count(wanted['old'])} times in {name}")
        path.write_text(text.replace(wanted["old"], wanted["new"]), encoding="utf-8")

    def _run_block(self, block: Block) -> list[str]:
        options = dict(word.split("=", 1) for word in shlex.split(block.words))
        shown: list[str] = []
        commands = list(_commands(block.lines))
        for number, command in enumerate(commands):
            typed = options.get("typed", "").split("|") if "typed" in options else []
            said = self.run(" ".join(command).replace(" \\ ", " ").removeprefix("$ "), typed, options)
            wanted = options.get("exit", "0") if number == len(commands) - 1 else "0"
            if str(said.code) not in wanted.split("|"):
                raise WalkError(f"line {block.start}: {command[0]} ended with {said.code}, not {wanted}:\n{said.text}")
            shown += [*command, *shortened(said.text, int(options.get("first", 0)), int(options.get("last", 0)))]
        return shown

    def run(self, command: str, typed: list[str] | None = None, options: dict[str, str] | None = None) -> Said:
        """Run one command line."""
        words = shlex.split(command)
        width = int((options or {}).get("width", WIDTH))
        if words[0] == "profilekeeper":
            said = self._program(words[1:], typed or [], width)
        elif words[0] == "git":
            said = self._git(words[1:])
        else:
            said = self._shell(words)
        self.at += timedelta(minutes=10)
        return Said(code=said.code, text=said.text.replace(str(self.root), "~"))

    def _program(self, words: list[str], typed: list[str], width: int) -> Said:
        from profilekeeper.cli import main

        out = io.StringIO()
        keys = _Keys(typed, out)
        with self._surroundings(width), redirect_stdout(out), redirect_stderr(out):
            before = sys.stdin, sys.argv, sys.modules["__main__"]
            sys.stdin, sys.argv = keys, ["profilekeeper", *words]
            sys.modules["__main__"] = ModuleType("__main__")  # else the help names the program that runs the walk
            try:
                main.run()
            except SystemExit as ended:
                code = int(ended.code or 0)
            finally:
                sys.stdin, sys.argv, sys.modules["__main__"] = before
        return Said(code=code, text=out.getvalue())

    @contextmanager
    def _surroundings(self, width: int) -> Iterator[None]:
        """The folder, the environment, the clock and the chance that a command finds."""
        from profilekeeper.cli import options

        kept_environ, kept_here = dict(os.environ), Path.cwd()
        kept: tuple[Any, Any] = (options.datetime, secrets.choice)
        for name in ("PROFILEKEEPER_STORE", "NO_COLOR"):
            os.environ.pop(name, None)
        os.environ |= {"COLUMNS": str(width), "PROFILEKEEPER_BY": WHO, "TZ": "UTC"}
        os.chdir(self.here)
        at = self.at
        options.datetime = SimpleNamespace(now=lambda: _Moment(at))
        secrets.choice = self.chance.choice
        try:
            yield
        finally:
            options.datetime, secrets.choice = kept
            os.chdir(kept_here)
            os.environ.clear()
            os.environ.update(kept_environ)

    def _git(self, words: list[str]) -> Said:
        clean = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
        fixed = {"HOME": str(self.root), "GIT_CONFIG_NOSYSTEM": "1", "LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0"}
        done = subprocess.run(
            ["git", *words], cwd=self.here, env={**clean, **fixed}, capture_output=True, text=True, check=False
        )
        return Said(code=done.returncode, text=done.stdout + done.stderr)

    def _shell(self, words: list[str]) -> Said:
        text = ""
        if words[0] == "cd":
            self.here = (self.here / words[1]).resolve()
        elif words[0] == "cp":
            shutil.copy(self.here / words[1], self.here / words[2])
        elif words[0] == "rm":
            (self.here / words[1]).unlink()
        elif words[0] == "ls":
            text = "\n".join(
                sorted(p.name for p in (self.here / (words[1:] or ["."])[0]).iterdir() if p.name[0] != ".")
            )
        else:
            raise WalkError(f"{words[0]} is no command of the walk")
        return Said(code=0, text=text)


def blocks(lines: list[str]) -> Iterator[Block]:
    """The marks of a page in order, each with the lines between the fences that follow it directly."""
    for number, line in enumerate(lines):
        found = _MARK.fullmatch(line)
        if not found:
            continue
        body: tuple[str, ...] = ()
        if found[1] in ("run", "file"):
            if not lines[number + 1].startswith("```"):
                raise WalkError(f"line {number + 1}: no block follows the mark")
            end = lines.index("```", number + 2)
            body = tuple(lines[number + 2 : end])
        yield Block(verb=found[1], words=found[2], start=number + 2, lines=body)


def shortened(text: str, first: int, last: int) -> list[str]:
    """The lines of an answer; with `first` or `last` only so many of them, and `...` for those left out."""
    lines = [line.rstrip() for line in text.rstrip().split("\n")] if text.strip() else []
    if not (first or last) or len(lines) <= first + last:
        return lines
    return [*lines[:first], LEFT_OUT, *(lines[-last:] if last else [])]


def comparable(text: str) -> str:
    """The text with ids of snapshots, and mere counts, made alike: any change of the demo changes them."""
    return _COUNT.sub(r"<n> \1", _ID.sub("<id>", text))


def build_demo_store(folder: Path) -> Path:
    """The store that `profilekeeper demo` leaves, built by that very command, in a folder."""
    walker = Walker(root=folder, at=DEMO_DAY)
    said = walker.run("profilekeeper demo")
    if said.code:
        raise WalkError(f"the demo ended with {said.code}:\n{said.text}")
    (folder / "demo.txt").write_text(said.text, encoding="utf-8")
    return walker.root / DEMO_FOLDER


def _commands(lines: tuple[str, ...]) -> Iterator[list[str]]:
    """The command lines of a block, each with the lines that continue it."""
    going: list[str] = []
    for line in lines:
        if line.startswith("$ ") or going:
            going.append(line)
            if not line.endswith("\\"):
                yield going
                going = []


class _Keys(io.StringIO):
    """What a person keys at the questions of a command, and sees of it on the screen."""

    def __init__(self, typed: list[str], screen: io.StringIO) -> None:
        super().__init__("")
        self._left = list(typed)
        self._screen = screen

    def readline(self, _size: int | None = -1, /) -> str:
        if not self._left:
            return ""
        line = self._left.pop(0) + "\n"
        self._screen.write(line)
        return line


class _Moment(SimpleNamespace):
    """What the program asks of the clock: this moment, with its zone."""

    def __init__(self, at: datetime) -> None:
        super().__init__(astimezone=lambda: at)
