"""Mount threads against the standards and handbook tables they come from.

Sources, each with how it was seen:
- G 1/2, ISO 228-1: from memory, reproduced by the Whitworth formula below.
- G 1, ISO 228-1: a stored thread data set quoting a chart.
- 3/8 and 1/8 pipe: a handbook excerpt (taper table, at the gauge plane, which shares these diameters).
- M14 x 2, ISO 262 coarse: a shop chart; the diameters by d - 0.649519 P and d - 1.082532 P.
- 5/8-11 UNC: from memory; common on hand-held stone tools.
- Whitworth form: depth h = 0.640327 P rounded to 0.001, pitch diameter = major - h, minor = major - 2 h.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal

import pytest

from profilekeeper.model.tool import Joint
from profilekeeper.rules.threads import differences, thread_of

TABLE = [  # mark, turns an inch, pitch, major, pitch diameter, minor
    ("G 1/8", 28, "0.907", "9.728", "9.147", "8.566"),
    ("G 3/8", 19, "1.337", "16.662", "15.806", "14.950"),
    ("G 1/2", 14, "1.814", "20.955", "19.793", "18.631"),
    ("G 1", 11, "2.309", "33.249", "31.770", "30.291"),
]
WITHIN = Decimal("0.002")  # tables of one thread differ by 0.001 from edition to edition


def joint(**said: object) -> Joint:
    blank = dict.fromkeys(("name", "kind", "thread", "size", "pitch", "hand", "lock"))
    return Joint(pointer="", **{**blank, **said})  # type: ignore[arg-type]


@pytest.mark.parametrize(("mark", "turns", "pitch", "major", "across", "minor"), TABLE)
def test_pipe_threads_are_those_of_the_table(
    mark: str, turns: int, pitch: str, major: str, across: str, minor: str
) -> None:
    thread = thread_of(mark)

    assert thread is not None
    assert thread.pitch == Decimal(pitch) == (Decimal("25.4") / turns).quantize(Decimal("0.001"))
    assert abs(thread.major - Decimal(major)) <= WITHIN
    depth = (Decimal("0.640327") * Decimal("25.4") / turns).quantize(Decimal("0.001"), ROUND_HALF_EVEN)
    assert abs(thread.major - depth - Decimal(across)) <= WITHIN
    assert abs(thread.major - 2 * depth - Decimal(minor)) <= WITHIN


def test_m14_is_a_coarse_thread_of_2() -> None:
    thread = thread_of("M14")

    assert thread is not None
    assert thread.pitch is not None
    assert (thread.major, thread.pitch) == (Decimal(14), Decimal(2))
    assert round(thread.major - Decimal("0.649519") * thread.pitch, 3) == Decimal("12.701")
    assert round(thread.major - Decimal("1.082532") * thread.pitch, 3) == Decimal("11.835")


def test_five_eighths_eleven() -> None:
    thread = thread_of("5/8-11 UNC")

    assert thread is not None
    assert (thread.major, thread.pitch) == (Decimal("15.875"), Decimal("2.309"))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("5/8-11 UNC", "G 1"),  # 11 turns an inch both, but another angle and diameter
        ("G 1/2", "R 1/2"),  # parallel and taper share pitch and diameters, and do not go together
        ("M14", "M14x1.5"),
        ("M14", "5/8-11"),
    ],
)
def test_threads_that_are_easily_mistaken_do_not_go_together(one: str, other: str) -> None:
    assert list(differences(joint(kind="thread", thread=one), joint(kind="thread", thread=other)))


@pytest.mark.parametrize(("one", "other"), [("G 1/2", "g1/2"), ("M14", "M14 x 2"), ("5/8-11", '5/8"-11 UNC')])
def test_marks_of_one_thread_go_together(one: str, other: str) -> None:
    assert not list(differences(joint(kind="thread", thread=one), joint(kind="thread", thread=other)))


def test_the_half_of_a_pipe_thread_is_no_diameter() -> None:
    half = thread_of("G 1/2")

    assert half is not None
    assert half.major - Decimal("12.7") > 8


@pytest.mark.parametrize("mark", ["", "M", "0/0-11", "5/0-11", "7/8-0", "G 9/7", "cone 40", "MT3", "x" * 2000])
def test_a_mark_that_is_no_thread_is_none(mark: str) -> None:
    assert thread_of(mark) is None
