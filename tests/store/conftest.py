"""Builders for the tests of the store: real git, real folders, nothing faked."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from profilekeeper.store import Author, Change, Store

PROFILE = "quayside/saw-2/profile.yaml"
ADA = Author(name="Ada Quill", email="ada@quayside.invalid")
NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


def change_of(content: bytes | None = b"length: 1\n", *, path: str = PROFILE, n: int = 0, **more: object) -> Change:
    """A change of one file; `n` minutes after noon."""
    fields: dict[str, object] = {
        "files": {path: content},
        "message": f"as-found {n}",
        "trailers": {"Kind": "as-found"},
        "author": ADA,
        "at": NOON + timedelta(minutes=n),
    }
    return Change(**{**fields, **more})  # type: ignore[arg-type]


@pytest.fixture
def change() -> Callable[..., Change]:
    return change_of


@pytest.fixture
def new_store() -> Iterator[Callable[..., Store]]:
    """Starts stores, and closes them at the end."""
    made: list[Store] = []

    def start(folder: Path, **files: bytes) -> Store:
        contents = {"store.yaml": b"id: 7f3a\n", **files}
        made.append(Store.start(folder, contents, message="Start", author=ADA, at=NOON))
        return made[-1]

    yield start
    for store in made:
        store.close()


@pytest.fixture
def store(tmp_path: Path, new_store: Callable[..., Store]) -> Store:
    return new_store(tmp_path / "fleet")


@pytest.fixture
def plain_git(tmp_path: Path) -> Callable[..., str]:
    """Git as a person would run it in the store, by another program."""

    def run(folder: Path, *arguments: str) -> str:
        named = {f"GIT_{who}_{what}": f"p@{who}" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
        surroundings = {**os.environ, **named, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
        done = subprocess.run(
            ["git", "-C", str(folder), *arguments], env=surroundings, check=True, capture_output=True, text=True
        )
        return done.stdout

    return run
