"""The second way to edit: by a general-purpose library's round trip."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest

from profilekeeper.errors import FormatError
from profilekeeper.formats import REMOVED, changed, loads, same
from profilekeeper.formats.round_trip import round_trip

from . import handwritten

GOOD = Path(__file__).resolve().parents[1] / "examples" / "formats" / "good"


@pytest.mark.parametrize("name", ["forty_tools_flow.yaml", "forty_tools_block.yaml"])
def test_a_profile_comes_through_byte_for_byte_but_for_its_change(name: str) -> None:
    text = (GOOD / name).read_text(encoding="utf-8")

    after = round_trip(text, loads(text), {"/tools/7/length": Decimal("18.250")})

    assert after.replace("18.250", "207.730") == text


def test_line_ends_stay() -> None:
    text = "a: 1\r\nb:  # c\r\n  - x\r\n"

    assert round_trip(text, loads(text), {"/a": 2}) == text.replace("1", "2")


def test_no_spelling_is_understood_and_respelt_on_the_way() -> None:
    text = "a: +5\nb: .5000\n010: 1\non: 2026-03-04\nc: ~\nd: TRUE\ne: 'x'\nf: [+1, -0.0]\n"

    after = round_trip(text, loads(text), {"/g": [1, "no", None, True, Decimal("1.50")], "/e": REMOVED})

    assert after == text.replace("e: 'x'\n", "") + 'g:\n  - 1\n  - "no"\n  - null\n  - true\n  - 1.50\n'


def test_a_text_it_cannot_carry_is_refused_in_one_sentence() -> None:
    text = 'a: "x"   \nb: #+\n  c\n\n'

    with pytest.raises(FormatError, match="this file cannot be edited"):
        round_trip(text, loads(text), {"/a": 1})


def test_it_mostly_gives_the_wanted_data_and_else_says_so() -> None:
    # Its result is never used unread: `edit` compares it with what was wanted, as is done here.
    right = sum(_is_right(Random(seed)) for seed in range(200))

    assert right >= 160


def _is_right(random: Random) -> bool:
    data: Any = handwritten.group(random)
    text = handwritten.text_of(random, data).removeprefix("\ufeff")
    changes = handwritten.changes(random, data)
    try:
        return same(loads(round_trip(text, data, changes)), changed(data, changes))
    except FormatError:
        return False
