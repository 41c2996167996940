"""Changes of plain data: what an edit is measured by."""

from __future__ import annotations

import copy
from random import Random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from profilekeeper.formats import REMOVED, changed
from profilekeeper.formats.changed_data import in_order
from profilekeeper.model import pointer as pointers

from . import handwritten


def test_values_change_come_and_go() -> None:
    data = {"a": 1, "b": {"c": [1, 2, 3]}, "d": "x"}

    after = changed(data, {"/a": 5, "/b/c/0": REMOVED, "/b/c/2": 9, "/b/c/-": 4, "/b/e": {"f": 1}, "/d": REMOVED})

    assert after == {"a": 5, "b": {"c": [2, 9, 4], "e": {"f": 1}}}


def test_removals_in_a_list_come_last_and_from_its_end() -> None:
    data = {"a": list(range(12))}

    order = in_order(data, {"/a/2": REMOVED, "/a/11": REMOVED, "/a/13": "y", "/a/12": "x", "/a/0": 5})

    assert [pointer for pointer, _ in order] == ["/a/0", "/a/12", "/a/13", "/a/11", "/a/2"]


def test_names_are_added_in_the_order_given() -> None:
    assert list(changed({"m": 1}, {"/z": 1, "/a": 2, "/k": 3})) == ["m", "z", "a", "k"]  # type: ignore[call-overload]  # a dict


@given(st.randoms(use_true_random=False))
def test_the_data_given_stay_as_they_are(random: Random) -> None:
    data = handwritten.group(random)
    kept: Any = copy.deepcopy(data)

    changed(data, handwritten.changes(random, data))

    assert data == kept


@given(st.randoms(use_true_random=False))
def test_every_change_is_made_and_no_other(random: Random) -> None:
    data = handwritten.group(random)
    changes = handwritten.changes(random, data)
    # With nothing removed every pointer still names its place afterwards.
    kept = {name: value for name, value in changes.items() if value is not REMOVED and not name.endswith("-")}

    after = changed(data, kept)

    for name, value in kept.items():
        assert pointers.resolve(after, name) == value
    for name, value in pointers.walk(data):
        if not any(pointers.is_prefix(change, name) or pointers.is_prefix(name, change) for change in kept):
            assert pointers.resolve(after, name) == value
