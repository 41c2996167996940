"""A setting's pointer in a technician's words, and the part of the machine to which it belongs.

Everything is made from the schema's own keys and titles and from the names in the profile; only what a thing
of each collection is called in the singular is said here, because a schema has no word for that.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.kinds import SettingNode, kind_of, root
from profilekeeper.model.profile import Profile

__all__ = ["GROUPS", "group_of", "is_geometry", "thing_title", "title"]

GROUPS: Mapping[str, str] = {
    "profile": "machine record", "machine": "machine", "units": "units", "resolution": "units",
    "conventions": "conventions", "axes": "axes", "motion": "motion", "head": "head", "spindles": "spindles",
    "tables": "tables", "supports": "supports", "slab": "slab", "no_go_zones": "no-go zones",
    "work_offsets": "work zeros", "positions": "positions", "tool_changes": "tool changes", "changer": "changer",
    "instruments": "instruments", "jet": "jet", "safe_z": "safe Z", "setups": "set-ups",
    "setup_in_control": "set-ups", "tools": "tools", "routines": "routines", "events": "hardware events",
    "control_backups": "control backups", "control_pages": "control pages", "moved": "machine record",
    "sources": "how values came", "agreement": "sister machines", "rules": "rules", "notes": "notes",
}  # fmt: skip
"""By the first key of a pointer, the heading under which a setting is shown; in this order on every screen."""

_THINGS: Mapping[str, str] = {
    "axes": "axis", "spindles": "spindle", "tables": "table", "supports": "support", "no_go_zones": "no-go zone",
    "work_offsets": "", "positions": "position", "tool_changes": "tool change", "instruments": "",
    "setups": "set-up", "tools": "tool", "routines": "routine", "control_pages": "page", "rules": "rule",
    "notes": "note", "pockets": "pocket", "options": "option", "zones": "zone",
}  # fmt: skip
_GEOMETRY = frozenset(
    ("conventions", "axes", "motion", "head", "tables", "supports", "slab", "no_go_zones", "work_offsets", "positions",
     "tool_changes", "changer", "instruments", "jet", "safe_z", "setups", "setup_in_control", "tools", "routines",
     "spindles")
)  # fmt: skip
# Settings of those groups that move nothing and give nothing its size.
_NO_GEOMETRY = frozenset(
    ("id", "note", "rapid", "acceleration", "scale", "battery_date", "witness_mark", "marked_speed", "speed",
     "speed_cap", "gear_ratio", "weight", "hours", "replaced", "runs", "rotation", "min_speed", "max_speed", "ranges",
     "ramp_up", "ramp_down", "nose", "joints", "pressure", "water", "witnessed", "pivot_check", "plus_minus")
)  # fmt: skip
_ONE_OF: Mapping[str, str] = {
    "sections": "section", "joints": "joint", "ranges": "range", "thicknesses": "thickness", "body": "body section",
}  # fmt: skip
_AXIS_LETTER = re.compile(r"[A-Z][0-9]?")
_CORNERS = ("outline",)
_AS_IT_IS = ("value", "state", "settings", "grids", "rows", "columns", "")


def title(profile: Profile, pointer: str) -> str:
    """What a technician calls the setting, thing or branch at a pointer.

    Examples: `tool 21 calibrating disc 350: length`, `G54 X`, `table main: table height`, `page axes X: Soft limit +`.
    """
    tokens = json_pointer.parse(pointer)
    if not tokens or tokens == ("profile",):
        return "format of the machine record" if tokens else "the whole machine record"
    first, rest = tokens[0], tokens[1:]
    special = _SPECIAL.get(first)
    if special and rest:
        return str(special(profile, rest))
    if rest and _holds_things(first):
        return _joined(thing_title(profile, first, rest[0]), _inside(tokens, 2))
    return _joined(_word(tokens[:1]), _inside(tokens, 1))


def thing_title(profile: Profile, group: str, key: str) -> str:
    """A tool, table, zone ... in words: `tool 21 calibrating disc 350`, `no-go zone rear fence`, `G54`."""
    words = [_THINGS.get(group, group.replace("_", " ")), key]
    item = _below(profile.data, (group, key))
    if isinstance(item, Mapping) and group == "tools" and item.get("name"):
        words.append(str(item["name"]))
    return " ".join(word for word in words if word)


def group_of(profile: Profile, pointer: str) -> str:
    """The heading under which a setting is shown: machine, axes, head, tables, tools, control pages ..."""
    tokens = json_pointer.parse(pointer)
    first = tokens[0] if tokens else ""
    return GROUPS.get(first, "free keys" if first.startswith("x-") else first.replace("_", " "))


def is_geometry(pointer: str) -> bool | None:
    """Whether a setting bears on clearance; None where nobody can tell: a value of a control page."""
    tokens = json_pointer.parse(pointer)
    if not tokens:
        return True
    if tokens[0] == "control_pages":
        return None
    if tokens[0] not in _GEOMETRY or any(t in _NO_GEOMETRY or t.startswith("x-") for t in tokens[1:]):
        return False
    return kind_of(tokens).agreement != "note"


def _holds_things(key: str) -> bool:
    node = root().child(key)
    return node is not None and isinstance(node.part.get("additionalProperties"), Mapping)


def _joined(head: str, inside: Sequence[str]) -> str:
    if not inside:
        return head
    if len(inside) == 1 and _AXIS_LETTER.fullmatch(inside[0]):
        return f"{head} {inside[0]}"
    return f"{head}: {', '.join(inside)}"


def _inside(tokens: Sequence[str], depth: int) -> list[str]:
    """The words for every further step from `depth` on; a list and the place in it make one word."""
    words: list[str] = []
    for end in range(depth + 1, len(tokens) + 1):
        token, above = tokens[end - 1], tokens[end - 2]
        if token.isdigit() and _is_place(tokens[: end - 1]):
            _add_place(words, tokens[:end], above)
        elif above in _THINGS and end - 1 > depth and not _is_fixed(tokens[:end]):
            words[-1] = f"{_THINGS[above]} {token}".strip()
        else:
            words.append(_word(tokens[:end]))
    return words


def _add_place(words: list[str], tokens: Sequence[str], above: str) -> None:
    node = _node(tokens[:-1])
    pairs = node is not None and "prefixItems" in node.part
    place = int(tokens[-1])
    if pairs and above in ("soft_limits", "travel", "hard_switches", "mechanical_stops", "cable_limit"):
        words.append(_word(tokens))
    elif pairs and any(token in _CORNERS for token in tokens):
        words.append("XY"[place] if place < 2 else str(place + 1))
    elif above in _CORNERS:
        words.append(f"corner {place + 1}")
    elif words and above in _ONE_OF:
        words[-1] = f"{_ONE_OF[above]} {place + 1}"
    else:
        words.append(f"no. {place + 1}")


def _word(tokens: Sequence[str]) -> str:
    """The schema's title of the last step, else the key in plain words."""
    node = _node(tokens)
    if node is None or not node.kind.title:
        return tokens[-1].replace("_", " ")
    return node.kind.title.replace("touch off", "touch-off").replace("safe z", "safe Z")


