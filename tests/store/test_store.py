"""A store keeps what it is given, says what it holds, and never writes over a person's work."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from profilekeeper.errors import (
    BadName,
    FileMissing,
    HandEdit,
    NotAStore,
    NotRecorded,
    SnapshotAmbiguous,
    StoreExists,
    StoreMoved,
    TouchesTooMuch,
    UnknownSnapshot,
)
from profilekeeper.store import Author, Change, Store, WorkState

PROFILE = "quayside/saw-2/profile.yaml"
Changes = Callable[..., Change]


def test_what_is_written_is_read_back_from_store_and_folder(store: Store, change: Changes) -> None:
    revision = store.write(change(b"length: 212.730\n"))

    assert store.read(PROFILE) == b"length: 212.730\n"
    assert (store.folder / PROFILE).read_bytes() == b"length: 212.730\n"
    assert store.head == revision
    assert store.work_state(PROFILE) is WorkState.RECORDED


def test_older_snapshots_keep_their_content(store: Store, change: Changes) -> None:
    old = store.write(change(b"1\n"))
    store.write(change(b"2\n", n=1))

    assert store.read(PROFILE, old) == b"1\n"
    assert list(store.read_many([(None, PROFILE), (old, PROFILE), (old, "x/y/z")])) == [b"2\n", b"1\n", None]


def test_any_bytes_are_kept(store: Store, change: Changes) -> None:
    data = bytes(range(256)) * 300 + b"\r\n"
    store.write(change(data, path="quayside/saw-2/evidence/a.jpg"))

    assert store.read("quayside/saw-2/evidence/a.jpg") == data


def test_an_entry_says_who_when_why_and_what(store: Store, change: Changes) -> None:
    first = store.write(change(b"1\n"))
    trailers = {"Kind": "as-left", "Reason": "new disc\n\nfitted: 350"}
    at = change().at.astimezone()
    second = store.write(change(b"2\n", message="as-left\n\nwith more", trailers=trailers, at=at))

    entry = store.entry(second)

    assert (entry.revision, entry.parents, entry.at) == (second, (first,), at)
    assert entry.at.utcoffset() == at.utcoffset()
    assert (entry.message, dict(entry.trailers)) == ("as-left\n\nwith more", trailers)
    assert entry.author == Author(name="Ada Quill", email="ada@quayside.invalid")
    assert [(c.path, c.old, c.new) for c in entry.changes] == [
        (PROFILE, store.blob_id(PROFILE, first), store.blob_id(PROFILE))
    ]


def test_the_committer_is_the_author_and_no_identity_is_asked_for(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    store.write(change())

    assert plain_git(store.folder, "log", "-1", "--format=%cn %ce %ct|%an %ae %at").strip() == (
        "Ada Quill ada@quayside.invalid 1772625600|Ada Quill ada@quayside.invalid 1772625600"
    )


def test_a_hand_edit_stops_the_write_and_stays(store: Store, change: Changes) -> None:
    head = store.write(change(b"1\n"))
    (store.folder / PROFILE).write_bytes(b"by hand\n")

    with pytest.raises(HandEdit, match="edited by hand") as caught:
        store.write(change(b"2\n"))

    assert caught.value.paths == (PROFILE,)
    assert (store.folder / PROFILE).read_bytes() == b"by hand\n"
    assert store.head == head
    assert store.work_state(PROFILE) is WorkState.EDITED
    assert store.work_states() == {PROFILE: WorkState.EDITED}


def test_a_hand_edit_can_be_recorded_as_it_is(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    (store.folder / PROFILE).write_bytes(b"by hand\n")

    store.write(change(store.work_file(PROFILE)))

    assert store.work_state(PROFILE) is WorkState.RECORDED
    assert store.read(PROFILE) == b"by hand\n"


def test_a_hand_edit_elsewhere_does_not_matter(store: Store, change: Changes) -> None:
    store.write(change(b"1\n", path="millrace/saw-1/profile.yaml"))
    (store.folder / "millrace/saw-1/profile.yaml").write_bytes(b"by hand\n")

    store.write(change(b"2\n"))

    assert (store.folder / "millrace/saw-1/profile.yaml").read_bytes() == b"by hand\n"


def test_a_file_someone_put_there_is_not_overwritten(store: Store, change: Changes) -> None:
    (store.folder / "quayside/saw-2").mkdir(parents=True)
    (store.folder / PROFILE).write_bytes(b"mine\n")

    with pytest.raises(HandEdit):
        store.write(change(b"1\n"))

    assert store.work_state(PROFILE) is WorkState.NOT_RECORDED
    assert (store.folder / PROFILE).read_bytes() == b"mine\n"


def test_a_deleted_file_is_told_apart_and_can_be_put_back(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    (store.folder / PROFILE).unlink()

    with pytest.raises(FileMissing, match="put it back"):
        store.write(change(b"2\n"))
    assert store.work_state(PROFILE) is WorkState.MISSING
    assert store.put_back([PROFILE]) == ()

    store.write(change(b"2\n"))
    assert (store.folder / PROFILE).read_bytes() == b"2\n"


def test_a_deleted_file_can_be_recorded_as_gone(store: Store, change: Changes) -> None:
    before = store.write(change(b"1\n"))
    (store.folder / PROFILE).unlink()

    store.write(change(None))

    assert store.blob_id(PROFILE) is None
    assert store.work_state(PROFILE) is WorkState.ABSENT
    assert store.read(PROFILE, before) == b"1\n"


def test_recording_as_gone_removes_file_and_empty_folders(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    store.write(change(None))

    assert not (store.folder / "quayside").exists()
    assert store.folder.is_dir()


def test_putting_back_an_edited_file_keeps_the_edit(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    (store.folder / PROFILE).write_bytes(b"by hand\n")

    (kept,) = store.put_back([PROFILE])

    assert kept.read_bytes() == b"by hand\n"
    assert (store.folder / PROFILE).read_bytes() == b"1\n"


def test_a_link_in_place_of_a_file_or_folder_is_never_followed(store: Store, change: Changes, tmp_path: Path) -> None:
    store.write(change(b"1\n"))
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "profile.yaml").write_bytes(b"1\n")
    file, folder = store.folder / PROFILE, store.folder / "quayside/saw-2"
    for link, target in ((file, outside / "profile.yaml"), (folder, outside)):
        if link.is_dir():
            (link / "profile.yaml").unlink()
            link.rmdir()
        else:
            link.unlink()
        link.symlink_to(target)

        with pytest.raises(HandEdit):
            store.write(change(b"2\n"))
        with pytest.raises(HandEdit):
            store.work_file(PROFILE)
        assert (outside / "profile.yaml").read_bytes() == b"1\n"


def test_the_mode_of_a_file_is_kept(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    (store.folder / PROFILE).chmod(0o640)

    store.write(change(b"2\n"))

    assert (store.folder / PROFILE).stat().st_mode & 0o777 == 0o640


def test_a_new_file_gets_the_mode_the_users_mask_leaves(store: Store, change: Changes) -> None:
    before = os.umask(0o027)
    try:
        store.write(change(b"1\n"))
    finally:
        os.umask(before)

    assert (store.folder / PROFILE).stat().st_mode & 0o777 == 0o640


def test_a_change_worked_out_on_other_contents_is_refused(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    seen = store.blob_id(PROFILE)
    store.write(change(b"2\n"))

    with pytest.raises(StoreMoved, match=PROFILE):
        store.write(change(b"3\n", expect={PROFILE: seen}))
    with pytest.raises(StoreMoved):
        store.write(change(b"3\n", expect={PROFILE: None}))

    store.write(change(b"3\n", expect={PROFILE: store.blob_id(PROFILE), "quayside/saw-2/new.yaml": None}))


def test_one_snapshot_touches_one_machine(store: Store, change: Changes) -> None:
    both = {PROFILE: b"1\n", "quayside/saw-3/profile.yaml": b"1\n"}

    with pytest.raises(TouchesTooMuch, match="saw-3"):
        store.write(change(files=both))


def test_a_snapshot_that_changes_nothing_is_still_a_snapshot(store: Store, change: Changes) -> None:
    first = store.write(change(b"1\n"))
    again = store.write(change(b"1\n", n=1, trailers={"Machine": "quayside/saw-2"}))

    assert [entry.revision for entry in store.history("quayside/saw-2")] == [again, first]


@pytest.mark.parametrize(
    "path", ["../x", "/etc/x", "a//b", "a/./b", ".git/config", "a/.GIT/x", "a/GIT~1/x", "a/x\ny", "a/b:c", "a\\b", ""]
)
def test_a_path_that_leads_elsewhere_is_refused(store: Store, change: Changes, path: str) -> None:
    with pytest.raises(BadName):
        store.write(change(b"1\n", path=path))
    with pytest.raises(BadName):
        store.read(path)


def test_a_name_that_differs_in_case_only_is_refused(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))

    with pytest.raises(BadName, match="'quayside' is there already"):
        store.write(change(b"1\n", path="Quayside/saw-9/profile.yaml"))
    with pytest.raises(BadName, match="'saw-2' is there already"):
        store.write(change(b"1\n", path="quayside/SAW-2/profile.yaml"))


def test_two_new_names_that_clash_are_refused_in_one_go(store: Store, change: Changes) -> None:
    changes = [change(b"1\n", path=f"{shop}/saw-1/profile.yaml") for shop in ("mill", "Mill")]

    with pytest.raises(BadName):
        store.write_history(changes)
    assert store.list_folders() == ()


def test_unknown_snapshots_and_files_are_told_apart(store: Store, change: Changes) -> None:
    store.write(change())

    with pytest.raises(UnknownSnapshot):
        store.read(PROFILE, "0" * 40)
    with pytest.raises(UnknownSnapshot):
        store.read(PROFILE, "HEAD~1")
    with pytest.raises(NotRecorded, match="is not recorded in snapshot"):
        store.read("quayside/saw-9/profile.yaml")
    with pytest.raises(NotRecorded):
        store.read("quayside/saw-2")


def test_short_ids_resolve_or_say_why_not(store: Store, change: Changes) -> None:
    revisions = store.write_history(change(b"%d\n" % n, n=n) for n in range(400))
    groups: dict[str, list[str]] = {}
    for revision in revisions:
        groups.setdefault(revision[:4], []).append(revision)
    one = revisions[7]

    assert store.resolve(one[:12]) == store.resolve(one) == store.resolve(one[:12].upper()) == one
    for text in ("abc", "main", "HEAD", "", "0" * 12, one[:12] + "g"):
        with pytest.raises(UnknownSnapshot):
            store.resolve(text)
    for shared, group in groups.items():
        if len(group) > 1:
            with pytest.raises(SnapshotAmbiguous) as caught:
                store.resolve(shared)
            assert sorted(caught.value.candidates) == sorted(group)


def test_a_branch_named_like_an_id_does_not_stand_for_a_snapshot(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    plain_git(store.folder, "branch", "beef1234")

    with pytest.raises(UnknownSnapshot):
        store.resolve("beef1234")


def test_listings_follow_the_snapshot(store: Store, change: Changes) -> None:
    old = store.write(change(b"1\n"))
    store.write(change(b"1\n", path="quayside/saw-3/profile.yaml"))
    store.write(change(b"1\n", path="rules/saws.yaml"))

    assert list(store.list_files("quayside")) == [PROFILE, "quayside/saw-3/profile.yaml"]
    assert list(store.list_files("quayside", old)) == [PROFILE]
    assert store.list_files("quayside")[PROFILE] == store.blob_id(PROFILE)
    assert store.list_folders() == ("quayside", "rules")
    assert store.list_folders("quayside") == ("saw-2", "saw-3")
    assert store.list_folders("nowhere") == ()
    assert store.list_files("nowhere") == {}


def test_ancestors_are_known(store: Store, change: Changes) -> None:
    first, second = store.write_history([change(b"1\n"), change(b"2\n")])

    assert store.is_ancestor(first, second)
    assert store.is_ancestor(first, first)
    assert not store.is_ancestor(second, first)
    with pytest.raises(UnknownSnapshot):
        store.is_ancestor("0" * 40, first)


def test_opening_needs_a_store(tmp_path: Path) -> None:
    with pytest.raises(NotAStore, match="no store is there"):
        Store.open(tmp_path)
    with pytest.raises(NotAStore):
        Store.find(tmp_path)


def test_a_store_is_found_from_within(store: Store, change: Changes) -> None:
    store.write(change())

    with Store.find(store.folder / "quayside/saw-2") as found:
        assert found.folder == store.folder


def test_starting_spares_what_is_there(store: Store, tmp_path: Path, new_store: Callable[..., Store]) -> None:
    with pytest.raises(StoreExists):
        new_store(store.folder)
    other = tmp_path / "other"
    other.mkdir()
    (other / "store.yaml").write_bytes(b"someone's\n")
    with pytest.raises(StoreExists, match=r"store\.yaml"):
        new_store(other)
    assert (other / "store.yaml").read_bytes() == b"someone's\n"
    assert not (other / ".git").exists()


def test_a_start_that_fails_leaves_no_half_store(tmp_path: Path, change: Changes) -> None:
    with pytest.raises(BadName):
        Store.start(
            tmp_path / "f", {"store.yaml": b""}, message="x", author=Author(name="<", email="e"), at=change().at
        )

    assert not (tmp_path / "f/.git").exists()


def test_many_snapshots_in_one_go_are_all_there(store: Store, change: Changes) -> None:
    changes = [change(b"%d\n" % n, n=n, path=f"quayside/saw-{n % 7}/profile.yaml") for n in range(1000)]

    revisions = store.write_history(iter(changes))

    assert len(set(revisions)) == 1000
    assert [entry.revision for entry in store.history()][:-1] == revisions[::-1]
    for n in range(993, 1000):
        assert (store.folder / f"quayside/saw-{n % 7}/profile.yaml").read_bytes() == b"%d\n" % n


def test_many_snapshots_with_one_bad_one_are_none(store: Store, change: Changes) -> None:
    head = store.head

    with pytest.raises(BadName):
        store.write_history([change(b"1\n"), change(b"2\n", path="a/../b")])

    assert store.head == head
    assert not (store.folder / "quayside").exists()
    assert store.write_history([]) == []


def test_a_store_on_another_branch_name_works(store: Store, change: Changes, plain_git: Callable[..., str]) -> None:
    plain_git(store.folder, "branch", "-m", "main", "workshop/kept")
    store.write(change(b"1\n"))

    assert plain_git(store.folder, "rev-parse", "refs/heads/workshop/kept").strip() == store.head


def test_a_store_that_stands_at_an_old_snapshot_is_refused(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    store.settle()
    plain_git(store.folder, "checkout", "-q", "--detach")

    with pytest.raises(StoreMoved, match="old snapshot"):
        store.write(change(b"1\n"))


def test_snapshots_recorded_by_plain_git_are_taken_up(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    store.write(change(b"1\n"))
    store.settle()
    (store.folder / PROFILE).write_bytes(b"2\n")
    plain_git(store.folder, "commit", "-q", "-a", "-m", "by hand")

    assert store.read(PROFILE) == b"2\n"
    store.write(change(b"3\n"))
    assert [entry.message for entry in store.history(PROFILE)] == ["as-found 0", "by hand", "as-found 0"]


def test_threads_may_share_a_store(store: Store, change: Changes) -> None:
    def work(machine: int) -> None:
        path = f"hilltop/saw-{machine}/profile.yaml"
        for n in range(5):
            store.write(change(b"%d\n" % n, path=path, n=n))
            assert store.read(path) == b"%d\n" % n

    threads = [threading.Thread(target=work, args=(machine,)) for machine in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sum(1 for _ in store.history("hilltop")) == 15


def test_plain_git_sees_a_clean_folder_after_closing(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    store.write(change(b"1\n"))
    store.write(change(b"1\n", path="quayside/saw-3/profile.yaml"))
    store.write(change(None, path="quayside/saw-3/profile.yaml"))

    store.close()

    assert plain_git(store.folder, "status", "--porcelain") == ""
    assert plain_git(store.folder, "ls-files").split() == [PROFILE, "store.yaml"]


def test_an_index_held_by_another_program_is_left_for_later(
    store: Store, change: Changes, plain_git: Callable[..., str]
) -> None:
    store.settle()
    lock = store.folder / ".git/index.lock"
    lock.touch()
    store.write(change(b"1\n"))
    assert not store.settle()
    lock.unlink()

    assert store.settle()

    assert plain_git(store.folder, "status", "--porcelain") == ""


def test_a_killed_reader_is_started_anew(store: Store, change: Changes) -> None:
    store.write(change(b"1\n"))
    process = store.parts[2]._process
    assert process is not None
    process.kill()
    process.wait()

    assert store.read(PROFILE) == b"1\n"
