"""Which tool, zone, event or page value of one profile is which of another, whatever it is called or numbered now.

On one machine over time an id decides; across machines, and where ids are missing, a tool is what it is
(name and sections). Records inside a store name such a thing by its id: `/tools/@k7mq2fzd/length`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile

__all__ = ["Match", "Matching", "from_identity", "match_over_time", "match_sisters", "to_identity"]

_WITH_ID = ("tools", "no_go_zones", "events")


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One thing found in both profiles: its pointer in each, and by what it was recognised."""

    before: str
    after: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """Things that stand in both profiles; `pointer_before` translates a pointer of the later one."""

    matches: tuple[Match, ...]

    def pointer_before(self, pointer: str) -> str | None:
        """Where the setting at this pointer of the later profile stood before; None if its thing is new."""
        for match in self.matches:
            if json_pointer.is_prefix(match.after, pointer):
                return match.before + pointer[len(match.after) :]
        return None if self._stands_in_a_matched_list(pointer) else pointer

    def _stands_in_a_matched_list(self, pointer: str) -> bool:
        tokens = json_pointer.parse(pointer)
        return len(tokens) >= 2 and tokens[0] in _WITH_ID


def match_over_time(before: Profile, after: Profile) -> Matching:
    """The same machine at two moments.

    Tools go by id, else name and sections, else number; zones by id, else name, else shape; events by id, else
    by what happened when. Of two ids that differ nothing else is asked: they are two things.
    """
    found = [m for group, keys in _OVER_TIME.items() for m in _matched(before, after, group, keys)]
    return Matching(matches=(*_moved(before, after), *_aliased(before, after), *found))


def match_sisters(one: Profile, other: Profile) -> Matching:
    """Two machines: tools by name and sections, zones by name; numbers and ids mean nothing here."""
    tools = _matched(one, other, "tools", (("name and sections", _by_shape),), heed_ids=False)
    zones = _matched(one, other, "no_go_zones", (("name", _by_key),), heed_ids=False)
    return Matching(matches=(*tools, *zones))


def to_identity(profile: Profile, pointer: str) -> str:
    """The pointer with numbers and names replaced by ids where the thing has one: `/tools/@k7mq2fzd/length`."""
    tokens = list(json_pointer.parse(pointer))
    if len(tokens) < 2 or tokens[0] not in _WITH_ID:
        return pointer
    item = profile.branch(json_pointer.format(tokens[:2])).data
    if isinstance(item, Mapping) and item.get("id"):
        tokens[1] = "@" + str(item["id"])
    return json_pointer.format(tokens)


def from_identity(profile: Profile, pointer: str) -> str | None:
    """The pointer with an id replaced by today's number or name; None where the thing is no longer there."""
    tokens = list(json_pointer.parse(pointer))
    if len(tokens) < 2 or tokens[0] not in _WITH_ID or not tokens[1].startswith("@"):
        return pointer
    for key, item in _items(profile.data, tokens[0]):
        if isinstance(item, Mapping) and item.get("id") == tokens[1][1:]:
            return json_pointer.format([tokens[0], key, *tokens[2:]])
    return None


def _items(data: Mapping[str, Any], group: str) -> Iterable[tuple[str, Any]]:
    items = data.get(group)
    if isinstance(items, Mapping):
        return tuple(items.items())
    return tuple((str(i), item) for i, item in enumerate(items)) if isinstance(items, list) else ()


_Key = Callable[[Profile, str, str, Any], object]


def _matched(
    before: Profile, after: Profile, group: str, keys: tuple[tuple[str, _Key], ...], *, heed_ids: bool = True
) -> list[Match]:
    """Pairs by the first key that names exactly one thing on each side; what is paired is out of the race."""
    left, right = dict(_items(before.data, group)), dict(_items(after.data, group))
    result: list[Match] = []
    for by, key in keys:
        ours, theirs = _unique(before, group, left, key), _unique(after, group, right, key)
        for shared in [k for k in theirs if k in ours]:
            mine, its = ours[shared], theirs[shared]
            if heed_ids and _are_different(left[mine], right[its]):
                continue
            result.append(
                Match(before=json_pointer.format((group, mine)), after=json_pointer.format((group, its)), by=by)
            )
            del left[mine], right[its]
    return result


