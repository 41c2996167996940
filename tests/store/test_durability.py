"""The order of system calls that makes an acknowledged snapshot survive a power cut, as strace(1) sees it.

fsync(2): a new name is durable only once the folder that holds it has been synced as well.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.store import Change, Store

WORKER = Path(__file__).with_name("worker.py")
PROFILE = "quayside/saw-2/profile.yaml"


@pytest.fixture
def calls(store: Store, change: Callable[..., Change], tmp_path: Path) -> list[str]:
    """What one snapshot asks of the system, in order: `fsync NAME`, `rename NAME NAME`, `link NAME NAME` ..."""
    if not shutil.which("strace") or subprocess.run(["strace", "-o", "/dev/null", "true"], check=False).returncode:
        pytest.skip("strace is not there, or not allowed")
    store.write(change())
    store.close()
    watched = "trace=fsync,fdatasync,rename,renameat,renameat2,link,linkat,unlink,write"
    subprocess.run(
        ["strace", "-f", "-y", "-qq", "-e", watched, "-o", str(tmp_path / "calls"),
         sys.executable, str(WORKER), str(store.folder), "saw-2", "1"],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}, check=True, capture_output=True,
    )  # fmt: skip
    found = []
    lines = (tmp_path / "calls").read_text("utf-8", "replace").splitlines()
    worker = lines[0].split()[0]
    for line in lines:
        call = re.match(r"\d+ +(\w+)\((.*)\) += 0", line)
        if call:
            names = re.findall(r"[<\"]" + re.escape(str(store.folder)) + r"/?([^>\"]*)[>\"]", call.group(2))
            found.append(" ".join([call.group(1), *names]))
        elif re.match(worker + r" +write\(1<pipe.*\"[0-9a-f]{32,40}", line):
            found.append("acknowledged")
    return found


def first(calls: list[str], pattern: str) -> int:
    return next(n for n, call in enumerate(calls) if re.fullmatch(pattern, call))


def last(calls: list[str], pattern: str) -> int:
    return max(n for n, call in enumerate(calls) if re.fullmatch(pattern, call))


def test_everything_is_durable_before_it_is_acknowledged(calls: list[str]) -> None:
    journal = first(calls, r"fsync \.git/profilekeeper/journal")
    journal_name = first(calls, r"fsync \.git/profilekeeper")
    objects = last(calls, r"link(at)? \S*tmp_obj\S* \S+|rename\w* \S*tmp_obj\S* \S+")
    written = last(calls, r"fsync \S*tmp_obj\S*")
    ref = first(calls, r"fsync \.git/refs/heads/main\.lock")
    moved = first(calls, r"rename\w* \.git/refs/heads/main\.lock \.git/refs/heads/main")
    ref_name = first(calls, r"fsync \.git/refs/heads")
    staged = first(calls, r"fsync \.git/profilekeeper/staged-\S*profile\.yaml")
    replaced = first(calls, rf"rename\w* \.git/profilekeeper/staged-\S* {PROFILE}")
    file_name = first(calls, r"fsync quayside/saw-2")
    dropped = first(calls, r"unlink \.git/profilekeeper/journal")

    order = [journal, journal_name, written, objects, ref, moved, ref_name, staged, replaced, file_name, dropped]
    assert order == sorted(order)
    assert dropped < first(calls, "acknowledged")
    objects_written = [call for call in calls if re.match(r"fsync \S*tmp_obj", call)]
    assert len(objects_written) == 5, "the content, three folders, the snapshot"
