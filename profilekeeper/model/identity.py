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
    """The same machine at two moments: by id, else name and sections, else number or name."""
    keys: tuple[tuple[str, Callable[[str, Any], object]], ...] = (
        ("id", _by_id),
        ("name and sections", _by_shape),
        ("number", _by_key),
    )
    found = [m for group in _WITH_ID for m in _matched(before.data, after.data, group, keys)]
    return Matching(matches=(*_moved(after), *_aliased(before, after), *found))


def match_sisters(one: Profile, other: Profile) -> Matching:
    """Two machines: tools by name and sections, zones by name; numbers and ids mean nothing here."""
    tools = _matched(one.data, other.data, "tools", (("name and sections", _by_shape),))
    zones = _matched(one.data, other.data, "no_go_zones", (("name", _by_key),))
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


def _matched(
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    group: str,
    keys: tuple[tuple[str, Callable[[str, Any], object]], ...],
) -> list[Match]:
    """Pairs by the first key that names exactly one thing on each side; what is paired is out of the race."""
    left, right = dict(_items(before, group)), dict(_items(after, group))
    result: list[Match] = []
    for by, key in keys:
        ours, theirs = _unique(left, key), _unique(right, key)
        for shared in [k for k in theirs if k in ours]:
            mine, its = ours[shared], theirs[shared]
            if by != "id" and _are_different(left[mine], right[its]):
                continue
            result.append(
                Match(before=json_pointer.format((group, mine)), after=json_pointer.format((group, its)), by=by)
            )
            del left[mine], right[its]
    return result


def _unique(items: Mapping[str, Any], key: Callable[[str, Any], object]) -> dict[object, str]:
    found: dict[object, list[str]] = {}
    for name, item in items.items():
        value = key(name, item)
        if value is not None:
            found.setdefault(value, []).append(name)
    return {value: names[0] for value, names in found.items() if len(names) == 1}


def _are_different(one: Any, other: Any) -> bool:
    """Two ids that differ are two things, however alike they look."""
    ids = [item.get("id") for item in (one, other) if isinstance(item, Mapping)]
    return len(ids) == 2 and None not in ids and ids[0] != ids[1]


def _by_id(_: str, item: Any) -> object:
    return item.get("id") if isinstance(item, Mapping) else None


def _by_shape(_: str, item: Any) -> object:
    if not isinstance(item, Mapping) or "name" not in item:
        return None
    sections = item.get("sections") or ()
    return (str(item["name"]), tuple(_frozen(section) for section in sections))


def _frozen(section: Any) -> object:
    return tuple(sorted((k, str(v)) for k, v in section.items())) if isinstance(section, Mapping) else str(section)


def _by_key(name: str, _: Any) -> object:
    return name


def _moved(after: Profile) -> list[Match]:
    moved = after.data.get("moved")
    if not isinstance(moved, Mapping):
        return []
    return [
        Match(before=str(old), after=str(new), by="moved") for new, old in moved.items() if str(new) in after.settings
    ]


def _aliased(before: Profile, after: Profile) -> list[Match]:
    """Page values whose label an update of the control has changed."""
    result = []
    for page, branch in after.root.each("control_pages"):
        for label, item in branch.each("settings"):
            for old in item.raw("aliases") or ():
                stood = json_pointer.format(("control_pages", page, "settings", str(old)))
                if before.branch(stood) and not after.branch(stood):
                    result.append(
                        Match(
                            before=stood,
                            after=json_pointer.format(("control_pages", page, "settings", label)),
                            by="alias",
                        )
                    )
    return result
