"""What a check of the whole store finds, each kind made to happen; and nothing in a store that is whole."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.store import Change, Store
from profilekeeper.store.housekeeping import loose_objects, tidy, wants_tidying
from profilekeeper.store.integrity import KINDS, check_integrity

PROFILE = "quayside/saw-2/profile.yaml"
Changes = Callable[..., Change]


def kinds(store: Store) -> list[str]:
    found = check_integrity(store)
    assert all(trouble.kind in KINDS for trouble in found)
    return [trouble.kind for trouble in found]


@pytest.fixture
def full(store: Store, change: Changes) -> Store:
    photo = b"a photo"
    name = f"quayside/saw-2/evidence/{hashlib.sha256(photo).hexdigest()}.jpg"
    store.write(change(files={PROFILE: b"1\n", name: photo}))
    store.write(change(b"2\n", n=1))
    store.settle()
    return store


def test_a_whole_store_has_no_trouble(full: Store) -> None:
    assert check_integrity(full) == ()


def object_file(store: Store, object_id: str) -> Path:
    return store.folder / ".git/objects" / object_id[:2] / object_id[2:]


def test_a_missing_object_is_found(full: Store) -> None:
    blob = full.blob_id(PROFILE)
    assert blob is not None
    object_file(full, blob).unlink()

    assert "damaged" in kinds(full)


def test_a_flipped_bit_is_found(full: Store) -> None:
    blob = full.blob_id(PROFILE)
    assert blob is not None
    path = object_file(full, blob)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 4
    path.chmod(0o644)
    path.write_bytes(bytes(data))

    assert "damaged" in kinds(full)


def test_an_exchanged_object_is_found(full: Store) -> None:
    """Whole in itself, but not what its id stands for."""
    one, other = full.blob_id(PROFILE), full.blob_id("store.yaml")
    assert one is not None
    assert other is not None
    path = object_file(full, one)
    path.chmod(0o644)
    path.write_bytes(object_file(full, other).read_bytes())
    full.close()

    assert "damaged" in kinds(full)


def test_a_history_that_was_cut_is_found(full: Store, plain_git: Callable[..., str]) -> None:
    plain_git(full.folder, "reset", "-q", "--hard", "HEAD~1")

    assert kinds(full) == ["rewritten"]


def test_a_history_that_was_cut_is_found_even_after_new_snapshots(
    full: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    plain_git(full.folder, "reset", "-q", "--hard", "HEAD~1")
    full.write(change(b"3\n"))

    assert kinds(full) == ["rewritten"]


def test_evidence_that_was_changed_is_found(full: Store, change: Changes) -> None:
    (name,) = [path for path in full.list_files() if "evidence" in path]
    full.write(change(b"another photo", path=name))

    assert kinds(full) == ["evidence"]


def test_a_snapshot_of_two_machines_is_found(full: Store, plain_git: Callable[..., str]) -> None:
    for machine in ("saw-2", "saw-3"):
        (full.folder / f"quayside/{machine}").mkdir(exist_ok=True)
        (full.folder / f"quayside/{machine}/profile.yaml").write_bytes(b"both\n")
    plain_git(full.folder, "add", ".")
    plain_git(full.folder, "commit", "-q", "-m", "both")

    assert kinds(full) == ["several-machines"]


def test_a_merge_by_another_program_is_found(full: Store, plain_git: Callable[..., str]) -> None:
    plain_git(full.folder, "checkout", "-q", "-b", "side", "HEAD~1")
    plain_git(full.folder, "commit", "-q", "--allow-empty", "-m", "side")
    plain_git(full.folder, "checkout", "-q", "main")
    plain_git(full.folder, "merge", "-q", "--no-edit", "side")

    assert kinds(full) == ["plain-merge"]


def test_links_and_clashing_names_are_found(full: Store, plain_git: Callable[..., str]) -> None:
    blob = full.blob_id(PROFILE)
    plain_git(full.folder, "update-index", "--add", "--cacheinfo", f"120000,{blob},quayside/saw-2/link")
    plain_git(full.folder, "update-index", "--add", "--cacheinfo", f"100644,{blob},Quayside/saw-9/aux.yaml")
    plain_git(full.folder, "commit", "-q", "-m", "odd")

    assert [kind for kind in kinds(full) if kind in ("name", "mode")] == ["name", "name", "mode"]


def test_what_happened_in_the_folder_is_found(full: Store, change: Changes) -> None:
    full.write(change(b"1\n", path="quayside/saw-3/profile.yaml"))
    (full.folder / PROFILE).write_bytes(b"by hand\n")
    (full.folder / "quayside/saw-3/profile.yaml").unlink()
    (full.folder / "quayside/saw-3/notes.txt").write_bytes(b"mine\n")

    assert kinds(full) == ["edited", "missing", "not-recorded"]


def test_leftovers_of_a_broken_write_are_found(full: Store) -> None:
    (full.parts[0].own / "journal").write_bytes(b"cut short")
    (full.folder / ".git/HEAD.lock").touch()

    assert kinds(full) == ["unfinished", "lock"]


def test_tidying_changes_nothing_that_can_be_seen(full: Store, change: Changes) -> None:
    revisions = full.write_history(change(b"%d\n" % n, n=n) for n in range(30))
    before = list(full.history()), full.list_files(), full.read(PROFILE, revisions[3])
    assert not wants_tidying(full)

    tidy(full)

    assert loose_objects(full.parts[0]) == 0
    assert (list(full.history()), full.list_files(), full.read(PROFILE, revisions[3])) == before
    assert check_integrity(full) == ()
    full.write(change(b"after\n"))
    assert full.read(PROFILE) == b"after\n"
