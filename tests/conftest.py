"""Safety for every test: no network, no home folder, no store or name taken from the surroundings."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest
from hypothesis import settings

# The same examples in every run: a law that fails, fails for everybody. Other examples: --hypothesis-profile=default.
settings.register_profile("steady", derandomize=True, deadline=None, print_blob=False)
settings.load_profile("steady")

_CLEARED = ("PROFILEKEEPER_STORE", "PROFILEKEEPER_BY", "PROFILEKEEPER_FAILPOINT", "NO_COLOR", "COLUMNS")


@pytest.fixture(autouse=True)
def _sealed(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    home = tmp_path_factory.getbasetemp() / "no-home"
    for name in (*_CLEARED, *(n for n in os.environ if n.startswith("GIT_"))):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.setattr(socket.socket, "connect", _refused)


def _refused(self: socket.socket, address: object) -> None:
    if isinstance(address, tuple) and address and str(address[0]) in ("127.0.0.1", "localhost", "::1"):
        raise OSError("tests start servers through their own fixture")
    raise OSError(f"tests use no network: {address}")


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A temporary folder that is also the present one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
