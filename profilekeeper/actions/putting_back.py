"""A machine's files in the folder, edited or deleted outside this tool, brought back to what is recorded."""

from __future__ import annotations

from dataclasses import dataclass

from profilekeeper.actions.opened import Opened

__all__ = ["PutBack", "Strayed", "put_back", "strayed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strayed:
    """A file in the folder that is not as recorded, and how it differs."""

    path: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBack:
    """What was put back, and where copies of what was edited by hand are kept."""

    files: tuple[Strayed, ...]
    kept: tuple[str, ...]


def strayed(opened: Opened, machine: str) -> tuple[Strayed, ...]:
    """The files of a machine that are not as recorded."""
    states = opened.store.work_states(opened.known(machine))
    return tuple(Strayed(path=path, how=state.value) for path, state in states.items())


def put_back(opened: Opened, machine: str) -> PutBack:
    """Bring a machine's files back to what is recorded; nothing is lost, an edited file is copied first."""
    files = strayed(opened, machine)
    kept = opened.store.put_back(f.path for f in files)
    return PutBack(files=files, kept=tuple(str(path) for path in kept))
