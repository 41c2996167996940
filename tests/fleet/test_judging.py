"""Which value is shared: agreement by tolerance, ties, and the same answer by plain counting."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilekeeper.fleet.columns import cell
from profilekeeper.fleet.judging import Point, judged
from profilekeeper.fleet.rows import State, Verdict

STEP = Decimal("0.001")


def points(*texts: str, step: Decimal | None = STEP) -> list[Point]:
    """One machine for each text, m0, m1 ..."""
    return [Point(cell=cell(text), step=step, machines=(f"m{place}",)) for place, text in enumerate(texts)]


def test_values_close_to_each_other_share_the_one_most_agree_with() -> None:
    outcome = judged(points("L1.00 mm", "L1.02 mm", "L1.04 mm", "L1.05 mm"), Decimal("0.02"), None)

    assert outcome.shared is not None
    assert outcome.shared.cell.shown in ("1.02 mm", "1.04 mm")
    assert outcome.verdict is Verdict.SOME_DEVIATE


def test_the_shared_value_is_shown_as_most_write_it() -> None:
    outcome = judged(points("L25.4 mm", "L1 in", "L25.4 mm"), Decimal(0), None)

    assert outcome.shared is not None
    assert outcome.shared.cell.shown == "25.4 mm"


@pytest.mark.parametrize("digits", ["0." + "1" * 29, "1" * 29])
def test_the_longest_numbers_are_compared_exactly(digits: str) -> None:
    longer = digits[:-1] + "2"

    outcome = judged(points(f"L{digits} mm", f"L{digits} mm", f"L{longer} mm", step=None), Decimal(0), None)

    assert [h.state for h in outcome.held] == [State.SHARED, State.DEVIATES]


def test_nothing_to_judge_is_not_agreement() -> None:
    assert judged([], Decimal(0), None).verdict is Verdict.TOO_FEW


@given(
    st.lists(st.integers(0, 12), min_size=1, max_size=9),
    st.sampled_from(["0", "0.001", "0.003"]),
    st.sampled_from([None, "0.001", "0.004"]),
)
def test_the_shared_value_has_most_support_by_plain_counting(numbers: list[int], within: str, step: str | None) -> None:
    size, slack = Decimal(step) if step else None, Decimal(within)
    reach = max(slack, size / 2 if size else Decimal(0))
    values = [Decimal(n) / 1000 for n in numbers]
    support = [sum(abs(a - b) <= reach for b in values) for a in values]
    best = {v for v, n in zip(values, support, strict=True) if n == max(support)}

    outcome = judged(points(*(f"L{v:f} mm" for v in values), step=size), slack, None)

    if outcome.shared is None:
        assert max(best) - min(best) > reach
    else:
        assert outcome.shared.cell.base in best
        off = {f"m{i}" for i, v in enumerate(values) if abs(v - (outcome.shared.cell.base or 0)) > reach}
        assert {m for h in outcome.held if h.state is State.DEVIATES for m in h.machines} == off


def test_many_sisters_with_one_value_are_judged_in_a_moment() -> None:
    many = [Point(cell=cell(f"L{'0' * (n % 9)}1.5 mm"), step=STEP, machines=(f"m{n}",)) for n in range(5_000)]

    outcome = judged(many, Decimal(1), None)

    assert outcome.verdict is Verdict.ALL_AGREE
    assert sum(len(h.machines) for h in outcome.held) == 5_000
