"""One common key for each thing of several versions of a profile, from who was recognised as whom."""

from __future__ import annotations

from collections.abc import Mapping

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.identity import Matching
from profilekeeper.model.profile import Profile

__all__ = ["recognised", "tokens_of_two"]

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
