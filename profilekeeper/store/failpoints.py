"""Places at which a write can be made to break off, so that tests prove nothing is lost there.

For developers only. `PROFILEKEEPER_FAILPOINT=STEP:ACTION` arms one step of `STEPS`; without it every
`reach` is one comparison. Actions: `kill` (this process dies as by a power cut, its git children live
on), `killgroup` (they die too), `enospc` and `eio` (the system call fails), `wait` (a pause of 300 ms,
long enough for another process to step between).
"""

from __future__ import annotations

import errno
import os
import signal
import time

__all__ = ["STEPS", "VARIABLE", "reach"]

VARIABLE = "PROFILEKEEPER_FAILPOINT"

STEPS = (
    "after-lock",
    "after-spawn",
    "after-check",
    "after-feed",
    "inside-journal",
    "after-journal",
    "after-done",
    "after-ref",
    "after-stage",
    "after-replace",
    "after-files",
    "after-todo",
    "after-drop",
    "before-index",
    "after-index",
)
"""Every step of a write, in the order in which it is passed."""

_ARMED = tuple(os.environ.get(VARIABLE, "").split(":", 1))


def reach(step: str) -> None:
    """Nothing, unless this very step is armed."""
    if _ARMED[0] == step:
        _break_off(_ARMED[1])


def _break_off(action: str) -> None:
    if action == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    elif action == "killgroup":
        os.killpg(os.getpgrp(), signal.SIGKILL)
    elif action == "enospc":
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    elif action == "eio":
        raise OSError(errno.EIO, os.strerror(errno.EIO))
    elif action == "wait":
        time.sleep(0.3)
    else:
        raise ValueError(f"{VARIABLE}: no action {action!r}")
