"""ISO 13854:2017 (was EN 349), minimum gaps to avoid crushing of parts of the human body.

Source: the table as restated by the Austrian accident insurer AUVA in its entry on safety distances (the standard
itself was not at hand); 25 mm for a finger also in three other restatements. Its scope, crushing only, from the
abstracts of shops that sell the standard.
"""

from __future__ import annotations

from profilekeeper.model.schema import schema
from profilekeeper.rules.pinch import LEAST_GAP_MM


def test_the_least_gaps_are_those_of_the_standard() -> None:
    assert LEAST_GAP_MM == {
        "body": 500, "head": 300, "leg": 180, "foot": 120, "toes": 50, "arm": 120, "hand": 100, "finger": 25,
    }  # fmt: skip


def test_a_rule_may_name_every_part_of_the_standard_and_no_other() -> None:
    assert set(schema("rules")["$defs"]["rule"]["properties"]["part"]["enum"]) == set(LEAST_GAP_MM)
