"""What becomes of disputed settings when two stores meet again."""

from __future__ import annotations

from decimal import Decimal as D

from profilekeeper.changes import Merged, Reading, Side
from profilekeeper.model.disputes import NO_DISPUTES, Candidate, Disputes
from profilekeeper.model.pointer import resolve

from .built import OURS, THEIRS, changed, merged, put, record

AT = "/tools/@k7mq2fzd/length"
FIRST = Candidate(value="118 mm", snapshot="1" * 40, by="R. Okonjo", at="2026-03-01T08:00:00+00:00")
SECOND = Candidate(value="117 mm", snapshot="2" * 40, by="M. Halvorsen", at="2026-03-01T09:00:00+00:00")
THIRD = Candidate(value="116 mm", snapshot="3" * 40, by="J. Ferreira", at="2026-03-02T09:00:00+00:00")


def disputed(*candidates: Candidate) -> Disputes:
    return Disputes(settings={AT: candidates})


def values(result: Merged) -> set[str | None]:
    return {c.value for c in result.disputes.settings.get(AT, ())}


def length(result: Merged) -> object:
    return resolve(dict(result.data), "/tools/4/length")


def test_a_dispute_that_one_side_has_stands_after_the_merge() -> None:
    result = merged(record(), record(), record(), disputes=(NO_DISPUTES, disputed(FIRST, SECOND), NO_DISPUTES))

    assert values(result) == {"117 mm", "118 mm"}
    assert length(result) == D("119.800")


def test_a_reading_that_knew_of_both_candidates_settles_the_dispute() -> None:
    read = changed(record(), put("tools/4/length", D("117.4")))
    known = frozenset({("1" * 40, "b" * 40), ("2" * 40, "b" * 40)})
    both = disputed(FIRST, SECOND)

    result = merged(record(), record(), read, disputes=(both, both, NO_DISPUTES), ancestors=known)

    assert (length(result), values(result)) == (D("117.4"), set())


def test_a_reading_that_knew_of_one_candidate_takes_the_place_of_that_one() -> None:
    read = changed(record(), put("tools/4/length", D("117.4")))
    known = frozenset({("1" * 40, "b" * 40)})

    result = merged(
        record(), record(), read, disputes=(NO_DISPUTES, disputed(FIRST, SECOND), NO_DISPUTES), ancestors=known
    )

    assert values(result) == {"117 mm", "117.4 mm"}
    assert length(result) == D("119.800")


def test_a_settled_dispute_with_a_candidate_unknown_to_the_reading_is_disputed_again() -> None:
    known = frozenset({("1" * 40, "b" * 40), ("2" * 40, "b" * 40)})
    both = disputed(FIRST, SECOND)

    for value in (D("117.4"), D("119.800")):
        read = changed(record(), put("tools/4/length", value))
        result = merged(
            record(), record(), read, disputes=(both, disputed(FIRST, SECOND, THIRD), NO_DISPUTES), ancestors=known
        )
        assert values(result) == {"116 mm", f"{value} mm"}
        assert length(result) == D("119.800")


def test_a_candidate_gone_without_a_reading_that_knew_of_it_stays() -> None:
    both = disputed(FIRST, SECOND)

    result = merged(record(), record(), record(), disputes=(both, both, NO_DISPUTES))

    assert values(result) == {"117 mm", "118 mm"}


def test_candidates_name_the_snapshot_that_recorded_the_value_not_the_one_that_is_merged() -> None:
    def who(pointer: str) -> Reading:
        return Reading(snapshot="9" * 40, by="J. Ferreira") if pointer == AT else OURS.reading

    ours = changed(record(), put("tools/4/length", D("118.0")))
    theirs = changed(record(), put("tools/4/length", D("117.0")))

    result = merged(record(), ours, theirs, sides=(Side(reading=OURS.reading, of=who), THEIRS))

    assert {c.snapshot for c in result.disputes.settings[AT]} == {"9" * 40, THEIRS.reading.snapshot}
