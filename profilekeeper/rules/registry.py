"""Which function judges which kind of rule. A new kind is one file and one line here, one word in the schema."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from profilekeeper.model.ruleset import Rule
from profilekeeper.rules.adds_up import judge_adds_up
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding
from profilekeeper.rules.headroom import judge_headroom
from profilekeeper.rules.invalid import judge_invalid
from profilekeeper.rules.limit import judge_limit
from profilekeeper.rules.mount import judge_mount
from profilekeeper.rules.pinch import judge_pinch
from profilekeeper.rules.reach import judge_reach
from profilekeeper.rules.reference import judge_reference
from profilekeeper.rules.safe_z import judge_safe_z
from profilekeeper.rules.shift import judge_shift
from profilekeeper.rules.stale import judge_stale
from profilekeeper.rules.step import judge_step
from profilekeeper.rules.swing import judge_swing
from profilekeeper.rules.travel import judge_travel

__all__ = ["KINDS", "Judge"]

Judge = Callable[[Rule, Case], Iterator[Finding]]

KINDS: Mapping[str, Judge] = {
    "limit": judge_limit,
    "travel": judge_travel,
    "reference": judge_reference,
    "step": judge_step,
    "shift": judge_shift,
    "adds-up": judge_adds_up,
    "stale": judge_stale,
    "invalid": judge_invalid,
    "swing": judge_swing,
    "headroom": judge_headroom,
    "mount": judge_mount,
    "reach": judge_reach,
    "safe-z": judge_safe_z,
    "pinch": judge_pinch,
}
