"""What the room promises as a whole."""

from __future__ import annotations

import subprocess
import sys

import profilekeeper.clearance as room


def test_every_public_name_is_there() -> None:
    assert [name for name in room.__all__ if getattr(room, name).__name__ != name] == []
    assert room.__all__ == sorted(room.__all__)


def test_naming_the_room_does_not_load_numpy() -> None:
    """Start-up is measured; the vocabulary of frames and shapes needs no arrays."""
    words = (
        "import sys, profilekeeper.clearance as room; room.Section, room.Head, room.Room; print('numpy' in sys.modules)"
    )

    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)

    assert said.stdout.strip() == "False"
