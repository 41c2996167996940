"""Places of a machine: stored positions, work zeros, tool changes, changer pockets, ends of routines, set-ups.

A place is axis readings, what they are counted from, and whether a tool length is active: machine readings,
readings from a work zero and readings of the tool's tip are three different places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from profilekeeper.model.axis import Reading
from profilekeeper.model.profile import Branch, Profile
from profilekeeper.quantities import Angle, Length

__all__ = ["LETTERS", "MACHINE", "Position", "positions_of"]

LETTERS = ("X", "Y", "Z", "A", "B", "C", "U", "V", "W")
"""The axis letters a position may read. Source: ISO 841 (primary, secondary and rotary axes)."""
MACHINE = "machine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One place; `readings` holds only the axes that are recorded, `frame` is None where it is not said.

    `what`: position, work zero, tool change, pocket, set-up, routine end. `tools` are the tools a tool change
    is for (none named: every tool that no other one names).
    """

    pointer: str
    what: str
    name: str
    readings: Mapping[str, Reading]
    frame: str | None
    tool_length_active: bool | None
    table: str | None
    tools: tuple[str, ...]
    routine: str | None

    @property
    def title(self) -> str:
        """What it is called in a sentence."""
        return f"{self.what} {self.name}"


def positions_of(profile: Profile) -> tuple[Position, ...]:
    """Every place a profile holds, in file order of its groups."""
    return tuple(_all(profile.root))


def _all(root: Branch) -> Iterator[Position]:
    for group, what in (("work_offsets", "work zero"), ("positions", "position"), ("tool_changes", "tool change")):
        for name, branch in root.each(group):
            yield _position(branch, what, name)
    for name, branch in root.at("changer").each("pockets"):
        yield _position(branch, "pocket", name)
    for group, key, what in (("setups", "tool_change", "set-up"), ("routines", "ends", "end of routine")):
        for name, branch in root.each(group):
            inner = branch.at(key)
            if inner:
                yield _position(inner, what, name)


def _position(branch: Branch, what: str, name: str) -> Position:
    data = branch.data if isinstance(branch.data, Mapping) else {}
    readings = {letter: _reading(branch, letter) for letter in LETTERS if letter in data}
    return Position(
        pointer=branch.pointer,
        what=what,
        name=name,
        readings={letter: value for letter, value in readings.items() if value is not None},
        frame=branch.text("frame"),
        tool_length_active=branch.flag("tool_length_active"),
        table=branch.text("table"),
        tools=tuple(str(t) for t in branch.raw("tools") or ()),
        routine=branch.text("routine"),
    )


def _reading(branch: Branch, letter: str) -> Reading | None:
    value = branch.value(letter)
    return value if isinstance(value, (Length, Angle)) else None