def _unique(profile: Profile, group: str, items: Mapping[str, Any], key: _Key) -> dict[object, str]:
    found: dict[object, list[str]] = {}
    for name, item in items.items():
        value = key(profile, group, name, item)
        if value is not None:
            found.setdefault(value, []).append(name)
    return {value: names[0] for value, names in found.items() if len(names) == 1}


def _are_different(one: Any, other: Any) -> bool:
    """Two ids that differ are two things, however alike they look."""
    ids = [item.get("id") for item in (one, other) if isinstance(item, Mapping)]
    return len(ids) == 2 and None not in ids and ids[0] != ids[1]


def _by_id(_: Profile, __: str, ___: str, item: Any) -> object:
    return item.get("id") if isinstance(item, Mapping) else None


def _by_shape(profile: Profile, group: str, name: str, item: Any) -> object:
    """What a tool is: its name and sections, by exact value, so that a change of unit does not matter."""
    if not isinstance(item, Mapping) or "name" not in item:
        return None
    return (str(item["name"]), _below(profile, group, name, "sections", item))


def _by_outline(profile: Profile, group: str, name: str, item: Any) -> object:
    """Where a zone is; one without outline or heights cannot be told from another by this."""
    if not isinstance(item, Mapping) or not {"outline", "from", "to"} & item.keys():
        return None
    return tuple(_below(profile, group, name, key, item) for key in ("frame", "outline", "from", "to"))


def _by_occasion(_: Profile, __: str, ___: str, item: Any) -> object:
    if not isinstance(item, Mapping):
        return None
    return tuple(str(item.get(key, "")) for key in ("kind", "date", "axis", "table", "spindle", "tool"))


def _by_key(_: Profile, __: str, name: str, ___: Any) -> object:
    return name


def _below(profile: Profile, group: str, name: str, key: str, item: Mapping[str, Any]) -> object:
    """Everything below one key of a thing, by place and exact value."""
    at = json_pointer.format((group, name, key))
    return tuple(
        (pointer[len(at) :], profile.settings[pointer].value)
        for pointer, _ in json_pointer.walk(item.get(key), at)
        if pointer in profile.settings
    )


_OVER_TIME: Mapping[str, tuple[tuple[str, _Key], ...]] = {
    "tools": (("id", _by_id), ("name and sections", _by_shape), ("number", _by_key)),
    "no_go_zones": (("id", _by_id), ("name", _by_key), ("shape", _by_outline)),
    "events": (("id", _by_id), ("occasion", _by_occasion)),
}


def _moved(before: Profile, after: Profile) -> list[Match]:
    """Settings that the later profile says have moved, and that did so between these two moments."""
    moved = after.data.get("moved")
    if not isinstance(moved, Mapping):
        return []
    return [
        Match(before=str(old), after=str(new), by="moved")
        for new, old in moved.items()
        if _is_there(before, str(old)) and not _is_there(after, str(old)) and _is_there(after, str(new))
    ]


def _is_there(profile: Profile, pointer: str) -> bool:
    here: Any = profile.data
    for token in json_pointer.parse(pointer):
        if isinstance(here, Mapping) and token in here:
            here = here[token]
        elif isinstance(here, list) and token.isdigit() and int(token) < len(here):
            here = here[int(token)]
        else:
            return False
    return True


def _aliased(before: Profile, after: Profile) -> list[Match]:
    """Page values whose label an update of the control has changed between these two moments."""
    result = []
    for page, branch in after.root.each("control_pages"):
        for label, item in branch.each("settings"):
            new = json_pointer.format(("control_pages", page, "settings", label))
            for old in item.raw("aliases") or ():
                stood = json_pointer.format(("control_pages", page, "settings", str(old)))
                if _is_there(before, stood) and not _is_there(after, stood) and not _is_there(before, new):
                    result.append(Match(before=stood, after=new, by="alias"))
    return result
