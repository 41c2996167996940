"""Laws of merging: no side is special, nothing is invented, nothing is lost, the result is a machine record."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.changes.three_way import merge_disputes
from profilekeeper.errors import InvalidQuantity
from profilekeeper.model.disputes import NO_DISPUTES, Candidate, Disputes
from profilekeeper.model.profile import profile_problems
from profilekeeper.model.settings import Value
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity, parse_length

from .built import OURS, THEIRS, is_same_data, merged
from .generated import Data, Maker, machine, quick, seeds, sizes, switched, versions

CASES = settings(quick, max_examples=60)


@CASES
@given(versions())
def test_what_only_one_side_changed_is_its_version(pair: tuple[Data, Data]) -> None:
    base, side = pair

    for result in (merged(base, side, base), merged(base, base, side), merged(base, side, side)):
        assert is_same_data(result.data, side)
        assert not result.disputes


@CASES
@given(versions(count=3))
def test_a_merge_is_the_same_from_either_side(three: tuple[Data, Data, Data]) -> None:
    base, ours, theirs = three

    here, there = merged(base, ours, theirs), merged(base, theirs, ours, sides=(THEIRS, OURS))

    assert is_same_data(here.data, there.data)
    assert list(_in_order(here.data)) == list(_in_order(there.data))
    assert here.disputes == there.disputes
    mirrored = sorted((d.mirrored() for d in there.decisions), key=lambda d: (d.pointer, d.value))
    assert tuple(mirrored) == here.decisions


@CASES
@given(versions(count=3))
def test_every_value_of_the_result_stood_in_one_of_the_versions(three: tuple[Data, Data, Data]) -> None:
    result = merged(*three)

    known = {value for data in three for value in _values(data)}
    assert profile_problems(dict(result.data)) == ()
    assert _values(dict(result.data)) <= known | _numbers(three)


@CASES
@given(versions(count=3))
def test_every_new_value_is_in_the_result_or_among_the_candidates(three: tuple[Data, Data, Data]) -> None:
    """A tool length that a side set stands in the result, or a candidate of that side is kept for it."""
    base, ours, theirs = three
    result = merged(*three)
    kept = {c.by for found in result.disputes.settings.values() for c in found}

    for side, by in ((ours, OURS.reading.by), (theirs, THEIRS.reading.by)):
        fresh = {(key, value) for key, value in _values(side) - _values(base) if value not in ("{}", "[]")}
        # References follow their tool; one whose tool is left out is told among the decisions, not the candidates.
        lost = fresh - _values(dict(result.data)) - _numbers(three)
        assert not lost or by in kept, lost


@pytest.mark.soak
@settings(quick, max_examples=3000)
@given(versions(count=3))
def test_merges_hold_together_thousands_of_times(three: tuple[Data, Data, Data]) -> None:
    base, ours, theirs = three
    here, there = merged(base, ours, theirs), merged(base, theirs, ours, sides=(THEIRS, OURS))

    assert is_same_data(here.data, there.data)
    assert here.disputes == there.disputes
    assert is_same_data(merged(base, ours, base).data, ours)


@CASES
@given(seeds, sizes)
def test_a_change_of_unit_never_disputes_anything(seed: int, size: int) -> None:
    maker = Maker(seed, size)
    base = maker.record("mm")
    ours, theirs = maker.edited(base, 0), maker.edited(base, 0)
    switched(ours)
    maker.unit = "mm"
    maker.change_leaf(theirs)
    maker.add_tool(theirs)

    result = merged(base, ours, theirs)

    assert not result.disputes
    exact = {p: s.value for p, s in machine(theirs).settings.items() if isinstance(s.value, (Length, Angle))}
    resolution = ("/resolution/length",)
    assert {p: result.profile.value(p) for p in exact if p not in resolution} == {
        p: v for p, v in exact.items() if p not in resolution
    }


texts = st.sampled_from(["1 mm", "2 mm", "3 mm", None])
snapshots = st.sampled_from([c * 40 for c in "0123"])
records_of_disputes = st.dictionaries(
    st.sampled_from(["/a", "/b"]),
    st.lists(st.builds(Candidate, value=texts, snapshot=snapshots), min_size=1, max_size=3).map(tuple),
    max_size=2,
).map(lambda settings: Disputes(settings=settings))


@quick
@given(records_of_disputes, records_of_disputes, records_of_disputes)
def test_disputes_unite_and_only_a_knowing_side_settles(base: Disputes, ours: Disputes, theirs: Disputes) -> None:
    def unite(*three: Disputes) -> Disputes:
        return merge_disputes(*three, ours_side=OURS, theirs_side=THEIRS, is_ancestor=lambda old, new: True)

    result = unite(base, ours, theirs)

    assert result == unite(base, theirs, ours)
    kept = {(p, c) for p, found in result.settings.items() for c in map(_text, found)}
    for pointer, found in ours.settings.items():
        for candidate in found:
            was_known = candidate in base.settings.get(pointer, ())
            is_settled = was_known and candidate not in theirs.settings.get(pointer, ())
            assert ((pointer, _text(candidate)) in kept) is not is_settled
    unsettled = merge_disputes(
        NO_DISPUTES, ours, theirs, ours_side=OURS, theirs_side=THEIRS, is_ancestor=lambda old, new: True
    )
    assert set(unsettled.settings) == {*ours.settings, *theirs.settings}


def _text(candidate: Candidate) -> tuple[str | None, str]:
    return candidate.value, candidate.snapshot


def _in_order(data: Any) -> Any:
    """Every key in the order in which it stands: stores that merge alone must write the same text."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield key
            yield from _in_order(value)
    elif isinstance(data, list):
        for value in data:
            yield from _in_order(value)


def _values(data: Data) -> set[tuple[str, object]]:
    """Every exact value with the key that it stands under."""
    found = set()
    for pointer, setting in machine(data).settings.items():
        value = setting.value
        if pointer.startswith("/rules/"):
            value = _amount(value, data)
        exact = (value.base, value.base_unit) if isinstance(value, (Length, Angle, Quantity)) else value
        key = pointer.rpartition("/")[2]
        found.add(("#" if key.isdigit() else key, exact))
    return found - {("length", "mm"), ("length", "in")}


def _amount(value: Value, data: Data) -> Value:
    """A bare amount of a rule is in the record's own unit: -91 in a millimetre record and "-91 mm" are one value."""
    if isinstance(value, str):
        try:
            return parse_length(value)
        except InvalidQuantity:
            return value
    is_bare = isinstance(value, Decimal) and not isinstance(value, bool)
    return Length(value, LengthUnit(data["units"]["length"])) if is_bare else value


def _numbers(three: tuple[Data, ...]) -> set[tuple[str, object]]:
    """Tool numbers, which references follow, and shells of branches that lost all they held."""
    numbers = {number for data in three for number in data.get("tools", {})}
    keys = {key for data in three for key in (*data, "touch_off", "diameter", "settings", "main", "default", "big")}
    keys |= numbers | {"mounted", "tools", "Y", "Z", "X", "A", "G54", "G55", "joints", "sections", "#"}
    return {(key, number) for key in keys for number in (*numbers, "{}", "[]")}
