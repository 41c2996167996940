"""Two versions of a machine's settings, recorded without knowing of each other, made one.

What only one side changed is taken from it; what both changed alike is one change; what both changed differently
is disputed: the value both last knew stays, and each candidate is kept by name until somebody reads the control.
The result does not depend on which side is whose, and holds no value that stood in neither.
"""

from __future__ import annotations

from collections.abc import Callable

from profilekeeper.changes.decisions import Merged, Side
from profilekeeper.changes.finishing import Finisher
from profilekeeper.changes.merging import Merger
from profilekeeper.changes.pairing import tokens_of_three
from profilekeeper.changes.standing import standing
from profilekeeper.changes.tree import tree_of
from profilekeeper.errors import InvalidProfile
from profilekeeper.model.disputes import NO_DISPUTES, Disputes
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import LengthUnit

__all__ = ["merge", "merge_disputes"]

_MOST_ROUNDS = 40


def merge(
    base: Profile | None,
    ours: Profile,
    theirs: Profile,
    *,
    ours_side: Side,
    theirs_side: Side,
    is_ancestor: Callable[[str, str], bool],
    disputes: tuple[Disputes, Disputes, Disputes] = (NO_DISPUTES, NO_DISPUTES, NO_DISPUTES),
) -> Merged:
    """Both versions made one, with what was decided and what is disputed.

    `base` is the version both started from (None: there is none), `disputes` the records of base, ours and
    theirs, `is_ancestor(a, b)` whether snapshot a is b or stands in its history.
    Raises:  InvalidProfile, if the two are not versions of one machine.
    """
    _refuse_two_machines(ours, theirs)
    tokens = tokens_of_three(base, ours, theirs)
    trees = (tree_of(base, tokens[0]) if base else None, tree_of(ours, tokens[1]), tree_of(theirs, tokens[2]))
    open_still = standing(disputes, ours_side, theirs_side, is_ancestor)
    whole: frozenset[tuple[str, ...]] = frozenset()
    for _ in range(_MOST_ROUNDS):
        merger = Merger(
            (base, ours, theirs), trees, (ours_side, theirs_side), open_still, is_ancestor, whole,
            unit=_unit(base, ours, theirs),
        )  # fmt: skip
        profile, more = Finisher(merger).outcome()
        if profile is not None:
            data = profile.data
            return Merged(data=data, profile=profile, decisions=merger.decided(), disputes=merger.disputed())
        if () in more:
            break
        whole |= more
    raise InvalidProfile(f"{ours.name}: the two records cannot be made one; read the machine anew")


def merge_disputes(
    base: Disputes,
    ours: Disputes,
    theirs: Disputes,
    *,
    ours_side: Side,
    theirs_side: Side,
    is_ancestor: Callable[[str, str], bool],
) -> Disputes:
    """The records of disputes made one: all candidates but those that one side has settled by a later reading."""
    return standing((base, ours, theirs), ours_side, theirs_side, is_ancestor).disputes


def _refuse_two_machines(ours: Profile, theirs: Profile) -> None:
    if ours.id and theirs.id and ours.id != theirs.id:
        raise InvalidProfile(
            f"/machine/id is {ours.id} on one side and {theirs.id} on the other: these are two machines; "
            "give one of them another name"
        )


def _unit(base: Profile | None, ours: Profile, theirs: Profile) -> LengthUnit:
    """The unit that the merged record shows lengths in: the one that was switched to, if one was."""
    if base is not None and ours.unit is base.unit:
        return theirs.unit
    if base is not None and theirs.unit is base.unit:
        return ours.unit
    return min(ours.unit, theirs.unit)
