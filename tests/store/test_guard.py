"""A folder is looked at before git runs in it; what could run or lead elsewhere is refused by name."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.errors import UnsafeStore
from profilekeeper.store import Change, Store

Changes = Callable[..., Change]


@pytest.fixture
def closed(store: Store, change: Changes) -> Path:
    store.write(change())
    store.close()
    return store.folder


HARMFUL = {
    "core.fsmonitor": "sh -c 'touch ran'",
    "core.hookspath": "hooks",
    "core.sshcommand": "evil",
    "core.gitproxy": "evil",
    "core.editor": "evil",
    "core.pager": "evil",
    "core.askpass": "evil",
    "core.attributesfile": "x",
    "core.worktree": "/etc",
    "core.bare": "true",
    "core.alternaterefscommand": "evil",
    "core.repositoryformatversion": "2",
    "filter.x.clean": "evil",
    "filter.x.process": "evil",
    "diff.x.textconv": "evil",
    "diff.external": "evil",
    "merge.x.driver": "evil",
    "gpg.program": "evil",
    "credential.helper": "!evil",
    "alias.log": "!evil",
    "include.path": "other",
    "includeif.gitdir:/.path": "other",
    "extensions.partialclone": "origin",
    "extensions.worktreeconfig": "true",
    "extensions.objectformat": "sha256",
    "remote.origin.uploadpack": "evil",
    "remote.origin.receivepack": "evil",
    "remote.origin.proxy": "x",
    "remote.origin.vcs": "evil",
    "remote.origin.promisor": "true",
    "remote.origin.url": "ext::sh -c evil",
    "url.ext::sh.insteadof": "https",
    "uploadpack.packobjectshook": "evil",
    "gc.recentobjectshook": "evil",
    "pager.log": "evil",
    "sequence.editor": "evil",
    "submodule.x.update": "!evil",
    "trailer.x.command": "evil",
    "interactive.difffilter": "evil",
    "init.templatedir": "x",
    "fsck.skiplist": "x",
    "log.showsignature": "true",
    "lfs.url": "x",
    "something.new": "1",
}


@pytest.mark.parametrize("key", HARMFUL)
def test_a_set_up_that_could_do_harm_is_refused_by_its_name(
    closed: Path, plain_git: Callable[..., str], key: str
) -> None:
    plain_git(closed, "config", "--file", ".git/config", key, HARMFUL[key])

    with pytest.raises(UnsafeStore) as caught:
        Store.open(closed)
    assert f"sets {key}" in str(caught.value)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("user.name", "Ada"),
        ("core.filemode", "true"),
        ("core.ignorecase", "true"),
        ("remote.origin.url", "https://example.invalid/fleet"),
        ("remote.origin.url", "ada@host.invalid:fleet"),
        ("remote.origin.fetch", "+refs/heads/*:refs/remotes/origin/*"),
        ("branch.main.remote", "origin"),
        ("branch.main.merge", "refs/heads/main"),
        ("gc.auto", "0"),
        ("core.bare", "false"),
    ],
)
def test_a_set_up_that_only_describes_is_let_through(
    closed: Path, plain_git: Callable[..., str], key: str, value: str
) -> None:
    plain_git(closed, "config", "--file", ".git/config", key, value)

    with Store.open(closed) as store:
        assert store.list_folders() == ("quayside",)


def test_a_store_cloned_by_plain_git_opens(closed: Path, tmp_path: Path, plain_git: Callable[..., str]) -> None:
    plain_git(tmp_path, "clone", "-q", "--no-local", str(closed), str(tmp_path / "copy"))

    with Store.open(tmp_path / "copy") as store:
        assert store.work_states() == {}


@pytest.mark.parametrize(
    ("part", "content"),
    [
        ("commondir", "../elsewhere"),
        ("config.worktree", "[core]\n"),
        ("objects/info/alternates", "/elsewhere"),
        ("objects/info/http-alternates", "http://elsewhere"),
        ("shallow", "0" * 40),
    ],
)
def test_history_that_lies_elsewhere_is_refused(closed: Path, part: str, content: str) -> None:
    (closed / ".git" / part).write_text(content)

    with pytest.raises(UnsafeStore):
        Store.open(closed)


@pytest.mark.parametrize(
    "part", ["", "config", "HEAD", "objects", "refs", "refs/heads", "profilekeeper", "objects/pack"]
)
def test_a_link_within_the_git_folder_is_refused(closed: Path, tmp_path: Path, part: str) -> None:
    target = closed / ".git" / part
    shutil.move(target, tmp_path / "moved")
    target.symlink_to(tmp_path / "moved")

    with pytest.raises(UnsafeStore, match="link"):
        Store.open(closed)


def test_a_git_file_is_refused(closed: Path, tmp_path: Path) -> None:
    shutil.move(closed / ".git", tmp_path / "moved")
    (closed / ".git").write_text(f"gitdir: {tmp_path / 'moved'}\n")

    with pytest.raises(UnsafeStore, match="points to another folder"):
        Store.open(closed)


def test_a_set_up_that_cannot_be_read_is_refused(closed: Path) -> None:
    (closed / ".git/config").write_text("[core\n")

    with pytest.raises(UnsafeStore, match="cannot be read"):
        Store.open(closed)


def test_included_files_are_named_not_read(closed: Path) -> None:
    with (closed / ".git/config").open("a") as config:
        config.write("[include]\n\tpath = /dev/zero\n")

    with pytest.raises(UnsafeStore, match=r"include\.path"):
        Store.open(closed)
