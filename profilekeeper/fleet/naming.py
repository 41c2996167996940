"""How a setting is named so that it can be found on a sister machine, whatever its numbers are there.

The same view as `model.identity.match_sisters`: tools by name and sections, zones by name. Here a section's
measures are compared by exact value, so that a drawing in inches and one in millimetres are of one tool.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Branch, Profile
from profilekeeper.model.settings import Value
from profilekeeper.quantities.measure import Measure

__all__ = ["SHAPE_MARK", "ToolNames", "is_turning", "named_key", "tool_names", "words_of_tools"]

SHAPE_MARK = "\x1f"
"""Stands between a tool's name and its shape in the name of a thing; no name that is keyed holds it."""

_MEASURES = ("from", "to", "radius", "radius_to", "soft")
_TURNING = ("tilt", "swivel", "rotary")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolNames:
    """A machine's tools by number: `things` how each is named everywhere, `words` its plain name.

    `own` maps the name back to the pointer and id on this machine; `unmatched` says which tools have no such name.
    """

    things: Mapping[str, str]
    words: Mapping[str, str]
    own: Mapping[str, tuple[str, str]]
    unmatched: tuple[str, ...]


def tool_names(profile: Profile) -> ToolNames:
    """What each tool of a profile is called on every machine: its name and shape, if exactly one tool has them."""
    found: dict[str, list[str]] = {}
    words = {}
    tools = dict(profile.root.each("tools"))
    for number, tool in tools.items():
        name = tool.text("name")
        if name:
            words[number] = name
            shape = _shape(tool)
            thing = json_pointer.join("/tools", name) + (f"{SHAPE_MARK}{shape}" if shape else "")
            found.setdefault(thing, []).append(number)
    things = {numbers[0]: thing for thing, numbers in found.items() if len(numbers) == 1}
    unmatched = [f"tool {number} has no name" for number in tools if number not in words]
    for numbers in found.values():
        if len(numbers) > 1:
            unmatched.append(f"tools {' and '.join(numbers)} have the same name and sections")
    own = {thing: (f"/tools/{number}", tools[number].text("id") or "") for number, thing in things.items()}
    return ToolNames(things=things, words=words, own=own, unmatched=tuple(unmatched))


def named_key(profile: Profile, names: ToolNames, pointer: str) -> tuple[str, str] | None:
    """The thing a setting belongs to and the rest of its name; None where a sister could not find it."""
    if pointer.startswith("/tools/"):
        number, _, rest = pointer[7:].partition("/")
        thing = names.things.get(number)
        return (thing, f"/{rest}" if rest else "") if thing else None
    steps = pointer.split("/")
    if steps[1] == "control_pages":
        steps = _page_steps(profile, steps)
    elif steps[1] == "tool_changes" and len(steps) == 5 and steps[3] == "tools":
        if steps[4] != "0":
            return None  # the first stands for the whole list, which has no order
        steps = steps[:4]
    end = 3 if len(steps) > 3 else 2
    return "/".join(steps[:end]), "".join(f"/{step}" for step in steps[end:])


def words_of_tools(profile: Profile, names: ToolNames, pointer: str, value: Value) -> Value:
    """The value with tool numbers replaced by the tools' names, where the setting holds tool numbers."""
    steps = pointer.split("/")
    if not isinstance(value, str) or not _holds_tools(steps):
        return value
    if steps[1] != "tool_changes":
        return names.words.get(value, value)
    listed = profile.branch("/".join(steps[:4])).data
    numbers = [str(number) for number in listed] if isinstance(listed, list) else [value]
    return ", ".join(sorted(names.words.get(number, f"tool {number}") for number in numbers)) or value


def is_turning(profile: Profile, axis: str) -> bool:
    """Whether an axis turns: it is said to, or is A, B or C and nothing is said (ISO 841)."""
    kind = profile.value(f"/axes/{axis}/kind")
    return kind in _TURNING or (kind is None and axis[:1] in "ABC")


def _holds_tools(steps: list[str]) -> bool:
    return (
        (steps[1] == "tool_changes" and steps[3:4] == ["tools"])
        or (steps[1:3] == ["changer", "pockets"] and steps[4:] == ["tool"])
        or (steps[1] == "spindles" and steps[3:] in (["mounted"], ["control_believes"]))
        or steps[1:] == ["conventions", "master_tool"]
    )


def _page_steps(profile: Profile, steps: list[str]) -> list[str]:
    """A page value that could not be read stands where its value would; a grid's cell under its column's name."""
    if len(steps) == 6 and steps[3] == "settings" and steps[5] == "state":
        return [*steps[:5], "value"]
    if len(steps) == 8 and steps[3] == "grids" and steps[5] == "rows" and steps[7].isdigit():
        columns = profile.branch("/".join([*steps[:5], "columns"])).data
        names = list(columns) if isinstance(columns, Mapping) else []
        place = int(steps[7])
        if place < len(names):
            return [*steps[:7], str(names[place]).replace("~", "~0").replace("/", "~1")]
    return steps


def _shape(tool: Branch) -> str:
    """A tool's sections by exact value: what decides whether two tools of one name are one kind of tool."""
    return "|".join(
        ";".join(f"{key}={_exact(value)}" for key in _MEASURES if (value := section.value(key)) is not None)
        for _, section in tool.each("sections")
    )


def _exact(value: Value) -> str:
    if not isinstance(value, Measure):
        return str(value)
    text = f"{value.base:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
