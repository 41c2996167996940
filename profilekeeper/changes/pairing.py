"""One common key for each thing of several versions of a profile, from who was recognised as whom."""

from __future__ import annotations

from collections.abc import Mapping

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import Matching, match_over_time
from profilekeeper.model.profile import Profile

__all__ = ["recognised", "things_of", "tokens_of_three", "tokens_of_two"]

THINGS = ("tools", "no_go_zones", "events")


def tokens_of_two(before: Profile, after: Profile, matching: Matching) -> tuple[dict[str, str], dict[str, str]]:
    """For each version: the key of every thing by its pointer there; what was recognised has the same one."""
    ours = {at: f"-{at}" for at in things_of(before)}
    theirs = {at: f"+{at}" for at in things_of(after)}
    for match in matching.matches:
        if match.by == "alias":
            ours[match.before] = json_pointer.parse(match.after)[-1]
        elif match.before in ours and match.after in theirs:
            ours[match.before] = theirs[match.after] = f"={match.after}"
    return ours, theirs


def things_of(profile: Profile) -> list[str]:
    """The pointers of all things that have an identity of their own."""
    found = []
    for group in THINGS:
        items = profile.data.get(group)
        keys = list(items) if isinstance(items, Mapping) else range(len(items)) if isinstance(items, list) else ()
        found += [json_pointer.join(f"/{group}", key) for key in keys]
    return found


def recognised(matching: Matching) -> Mapping[str, str]:
    """By what each thing was recognised, by its pointer in the later version."""
    return {match.after: match.by for match in matching.matches}


def tokens_of_three(
    base: Profile | None, ours: Profile, theirs: Profile
) -> tuple[dict[str, str], dict[str, str], dict[str, str]]:
    """As `tokens_of_two`, for the version that both started from and the two that came of it.

    New things are taken for one only by their id, or by number or name where no two ids say otherwise; a name
    alone is not enough, since two people may each have added a brush.
    """
    old = {at: f"={at}" for at in things_of(base)} if base else {}
    mine = _from_base(base, ours, old)
    its = _from_base(base, theirs, old)
    for at in things_of(ours):
        mine.setdefault(at, f"<{at}")
    for at in things_of(theirs):
        its.setdefault(at, f">{at}")
    for one, other in _same_new(ours, theirs, mine, its):
        mine[one] = its[other] = f"*{one} {other}"
    return old, mine, its


def _from_base(base: Profile | None, side: Profile, old: Mapping[str, str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for match in match_over_time(base, side).matches if base else ():
        if match.by == "alias":
            found[match.after] = json_pointer.parse(match.before)[-1]
        elif match.before in old and match.by != "moved":
            found[match.after] = old[match.before]
    return found


def _same_new(ours: Profile, theirs: Profile, mine: Mapping[str, str], its: Mapping[str, str]) -> list[tuple[str, str]]:
    left = [at for at, token in mine.items() if token.startswith("<")]
    right = [at for at, token in its.items() if token.startswith(">")]
    pairs: list[tuple[str, str]] = []
    for is_one in (_has_same_id, _is_alike):
        for at in list(left):
            found = [other for other in right if is_one(ours, at, theirs, other)]
            if found:
                pairs.append((at, found[0]))
                left.remove(at)
                right.remove(found[0])
    return pairs


def _has_same_id(ours: Profile, at: str, theirs: Profile, other: str) -> bool:
    one, two = (json_pointer.resolve(dict(p.data), a) for p, a in ((ours, at), (theirs, other)))
    is_same_group = at.split("/")[1] == other.split("/")[1]
    return is_same_group and isinstance(one, dict) and isinstance(two, dict) and one.get("id", "") == two.get("id", 0)


def _is_alike(ours: Profile, at: str, theirs: Profile, other: str) -> bool:
    one, two = (json_pointer.resolve(dict(p.data), a) for p, a in ((ours, at), (theirs, other)))
    assert isinstance(one, dict)
    assert isinstance(two, dict)
    if at.startswith("/events/"):
        return other.startswith("/events/") and one == two
    return at == other and ("id" not in one or "id" not in two)
