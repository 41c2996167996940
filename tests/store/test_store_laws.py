"""A store against a plain dictionary of lists: whatever is done in whatever order, they agree."""

from __future__ import annotations

import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from profilekeeper.errors import FileMissing, HandEdit
from profilekeeper.store import Author, Change, Store, WorkState, check_integrity

ADA = Author(name="Ada", email="ada@quayside.invalid")
NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
PATHS = st.sampled_from(["quayside/saw-2/profile.yaml", "quayside/saw-2/proven.yaml", "millrace/saw-1/profile.yaml"])
CONTENTS = st.binary(max_size=40)


class StoreAgainstDictionary(RuleBasedStateMachine):
    """`recorded` is what snapshots hold, path by path; `folder` is what lies in the folder."""

    def __init__(self) -> None:
        super().__init__()
        self.base = Path(tempfile.mkdtemp())
        first = {"store.yaml": b"id: 1\n"}
        self.store = Store.start(self.base / "fleet", first, message="Start", author=ADA, at=NOON)
        self.recorded: dict[str, list[tuple[str, bytes]]] = {}
        self.folder: dict[str, bytes] = {}
        self.count = 0

    @rule(path=PATHS, data=CONTENTS)
    def write(self, path: str, data: bytes) -> None:
        self.count += 1
        at = NOON + timedelta(minutes=self.count)
        change = Change(files={path: data}, message=f"{self.count}", author=ADA, at=at)
        old = self.recorded[path][-1][1] if path in self.recorded else None
        here = self.folder.get(path)
        if here is None and old is not None:
            with pytest.raises(FileMissing):
                self.store.write(change)
        elif here not in (None, old, data):
            with pytest.raises(HandEdit):
                self.store.write(change)
        else:
            revision = self.store.write(change)
            if old != data:
                self.recorded.setdefault(path, []).append((revision, data))
            self.folder[path] = data

    @rule(path=PATHS, data=CONTENTS)
    def edit_by_hand(self, path: str, data: bytes) -> None:
        (self.store.folder / path).parent.mkdir(parents=True, exist_ok=True)
        (self.store.folder / path).write_bytes(data)
        self.folder[path] = data

    @rule(path=PATHS)
    def delete_by_hand(self, path: str) -> None:
        (self.store.folder / path).unlink(missing_ok=True)
        self.folder.pop(path, None)

    @precondition(lambda self: self.recorded)
    @rule()
    def put_all_back(self) -> None:
        self.store.put_back(self.recorded)
        self.folder.update({path: versions[-1][1] for path, versions in self.recorded.items()})

    @rule()
    def close_and_open(self) -> None:
        self.store.close()
        self.store = Store.open(self.store.folder)

    @invariant()
    def every_version_is_there(self) -> None:
        for path, versions in self.recorded.items():
            wanted = [(revision, path) for revision, _ in versions]
            assert list(self.store.read_many(wanted)) == [data for _, data in versions]
            assert [entry.revision for entry in self.store.history(path)] == [r for r, _ in reversed(versions)]

    @invariant()
    def the_folder_is_told_as_it_is(self) -> None:
        for path in {*self.recorded, *self.folder}:
            old = self.recorded[path][-1][1] if path in self.recorded else None
            here = self.folder.get(path)
            assert self.store.work_file(path) == here
            state = {
                here == old: WorkState.RECORDED,
                here is None: WorkState.MISSING,
            }.get(True, WorkState.EDITED if old is not None else WorkState.NOT_RECORDED)
            assert self.store.work_state(path) is state

    def teardown(self) -> None:
        kinds = {trouble.kind for trouble in check_integrity(self.store)}
        assert kinds <= {"edited", "missing", "not-recorded"}
        self.store.close()
        shutil.rmtree(self.base)


TestStoreAgainstDictionary = StoreAgainstDictionary.TestCase
TestStoreAgainstDictionary.settings = settings(max_examples=4, stateful_step_count=12, deadline=None)


@pytest.mark.soak
class TestLongStoreAgainstDictionary(StoreAgainstDictionary.TestCase):  # type: ignore[misc]
    settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
