"""Which disputed values still stand when two records of disputes meet."""

from __future__ import annotations

from collections.abc import Callable

from profilekeeper.changes.decisions import Side
from profilekeeper.model.disputes import Candidate, Disputes, united_disputes

__all__ = ["standing"]


def standing(
    disputes: tuple[Disputes, Disputes, Disputes],
    ours_side: Side,
    theirs_side: Side,
    is_ancestor: Callable[[str, str], bool],
) -> Disputes:
    """All candidates of both sides but those that one side has settled.

    A side has settled a candidate that both once knew, that it no longer keeps, and whose snapshot stands in its
    history: it was read at the control since. A side that never heard of a candidate has settled nothing.
    """
    base, ours, theirs = disputes
    both = united_disputes(ours, theirs)

    def is_open(pointer: str, candidate: Candidate) -> bool:
        if candidate not in base.settings.get(pointer, ()):
            return True
        for record, side in ((ours, ours_side), (theirs, theirs_side)):
            gone = candidate not in record.settings.get(pointer, ())
            if gone and is_ancestor(candidate.snapshot, side.wrote(pointer).snapshot):
                return False
        return True

    settings = {p: tuple(c for c in found if is_open(p, c)) for p, found in both.settings.items()}
    return Disputes(settings={p: c for p, c in settings.items() if c}, extra=both.extra)
