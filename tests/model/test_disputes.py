"""The record of disputed settings: a set that unites and loses nothing but what a reading settles."""

from __future__ import annotations

from typing import Any

import pytest

from profilekeeper.errors import InvalidProfile
from profilekeeper.model.disputes import NO_DISPUTES, Candidate, Disputes, disputes_data, read_disputes, united_disputes
from profilekeeper.model.schema import problems

AT = "/tools/@k7mq2fzd/length"
ONE = Candidate(value="118 mm", snapshot="1" * 40, by="R. Okonjo", at="2026-03-01T08:00:00+00:00")
OTHER = Candidate(value=None, snapshot="2" * 40, extra={"x-note": "at night"})


def data() -> dict[str, Any]:
    return {
        "disputes": 1,
        "settings": {
            AT: [
                {"value": "118 mm", "snapshot": "1" * 40, "by": "R. Okonjo", "at": "2026-03-01T08:00:00+00:00"},
                {"value": None, "snapshot": "2" * 40, "x-note": "at night"},
            ]
        },
        "x-own": 1,
    }


def test_what_is_read_is_written_again() -> None:
    assert disputes_data(read_disputes(data())) == data()
    assert problems("disputes", disputes_data(read_disputes(data()))) == ()


def test_no_file_is_no_disputes() -> None:
    assert read_disputes(None) == NO_DISPUTES
    assert not NO_DISPUTES
    assert problems("disputes", disputes_data(NO_DISPUTES)) == ()


def test_a_record_that_is_none_is_refused_with_its_place() -> None:
    with pytest.raises(InvalidProfile, match=r"quayside/saw-2/disputes\.yaml: /settings"):
        read_disputes({"disputes": 1, "settings": {AT: [{"value": "1 mm"}]}}, source="quayside/saw-2/disputes.yaml")


def test_uniting_keeps_each_candidate_once_whatever_the_order() -> None:
    one, other = Disputes(settings={AT: (ONE,)}), Disputes(settings={AT: (OTHER, ONE), "/notes/a": (ONE,)})

    united = united_disputes(one, other)

    assert united == united_disputes(other, one) == united_disputes(united, united)
    assert len(united.settings[AT]) == 2
    assert set(united.settings) == {AT, "/notes/a"}


def test_a_reading_settles_only_what_it_could_know_of() -> None:
    disputes = Disputes(settings={AT: (ONE, OTHER)})
    known = {("1" * 40, "9" * 40)}

    left = disputes.settled(AT, reading="9" * 40, is_ancestor=lambda old, new: (old, new) in known)

    assert left.settings == {AT: (OTHER,)}
    assert left.settled(AT, reading="9" * 40, is_ancestor=lambda old, new: True) == NO_DISPUTES
    assert disputes.settled("/notes/a", reading="9" * 40, is_ancestor=lambda old, new: True) == disputes


def test_disputes_without_a_thing_are_without_what_lies_inside_it() -> None:
    disputes = Disputes(settings={AT: (ONE,), "/tools/@k7mq2fzdx": (ONE,)})

    assert set(disputes.without(["/tools/@k7mq2fzd"]).settings) == {"/tools/@k7mq2fzdx"}


def test_candidates_are_added_to_those_that_are_there() -> None:
    disputes = Disputes(settings={AT: (ONE,)}).with_candidates(AT, [OTHER])

    assert len(disputes.settings[AT]) == 2
