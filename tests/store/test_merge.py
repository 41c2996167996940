"""Two stores that met: the same parents and the same outcome make the same snapshot everywhere."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.errors import HandEdit, StoreMoved
from profilekeeper.store import MERGE_AUTHOR, Change, Store
from profilekeeper.store.integrity import check_integrity

PROFILE = "quayside/saw-2/profile.yaml"
OTHER = "millrace/saw-1/profile.yaml"
Changes = Callable[..., Change]


@pytest.fixture
def pair(store: Store, change: Changes, tmp_path: Path, plain_git: Callable[..., str]) -> tuple[Store, Store]:
    """Two stores that share a beginning, have gone on apart, and hold each other's snapshots."""
    store.write(change(b"0\n"))
    store.close()
    shutil.copytree(store.folder, tmp_path / "other")
    other = Store.open(tmp_path / "other")
    store.write(change(b"1\n", n=5))
    other.write(change(b"2\n", n=3))
    other.write(change(b"x\n", path=OTHER, n=4))
    for one, two in ((store, other), (other, store)):
        plain_git(one.folder, "fetch", "-q", str(two.folder), "main:refs/incoming/main")
    return store, other


def test_both_sides_come_out_with_the_same_snapshot(pair: tuple[Store, Store], change: Changes) -> None:
    one, two = pair
    heads = one.head, two.head
    tree: dict[str, bytes | str] = {**two.list_files(), PROFILE: b"1 and 2\n"}

    merged = one.write_merge(heads[1], tree, trailers={"Disputes": "0"})
    also = two.write_merge(heads[0], dict(reversed(tree.items())), trailers={"Disputes": "0"})

    assert merged == also
    for side in pair:
        entry = side.entry(side.head)
        assert entry.parents == tuple(sorted(heads))
        assert entry.author == MERGE_AUTHOR
        assert entry.at == change(n=5).at
        assert dict(entry.trailers) == {"Disputes": "0", "Merge-rules": "1"}
        assert (side.folder / PROFILE).read_bytes() == b"1 and 2\n"
        assert (side.folder / OTHER).read_bytes() == b"x\n"
        assert side.settle()
        assert check_integrity(side) == ()
    two.close()


def test_a_merge_lists_only_what_differs_from_both_sides(pair: tuple[Store, Store]) -> None:
    one, two = pair
    one.write_merge(two.head, {**two.list_files(), PROFILE: b"1 and 2\n"})

    assert [change.path for change in one.entry(one.head).changes] == [PROFILE]
    assert len(list(one.history(PROFILE))) == 4
    assert [entry.message for entry in one.history(OTHER)] == ["as-found 4"]
    assert one.entry(one.head) == next(one.history(PROFILE))
    two.close()


def test_a_hand_edit_stops_a_merge_only_where_it_would_be_lost(pair: tuple[Store, Store]) -> None:
    one, two = pair
    (one.folder / "store.yaml").write_bytes(b"edited\n")
    (one.folder / PROFILE).write_bytes(b"edited\n")
    tree: dict[str, bytes | str] = {**two.list_files(), PROFILE: b"1 and 2\n"}

    with pytest.raises(HandEdit) as caught:
        one.write_merge(two.head, tree)
    assert caught.value.paths == (PROFILE,)

    one.put_back([PROFILE])
    one.write_merge(two.head, tree)
    assert (one.folder / "store.yaml").read_bytes() == b"edited\n"
    two.close()


def test_a_merge_worked_out_on_an_older_head_is_refused(pair: tuple[Store, Store], change: Changes) -> None:
    one, two = pair
    before = one.head
    one.write(change(b"3\n"))

    with pytest.raises(StoreMoved):
        one.write_merge(two.head, one.list_files(), expect_head=before)
    two.close()


def test_a_store_that_is_only_behind_follows(pair: tuple[Store, Store], plain_git: Callable[..., str]) -> None:
    one, two = pair
    merged = one.write_merge(two.head, {**two.list_files(), PROFILE: b"1 and 2\n"})
    plain_git(two.folder, "fetch", "-q", str(one.folder), "main:refs/incoming/next")

    with pytest.raises(StoreMoved):
        one.advance(two.head)
    two.advance(merged)

    assert two.head == merged
    assert (two.folder / PROFILE).read_bytes() == b"1 and 2\n"
    assert check_integrity(two) == ()
    assert one.merge_bases(one.head, two.head) == (merged,)
    two.close()


def test_files_that_are_gone_after_a_merge_leave_the_folder(pair: tuple[Store, Store]) -> None:
    one, two = pair
    one.write_merge(two.head, {"store.yaml": b"id: 7f3a\n"})

    assert sorted(path.name for path in one.folder.iterdir()) == [".git", "store.yaml"]
    two.close()
