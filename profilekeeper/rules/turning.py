"""Whether a screwed joint holds: hand of the thread, direction of rotation, load and braking apart.

Seen from the motor, looking to the tool: load holds the tool back, so a clockwise spindle tightens a right-hand
thread and a counter-clockwise one a left-hand thread. Braking holds the spindle back and the tool runs on: it turns
each of them the other way. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.model.tool import Joint
from profilekeeper.rules.finding import Verdict

__all__ = ["CLOCKWISE", "COUNTER_CLOCKWISE", "Hold", "directions", "holds"]

CLOCKWISE, COUNTER_CLOCKWISE = "clockwise", "counter-clockwise"
_TIGHTENS = {"right": CLOCKWISE, "left": COUNTER_CLOCKWISE}
# Source: common practice, no source: what holds against the full load, and what only hinders a joint that eases.
_FORM_LOCKS = ("key", "pins", "bolts")
_OTHER_LOCKS = ("grub screw", "lock nut")
# Source: common practice, no source: a head that carries on when the spindle stops.
HEAVY_KG = Decimal(5)
SHORT_RAMP_S = Decimal(3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """How one joint holds in one direction, under load or while braking; `says` is a part of a sentence."""

    verdict: Verdict
    says: str


def directions(runs: str | None, rotation: str | None) -> frozenset[str] | None:
    """The directions in which a tool may turn: those it and its spindle allow; None where neither is recorded."""
    both = frozenset((CLOCKWISE, COUNTER_CLOCKWISE))
    sets = [both if word == "both" else frozenset((word,)) for word in (runs, rotation) if word is not None]
    return frozenset.intersection(*sets) if sets else None


def holds(joint: Joint, turning: frozenset[str], weight: Decimal | None, ramp_down: Decimal | None) -> Iterator[Hold]:
    """How a threaded joint holds in every direction it may turn, under load and while braking.

    Units:   `weight` kg, `ramp_down` s; None: not recorded.
    """
    tight = _TIGHTENS.get(joint.hand or "")
    for direction in sorted(turning):
        yield _braking(joint, direction, weight, ramp_down) if direction == tight else _against(joint, direction)


def _against(joint: Joint, direction: str) -> Hold:
    """Under load, the thread turned the way that unscrews it."""
    start = f"turning {direction} unscrews its {joint.hand}-hand thread under load"
    if joint.lock in _FORM_LOCKS:
        return Hold(verdict=Verdict.TIGHT, says=f"{start}; only the {joint.lock} holds it")
    if joint.lock in _OTHER_LOCKS:
        return Hold(verdict=Verdict.FAILS, says=f"{start}; a {joint.lock} does not hold against the load")
    if joint.lock == "none":
        return Hold(verdict=Verdict.FAILS, says=f"{start}, and nothing locks it")
    lock = "its lock is not recorded" if joint.lock in (None, "not known") else "what locks it is not said"
    return Hold(verdict=Verdict.UNKNOWN, says=f"{start}; {lock}")


def _braking(joint: Joint, direction: str, weight: Decimal | None, ramp_down: Decimal | None) -> Hold:
    """While braking, the thread being tightened by the load."""
    start = f"turning {direction} tightens its {joint.hand}-hand thread under load"
    if joint.lock not in (None, "none", "not known"):
        lock = "a lock" if joint.lock == "other" else f"the {joint.lock}"
        return Hold(verdict=Verdict.CLEAR, says=f"{start}, {lock} keeps it while braking")
    lacks = "nothing locks it" if joint.lock == "none" else "no lock is recorded"
    if weight is None:
        return Hold(verdict=Verdict.UNKNOWN, says=f"{start}; braking eases it, {lacks}, and its weight is not recorded")
    if weight >= HEAVY_KG:
        return Hold(verdict=Verdict.TIGHT, says=f"{start}; braking eases it: {weight:f} kg run on and {lacks}")
    if ramp_down is not None and ramp_down < SHORT_RAMP_S:
        return Hold(verdict=Verdict.TIGHT, says=f"{start}; braking in {ramp_down:f} s eases it and {lacks}")
    return Hold(verdict=Verdict.CLEAR, says=f"{start}; {lacks}, so an emergency stop may ease it")
