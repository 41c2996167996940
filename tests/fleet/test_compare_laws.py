"""Laws of comparison: order, unit and sameness."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from profilekeeper.fleet.compare import MachineColumns, compare_columns
from profilekeeper.fleet.rows import Comparison
from profilekeeper.model.kinds import AGREEMENTS

Builder = Callable[..., MachineColumns]
NAMES = ("quayside/saw-1", "quayside/saw-2", "hilltop/saw-1", "station/saw-1", "millrace/saw-1")
INCH = Decimal("25.4")
# Lengths in steps of a ten-thousandth of an inch: exact in inches and, times 25.4, in millimetres.
STEPS = st.one_of(st.sampled_from([300, 301, 7618, 12, 13]), st.integers(-2000, 2000))


def inches(steps: int) -> Decimal:
    return Decimal(steps).scaleb(-4)


@st.composite
def saws(draw: st.DrawFn) -> dict[str, Any]:
    """One saw in inches: a few lengths, an angle, a speed, a word; some of them left out."""
    number = st.one_of(st.none(), STEPS)
    backlash, overcut, trip = draw(number), draw(number), draw(number)
    speed = draw(st.sampled_from([None, 100, 200]))
    axis: dict[str, Any] = {"kind": "linear"}
    if backlash is not None:
        axis["backlash"] = inches(backlash)
    if speed is not None:
        axis["rapid"] = Decimal(speed)
    parts: dict[str, Any] = {"axes": {"Y": axis}}
    if overcut is not None:
        parts["slab"] = {"overcut": inches(overcut)}
    if trip is not None:
        radius = draw(st.sampled_from([40000, 60000]))
        section = {"from": Decimal(0), "to": inches(10000), "radius": inches(radius)}
        number_of_tool = str(draw(st.integers(1, 40)))
        parts["tools"] = {number_of_tool: {"name": "disc", "seat": inches(trip), "sections": [section]}}
    return parts


def in_mm(data: Any) -> Any:
    """The same saw keyed in millimetres: every number of `saws` is a length or a speed in inches."""
    if isinstance(data, dict):
        return {key: in_mm(value) for key, value in data.items()}
    if isinstance(data, list):
        return [in_mm(item) for item in data]
    return data * INCH if isinstance(data, Decimal) else data


def verdicts(comparison: Comparison) -> object:
    """Everything a comparison says, but for the unit that values are shown in."""
    return [
        (c.machines, c.never_recorded, c.hidden, [
            (r.setting, r.verdict, r.missing, r.without, r.at_odds, r.copying,
             sorted((h.state.name, m, bool(h.hint)) for h in r.held for m in h.machines))
            for r in c.rows
        ])
        for c in comparison.classes
    ]  # fmt: skip


@settings(deadline=None)
@given(fleet=st.lists(saws(), min_size=1, max_size=5), order=st.randoms(use_true_random=False))
def test_the_order_of_machines_means_nothing(fleet: list[dict[str, Any]], order: Any, machine: Builder) -> None:
    machines = [machine(n, unit="in", **parts) for n, parts in zip(NAMES, fleet, strict=False)]
    shuffled = list(machines)
    order.shuffle(shuffled)

    assert compare_columns(shuffled, include=AGREEMENTS) == compare_columns(machines, include=AGREEMENTS)


@settings(deadline=None)
@given(fleet=st.lists(saws(), min_size=1, max_size=5), which=st.integers(0, 4))
def test_a_machine_that_changes_from_inch_to_millimetre_changes_no_verdict(
    fleet: list[dict[str, Any]], which: int, machine: Builder
) -> None:
    which %= len(fleet)
    before = [machine(n, unit="in", **parts) for n, parts in zip(NAMES, fleet, strict=False)]
    step = Decimal("0.0001") * INCH
    after = list(before)
    after[which] = machine(NAMES[which], unit="mm", step=step, **in_mm(fleet[which]))

    assert verdicts(compare_columns(after)) == verdicts(compare_columns(before))


@settings(deadline=None)
@given(saw=saws(), count=st.integers(2, 5))
def test_sisters_with_everything_the_same_have_no_deviations(saw: dict[str, Any], count: int, machine: Builder) -> None:
    result = compare_columns([machine(name, unit="in", **saw) for name in NAMES[:count]])

    assert not result.deviations
    assert all(not (r.missing or r.without or r.tied) for c in result.classes for r in c.rows)


@settings(deadline=None)
@given(saw=saws(), other=saws(), count=st.integers(2, 4))
def test_one_more_sister_like_the_rest_puts_nobody_else_at_odds(
    saw: dict[str, Any], other: dict[str, Any], count: int, machine: Builder
) -> None:
    alike = [machine(name, unit="in", **saw) for name in NAMES[:count]]
    odd = machine(NAMES[4], unit="in", **other)

    found = compare_columns([*alike, odd])

    assert all(set(r.at_odds) <= {NAMES[4]} for r in found.deviations)
