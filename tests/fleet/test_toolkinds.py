"""Which tools of several machines are of one kind."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from profilekeeper.fleet.columns import columns_of
from profilekeeper.fleet.toolkinds import tool_kinds
from profilekeeper.model.profile import Profile

Builder = Callable[..., Profile]
PLAIN = {"from": 0, "to": 70, "radius": 40}


@pytest.mark.parametrize(
    ("sections", "kinds"),
    [
        ([PLAIN], 1),
        ([{**PLAIN, "name": "the disc"}], 1),
        ([{**PLAIN, "radius": "40.0004 mm"}], 1),
        ([{**PLAIN, "radius": 41}], 2),
        ([PLAIN, {"from": 70, "to": 90, "radius": 10}], 2),
        ([{**PLAIN, "soft": True}], 2),
        ([], 2),
    ],
    ids=["the same", "a name of the section", "as rounded", "wider", "one more section", "soft", "no sections"],
)
def test_tools_of_one_name_are_one_kind_if_their_sections_are_the_same_as_rounded(
    profile: Builder, sections: list[dict[str, Any]], kinds: int
) -> None:
    both = [columns_of(profile(tools={"1": {"name": "disc", "sections": s}})) for s in ([PLAIN], sections)]

    found, notes = tool_kinds(both)

    assert len(set(found.values())) == kinds
    assert len(notes) == kinds - 1


def test_a_soft_and_a_hard_section_are_not_the_same(profile: Builder) -> None:
    both = [
        columns_of(profile(tools={"1": {"name": "disc", "sections": [{**PLAIN, "soft": soft}]}}))
        for soft in (True, False)
    ]

    assert len(set(tool_kinds(both)[0].values())) == 2


def test_kinds_are_counted_in_the_same_order_whatever_the_order_of_machines(profile: Builder) -> None:
    all_three = [
        columns_of(profile(tools={"1": {"name": "disc", "sections": [{**PLAIN, "radius": radius}]}}))
        for radius in (40, 50, 60)
    ]

    assert tool_kinds(all_three) == tool_kinds(all_three[::-1])
