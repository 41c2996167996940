"""Which disputed values still stand when two records of disputes meet."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from profilekeeper.changes.decisions import Side
from profilekeeper.model.disputes import Candidate, Disputes, united_disputes

__all__ = ["Standing", "standing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What is still disputed, and for each setting which sides (ours, theirs) settled something of it."""

    disputes: Disputes
    settlers: Mapping[str, tuple[bool, bool]]


def standing(
    disputes: tuple[Disputes, Disputes, Disputes],
    ours_side: Side,
    theirs_side: Side,
    is_ancestor: Callable[[str, str], bool],
) -> Standing:
    """All candidates of both sides but those that one side has settled.

    A side has settled a candidate that both once knew, that it no longer keeps, and whose snapshot stands in its
    history: it was read at the control since. A side that never heard of a candidate has settled nothing.
    """
    base, ours, theirs = disputes
    both = united_disputes(ours, theirs)

    def settlers(pointer: str, candidate: Candidate) -> tuple[bool, bool]:
        was_known = candidate in base.settings.get(pointer, ())
        sides = ((ours, ours_side), (theirs, theirs_side))
        one, other = (
            was_known
            and candidate not in record.settings.get(pointer, ())
            and is_ancestor(candidate.snapshot, side.wrote(pointer).snapshot)
            for record, side in sides
        )
        return one, other

    who: dict[str, tuple[bool, bool]] = {}
    left: dict[str, tuple[Candidate, ...]] = {}
    for pointer, found in both.settings.items():
        by = {candidate.snapshot + str(candidate.value): settlers(pointer, candidate) for candidate in found}
        who[pointer] = any(b[0] for b in by.values()), any(b[1] for b in by.values())
        left[pointer] = tuple(c for c in found if not any(by[c.snapshot + str(c.value)]))
    open_still = Disputes(settings={p: c for p, c in left.items() if c}, extra=both.extra)
    return Standing(disputes=open_still, settlers=who)
