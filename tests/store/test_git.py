"""The sealed door obeys nothing but us, and says plainly when git is missing or too old."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.errors import DiskFull, GitFailed, GitMissing, GitTooOld, StoreBusy, StoreMoved, StoreReadOnly
from profilekeeper.store import Author, Change, Store
from profilekeeper.store.git import Layout, SealedGit, version
from profilekeeper.store.integrity import check_integrity

PROFILE = "quayside/saw-2/profile.yaml"
ADA = Author(name="Ada", email="ada@quayside.invalid")
Changes = Callable[..., Change]


def program_in(folder: Path, script: str) -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / "git"
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    return path


def test_without_git_one_sentence_says_so(
    tmp_path: Path, store: Store, change: Changes, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.close()
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))

    with pytest.raises(GitMissing, match="git was not found"):
        Store.start(tmp_path / "new", {"store.yaml": b""}, message="", author=ADA, at=change().at)
    with pytest.raises(GitMissing):
        store.read(PROFILE)
    with pytest.raises(GitMissing):
        store.write(change())


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for git")
def test_a_git_that_is_too_old_is_named(tmp_path: Path, change: Changes, monkeypatch: pytest.MonkeyPatch) -> None:
    program_in(tmp_path / "old", 'echo "git version 2.20.1 (Apple Git-117)"')
    monkeypatch.setenv("PATH", str(tmp_path / "old"))

    with pytest.raises(GitTooOld, match=r"git 2\.20\.1 is too old.*2\.34"):
        Store.start(tmp_path / "new", {"store.yaml": b""}, message="", author=ADA, at=change().at)
    assert version() == (2, 20, 1)


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for git")
def test_a_git_that_lies_in_the_working_folder_is_not_run(
    tmp_path: Path, store: Store, change: Changes, monkeypatch: pytest.MonkeyPatch
) -> None:
    program_in(store.folder, f"touch {tmp_path / 'ran'}")
    monkeypatch.chdir(store.folder)
    monkeypatch.setenv("PATH", os.pathsep.join([".", "", os.environ["PATH"]]))

    store.write(change())

    assert not (tmp_path / "ran").exists()


def test_no_configuration_or_environment_of_the_user_counts(
    tmp_path: Path, change: Changes, monkeypatch: pytest.MonkeyPatch
) -> None:
    hooks = tmp_path / "hooks"
    hooks.mkdir()
    for name in ("reference-transaction", "post-commit", "pre-commit", "post-index-change"):
        (hooks / name).write_text(f"#!/bin/sh\ntouch {tmp_path / 'ran'}\nexit 1\n")
        (hooks / name).chmod(0o755)
    (tmp_path / ".gitconfig").write_text(f"[core]\n hooksPath = {hooks}\n fsmonitor = {hooks}/post-commit\n[bad\n")
    for name, value in {
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
        "GIT_CONFIG_GLOBAL": str(tmp_path / ".gitconfig"),
        "GIT_DIR": str(tmp_path / "elsewhere"),
        "GIT_WORK_TREE": str(tmp_path),
        "GIT_INDEX_FILE": str(tmp_path / "index"),
        "GIT_OBJECT_DIRECTORY": str(tmp_path / "objects"),
        "GIT_NAMESPACE": "x",
        "GIT_TRACE": str(tmp_path / "trace"),
        "GIT_CONFIG_COUNT": "1",
        "GIT_CONFIG_KEY_0": "core.hooksPath",
        "GIT_CONFIG_VALUE_0": str(hooks),
        "LC_ALL": "de_DE.UTF-8",
    }.items():
        monkeypatch.setenv(name, value)

    with Store.start(tmp_path / "fleet", {"store.yaml": b"1"}, message="s", author=ADA, at=change().at) as store:
        store.write(change())
        assert store.settle()
        assert check_integrity(store) == ()

    assert sorted(path.name for path in tmp_path.iterdir()) == [".gitconfig", "fleet", "hooks"]


@pytest.mark.skipif(os.name == "nt", reason="shell scripts stand for hooks")
def test_nothing_a_repository_names_is_run(store: Store, change: Changes, tmp_path: Path) -> None:
    """Hooks, filters and attributes inside an allowed set-up: none of it gets to run."""
    git_dir = store.folder / ".git"
    (git_dir / "hooks").mkdir()
    for name in ("reference-transaction", "post-index-change", "post-commit", "pre-auto-gc", "fsmonitor-watchman"):
        (git_dir / "hooks" / name).write_text(f"#!/bin/sh\ntouch {tmp_path / 'ran'}\nexit 1\n")
        (git_dir / "hooks" / name).chmod(0o755)
    (git_dir / "info/attributes").write_text("* filter=evil diff=evil merge=evil text eol=crlf ident\n")
    (store.folder / ".gitattributes").write_text("* filter=evil text eol=crlf\n")

    from profilekeeper.store.housekeeping import tidy

    store.write(change(b"$Id$\r\n"))
    store.write(change(b"2\n"))
    assert store.settle()
    assert len(list(store.history(PROFILE))) == 2
    assert check_integrity(store) == ()
    tidy(store)

    assert not (tmp_path / "ran").exists()


def test_only_sealed_commands_pass(store: Store) -> None:
    door = SealedGit(Layout.of(store.folder))

    for command in ("status", "checkout", "add", "commit", "gc", "archive", "push", "show"):
        with pytest.raises(ValueError, match="sealed"):
            door.run(command)


def test_replaced_objects_and_grafts_do_not_show(store: Store, change: Changes, plain_git: Callable[..., str]) -> None:
    first = store.write(change(b"1\n"))
    second = store.write(change(b"2\n"))
    plain_git(store.folder, "replace", second, first)
    (store.folder / ".git/info/grafts").write_text(f"{second}\n")
    store.close()

    assert store.read(PROFILE, second) == b"2\n"
    assert store.is_ancestor(first, second)


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("fatal: write error: No space left on device", DiskFull),
        ("error: unable to create temporary file: Permission denied", StoreReadOnly),
        ("fatal: cannot create '/s/.git/x': Read-only file system", StoreReadOnly),
        ("fatal: Unable to create '/s/.git/HEAD.lock': File exists.\n\nAnother git", StoreBusy),
        ("warning: Not updating refs/heads/main (new tip 1 does not contain 2)", StoreMoved),
        ("fatal: something else", GitFailed),
    ],
)
def test_what_git_says_becomes_one_clear_sentence(store: Store, said: str, kind: type[Exception]) -> None:
    error = SealedGit(Layout.of(store.folder)).failure("fast-import", 128, said.encode())

    assert type(error) is kind
    assert "\n" not in str(error)


def test_a_lock_held_by_another_git_is_named(store: Store, change: Changes, monkeypatch: pytest.MonkeyPatch) -> None:
    lock = store.folder / ".git/refs/heads/main.lock"
    lock.touch()
    head = store.head

    with pytest.raises(StoreBusy, match=r"main\.lock"):
        store.write(change())

    assert store.head == head
    assert not (store.folder / ".git/profilekeeper/journal").exists()


def test_a_branch_moved_by_another_git_at_the_last_moment_is_noticed(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    """Another program commits between our looking at the head and our moving it."""
    store.settle()

    def changes() -> object:
        yield change(b"1\n")
        plain_git(store.folder, "commit", "-q", "--allow-empty", "-m", "meanwhile")

    with pytest.raises(StoreMoved, match="same moment"):
        store.write_history(changes())  # type: ignore[arg-type]

    assert not (store.folder / PROFILE).exists()
    store.write(change(b"1\n"))
    assert [entry.message for entry in store.history()] == ["as-found 0", "meanwhile", "Start"]
