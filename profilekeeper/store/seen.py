"""Which heads this copy of the store has had, so that an audit notices a history that was cut or swapped.

One line a head that the present one is not known to build on; normally that is one line.
"""

from __future__ import annotations

import os
import re

from profilekeeper.store.git import Layout
from profilekeeper.store.records import Revision

__all__ = ["note_seen", "read_seen", "write_seen"]


def read_seen(layout: Layout) -> tuple[Revision, ...]:
    """The heads noted, oldest first. Raises: OSError."""
    try:
        text = (layout.own / "seen").read_text("ascii", "replace")
    except FileNotFoundError:
        return ()
    return tuple(re.findall(r"^[0-9a-f]{40}$", text, re.MULTILINE))


def write_seen(layout: Layout, heads: tuple[Revision, ...]) -> None:
    """Replace the notes. Raises: OSError."""
    staged = layout.own / f"staged-{os.getpid()}-seen"
    staged.write_text("".join(f"{head}\n" for head in heads), "ascii")
    os.replace(staged, layout.own / "seen")


def note_seen(layout: Layout, before: Revision | None, now: Revision) -> None:
    """`now` was recorded on top of `before`: it stands in for it, but not for heads of another history."""
    heads = tuple(head for head in read_seen(layout) if head not in (before, now))
    write_seen(layout, (*heads[-20:], now))
