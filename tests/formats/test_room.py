"""The room as others see it: its names, fetched when they are used."""

from __future__ import annotations

import subprocess
import sys

import pytest

import profilekeeper.formats as room


def test_every_name_of_the_room_is_there() -> None:
    for name in room.__all__:
        assert getattr(room, name) is not None


def test_a_name_that_is_not_there_is_an_ordinary_error() -> None:
    with pytest.raises(AttributeError, match="nothing_here"):
        room.nothing_here  # noqa: B018 - asking is the test


def test_importing_the_room_costs_no_library() -> None:
    code = "import sys, profilekeeper.formats.edit_yaml; print(*{'yaml', 'ruamel', 'json'} & set(sys.modules))"

    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert found.stdout.split() == []
