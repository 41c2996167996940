"""A full disk, a folder that cannot be written, a store of another user: told in one sentence, nothing lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

PREPARED = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from profilekeeper.errors import *
from profilekeeper.store import *
from profilekeeper.store.integrity import check_integrity
ada, noon = Author(name="Ada", email="a@b.invalid"), datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
PROFILE = "quayside/saw-2/profile.yaml"
def change(data, path=PROFILE):
    return Change(files={path: data}, message="as-found", author=ada, at=noon)
folder = Path(sys.argv[1])
"""

FILL = """
import os
store = Store.start(folder, {"store.yaml": b"id: 1"}, message="Start", author=ada, at=noon)
(folder / ".git/ballast").write_bytes(bytes(300_000))
acknowledged, behind, refused = [], 0, 0
for n in range(1000):
    try:
        acknowledged.append(store.write(change(os.urandom(6000))))
    except DiskFull as error:
        assert "no room is left" in str(error)
        refused += 1
        if refused == 20:
            break
    except FileBehind as error:
        acknowledged.append(error.revision)
        behind += 1
store.close()
(folder / ".git/ballast").unlink()
with Store.open(folder) as store:
    acknowledged.append(store.write(change(b"room again")))
    assert (folder / PROFILE).read_bytes() == b"room again"
    assert check_integrity(store) == (), check_integrity(store)
    assert {entry.revision for entry in store.history(PROFILE)} >= set(acknowledged)
print(len(acknowledged), refused, behind)
"""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A temporary folder that is removed even where parts of it are write-protected."""
    folder = Path(tempfile.mkdtemp(prefix="store-"))
    yield folder
    for part in (folder, *(part for part in folder.rglob("*") if part.is_dir())):
        part.chmod(0o755)
    shutil.rmtree(folder, ignore_errors=True)


def run_python(code: str, folder: Path, *, before: tuple[str, ...] = ()) -> str:
    done = subprocess.run(
        [*before, sys.executable, "-c", PREPARED + textwrap.dedent(code), str(folder)],
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def small_disk(folder: Path, size: str) -> tuple[str, ...]:
    """The command that runs another one where `folder` is a disk of that size; skips if it cannot be had."""
    script = f'mount -t tmpfs -o size={size} none "{folder}" && exec "$@"'
    for unshare in (("unshare", "--mount"), ("unshare", "--user", "--map-root-user", "--mount")):
        before = (*unshare, "sh", "-c", script, "sh")
        if shutil.which("unshare") and subprocess.run([*before, "true"], capture_output=True).returncode == 0:
            return before
    pytest.skip("a small disk can only be made on Linux, by unshare and tmpfs")


@pytest.mark.parametrize("size", ["1200k", "1400k"])
def test_a_disk_that_fills_up_refuses_and_loses_nothing(open_folder: Path, size: str) -> None:
    acknowledged, refused, _ = run_python(FILL, open_folder, before=small_disk(open_folder, size)).split()

    assert int(acknowledged) > 5
    assert int(refused) == 20


def write_protected(folder: Path) -> tuple[str, ...]:
    """Takes the right to write away; the command that runs another one without root's power to write anyway."""
    for part in (*folder.rglob("*"), folder):
        part.chmod(part.stat().st_mode & ~0o222)
    if os.getuid() != 0:
        return ()
    if not shutil.which("setpriv"):
        pytest.skip("root may write everywhere, and setpriv is not there to prevent it")
    return ("setpriv", "--bounding-set=-all", "--inh-caps=-all")


START = """
with Store.start(folder / "fleet", {"store.yaml": b"id: 1"}, message="Start", author=ada, at=noon) as store:
    store.write(change(b"1"))
"""


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX permissions")
def test_a_store_that_cannot_be_written_can_be_read(open_folder: Path) -> None:
    run_python(START, open_folder)
    before = write_protected(open_folder / "fleet")

    said = run_python(
        """
        with Store.open(folder / "fleet") as store:
            assert store.read(PROFILE) == b"1"
            assert store.work_state(PROFILE) is WorkState.RECORDED
            (entry,) = store.history(PROFILE)
            assert store.resolve(entry.revision[:10]) == entry.revision
            store.cache.put_values({entry.changes[0].new: b"v"}, "1")
            assert check_integrity(store) == (), check_integrity(store)
            for act in (lambda: store.write(change(b"2")), lambda: store.put_back([PROFILE])):
                try:
                    act()
                except StoreReadOnly as error:
                    print(error)
            assert not store.settle()
        """,
        open_folder,
        before=before,
    )

    assert said.count("cannot be written to; nothing was recorded") == 2


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX permissions")
def test_a_single_file_that_cannot_be_replaced_is_caught_up_with_later(open_folder: Path) -> None:
    """The git folder may be written, the machine's folder not: recorded, but behind."""
    run_python(START, open_folder)
    before = write_protected(open_folder / "fleet/quayside")

    said = run_python(
        """
        with Store.open(folder / "fleet") as store:
            try:
                store.write(change(b"2"))
            except FileBehind as error:
                assert store.head == error.revision
                print(error)
        """,
        open_folder,
        before=before,
    )
    (open_folder / "fleet/quayside/saw-2").chmod(0o755)
    assert "is recorded, but its file in the folder is not yet up to date" in said

    run_python(
        """
        with Store.open(folder / "fleet") as store:
            assert (folder / "fleet" / PROFILE).read_bytes() == b"2"
            assert check_integrity(store) == (), check_integrity(store)
        """,
        open_folder,
    )


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX permissions")
def test_starting_where_nothing_may_be_written_says_so(open_folder: Path) -> None:
    (open_folder / "shut").mkdir(mode=0o755)
    before = write_protected(open_folder / "shut")

    said = run_python(
        """
        try:
            Store.start(folder / "shut" / "fleet", {"store.yaml": b""}, message="x", author=ada, at=noon)
        except StoreReadOnly as error:
            print(error)
        """,
        open_folder,
        before=before,
    )

    assert "cannot be written to" in said
