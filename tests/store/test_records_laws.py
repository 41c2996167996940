"""Laws of a snapshot's text and time: what goes in comes out, also by way of git."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.errors import BadName
from profilekeeper.store import Author, Change, Store
from profilekeeper.store.records import compose_message, git_person, git_time, parse_message

texts = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\0\r"))
messages = texts.map(lambda text: text.strip("\n"))
keys = st.from_regex(r"[A-Za-z][A-Za-z0-9-]{0,12}", fullmatch=True)
values = texts
trailers = st.dictionaries(keys, values, min_size=1, max_size=4)
offsets = st.integers(-14 * 60, 14 * 60)


@given(messages, trailers)
def test_message_and_trailers_come_back(message: str, trailers: dict[str, str]) -> None:
    ends = dict(trailers)
    last = list(ends)[-1]
    ends[last] = ends[last].rstrip("\n")

    assert parse_message(compose_message(message, ends)) == (message, ends)


@given(messages)
def test_a_message_alone_comes_back_whole(message: str) -> None:
    body, found = parse_message(compose_message(message, {}))

    assert body == message or found, "unless its last part has the form of trailers"


@given(st.lists(st.tuples(messages, trailers, st.integers(0, 4 * 10**9), offsets), min_size=1, max_size=6))
@settings(max_examples=8, deadline=None)
def test_they_come_back_through_git_and_through_the_index(
    rows: list[tuple[str, dict[str, str], int, int]],
) -> None:
    changes = []
    for n, (message, more, seconds, minutes) in enumerate(rows):
        at = datetime.fromtimestamp(seconds, timezone(timedelta(minutes=minutes)))
        author = Author(name="Ada", email="ada@quayside.invalid")
        kept = {key: value.strip("\n") for key, value in more.items()}
        files = {"quayside/saw-2/profile.yaml": b"%d\n" % n}
        changes.append(Change(files=files, message=message, trailers=kept, author=author, at=at))
    with tempfile.TemporaryDirectory() as folder:
        start = Change(files={}, message="", author=changes[0].author, at=datetime(2020, 1, 1, tzinfo=UTC))
        with Store.start(
            Path(folder) / "f", {"store.yaml": b""}, message="Start", author=start.author, at=start.at
        ) as store:
            revisions = store.write_history(changes)

            by_git = [store.entry(revision) for revision in revisions]
            by_index = {entry.revision: entry for entry in store.history("quayside")}

        for change, entry in zip(changes, by_git, strict=True):
            assert (entry.message, dict(entry.trailers)) == (change.message, dict(change.trailers))
            assert entry.at == change.at
            assert entry.at.utcoffset() == change.at.utcoffset()
            assert by_index[entry.revision] == entry


def test_odd_times_and_names_are_refused() -> None:
    with pytest.raises(BadName, match="time zone"):
        git_time(datetime(2026, 1, 1))
    with pytest.raises(BadName, match="1970"):
        git_time(datetime(1969, 12, 31, tzinfo=UTC))
    for name in ("", " ", "a<b", "a\nb", "a\0b"):
        with pytest.raises(BadName):
            git_person(Author(name=name, email="a@b.invalid"))
    with pytest.raises(BadName):
        compose_message("x", {"Not a key": "1"})
    with pytest.raises(BadName):
        compose_message("x\0", {})


@pytest.mark.parametrize("offset", [timedelta(hours=1, seconds=30), timedelta(hours=15), -timedelta(hours=20)])
def test_an_offset_that_git_cannot_keep_is_told_in_utc(offset: timedelta) -> None:
    at = datetime(2026, 1, 1, 12, tzinfo=timezone(offset))

    assert git_time(at) == f"{int(at.timestamp())} +0000"
