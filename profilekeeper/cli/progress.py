"""Progress on anything that takes over a second, on the error stream of a terminal only."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["counting"]


@contextmanager
def counting(what: str) -> Iterator[Callable[[str, int], None]]:
    """A function to call with what is counted and how far it is; it writes one line that it keeps rewriting."""
    if not sys.stderr.isatty():
        yield lambda _what, _done: None
        return
    began = time.monotonic()
    written = False

    def tell(counted: str, done: int) -> None:
        nonlocal written
        if time.monotonic() - began > 1:
            sys.stderr.write(f"\r{what}: {done} {counted} ")
            sys.stderr.flush()
            written = True

    try:
        yield tell
    finally:
        if written:
            sys.stderr.write("\r" + " " * 60 + "\r")
