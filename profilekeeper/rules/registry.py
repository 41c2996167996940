"""Which function judges which kind of rule. A new kind is one file and one line here, one word in the schema.

A kind's file is loaded when its first rule is judged: starting the program never waits for geometry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib import import_module

from profilekeeper.model.ruleset import Rule
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding

__all__ = ["KINDS", "Judge"]

Judge = Callable[[Rule, Case], Iterator[Finding]]


def _kind(name: str) -> Judge:
    """The judge of a kind: `judge_NAME` in the module of that name."""
    word = name.replace("-", "_")

    def judge(rule: Rule, case: Case) -> Iterator[Finding]:
        function: Judge = getattr(import_module(f"profilekeeper.rules.{word}"), f"judge_{word}")
        return function(rule, case)

    return judge


KINDS: Mapping[str, Judge] = {
    name: _kind(name)
    for name in (
        "limit", "travel", "reference", "step", "shift", "adds-up", "stale", "invalid", "swing", "headroom", "mount",
        "reach", "safe-z", "pinch",
    )
}  # fmt: skip
