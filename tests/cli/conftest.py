"""The program run in this process, as a person at a terminal would: arguments in; exit code and both streams out."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from profilekeeper.cli import main
from profilekeeper.resources import shipped


@dataclass(frozen=True)
class Answer:
    """What the program said and how it ended."""

    code: int
    out: str
    err: str


Program = Callable[..., Answer]


@pytest.fixture
def program(at_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Program:
    """Runs `profilekeeper ARGUMENTS` in a temporary folder; `typed` is what is keyed at its prompts."""
    monkeypatch.setenv("PROFILEKEEPER_BY", "R. Okonjo")

    def run(*arguments: object, typed: str = "", width: int = 100) -> Answer:
        monkeypatch.setattr(sys, "argv", ["profilekeeper", *map(str, arguments)])
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        monkeypatch.setenv("COLUMNS", str(width))
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main.run()
        said = capsys.readouterr()
        return Answer(int(ended.value.code or 0), said.out, said.err)

    return run


@pytest.fixture
def fleet(program: Program, at_home: Path, monkeypatch: pytest.MonkeyPatch) -> Program:
    """The program inside a store with one whole machine, quayside/saw-2, and its class's rules in none."""
    assert program("start", "fleet", "--fleet", "Harbour stone").code == 0
    monkeypatch.chdir(at_home / "fleet")
    source = shipped("shop_profiles/quayside/saw-2/profile.yaml")
    assert program("add-machine", "quayside/saw-2", "--from", source).code == 0
    return program