def _node(tokens: Sequence[str]) -> SettingNode | None:
    here: SettingNode | None = root()
    for token in tokens:
        here = here.child(token) if here else None
    return here


def _is_fixed(tokens: Sequence[str]) -> bool:
    """Whether the last step is a key of the schema's own rather than a name that a person gave."""
    above = _node(tokens[:-1])
    return above is not None and tokens[-1] in above.part.get("properties", {})


def _is_place(tokens: Sequence[str]) -> bool:
    node = _node(tokens)
    return node is not None and ("items" in node.part or "prefixItems" in node.part or node.part.get("type") == "array")


def _event(profile: Profile, rest: Sequence[str]) -> str:
    item = _below(profile.data, ("events", rest[0]))
    if not isinstance(item, Mapping):
        return _joined(f"event {rest[0]}", _inside(("events", *rest), 2))
    on = [f"{key} {item[key]}" for key in ("axis", "table", "spindle", "tool") if key in item]
    what = ", ".join([str(item.get("kind", "event")), *on, str(item.get("date", ""))])
    return _joined(f"event {what}", _inside(("events", *rest), 2))


def _backup(profile: Profile, rest: Sequence[str]) -> str:
    item = _below(profile.data, ("control_backups", rest[0]))
    when = str(item.get("date", "")) if isinstance(item, Mapping) else ""
    return _joined(f"control backup {when or rest[0]}", _inside(("control_backups", *rest), 2))


def _page(profile: Profile, rest: Sequence[str]) -> str:
    """A page value by the label that its screen shows; a cell by grid, row and column."""
    head = f"page {rest[0]}"
    if len(rest) < 3:
        return _joined(head, [t.replace("_", " ") for t in rest[1:]])
    kind, name, inner = rest[1], rest[2], rest[3:]
    if kind == "grids":
        return _joined(head, [name, *_cell(profile, rest)])
    item = _below(profile.data, ("control_pages", *rest[:3]))
    label = str(item.get("label", name)) if isinstance(item, Mapping) else name
    if isinstance(item, Mapping) and item.get("occurrence"):
        label += f" (no. {item['occurrence']} on the page)"
    return f"{head}: {', '.join([label, *(t.replace('_', ' ') for t in inner if t not in _AS_IT_IS)])}"


def _cell(profile: Profile, rest: Sequence[str]) -> list[str]:
    inner = list(rest[3:])
    if not inner or inner[0] not in ("rows", "columns"):
        return [t.replace("_", " ") for t in inner]
    words = [f"{inner[0].removesuffix('s')} {inner[1]}"] if len(inner) > 1 else [inner[0]]
    if inner[0] == "rows" and len(inner) > 2 and inner[2].isdigit():
        columns = list(_below(profile.data, ("control_pages", *rest[:3], "columns")) or ())
        place = int(inner[2])
        return [*words, f"column {columns[place] if place < len(columns) else place + 1}"]
    return [*words, *inner[2:]]


def _about(profile: Profile, rest: Sequence[str]) -> str:
    """What a source speaks of: the setting whose value came that way."""
    about = title(profile, rest[0]) if rest[0] == "" or rest[0].startswith("/") else rest[0]
    return f"how it came, {about}" + (f": {', '.join(t.replace('_', ' ') for t in rest[1:])}" if rest[1:] else "")


def _moved(profile: Profile, rest: Sequence[str]) -> str:
    return f"where it stood before, {title(profile, rest[0]) if rest[0].startswith('/') else rest[0]}"


_SPECIAL: Mapping[str, Any] = {
    "events": _event, "control_backups": _backup, "control_pages": _page, "sources": _about, "moved": _moved,
}  # fmt: skip


def _below(data: Any, tokens: Sequence[str]) -> Any:
    """What stands at some tokens, or None."""
    here = data
    for token in tokens:
        if isinstance(here, Mapping):
            here = here.get(token)
        elif isinstance(here, list) and token.isdigit() and int(token) < len(here):
            here = here[int(token)]
        else:
            return None
    return here
