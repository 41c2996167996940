"""How far a machine's record goes: kept, checked, swing-ready; and what is missing for the next step."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from profilekeeper.model.profile import Branch, Profile
from profilekeeper.rules.case import Case, case_of
from profilekeeper.rules.closing import closing_of

__all__ = ["Level", "Standing", "level"]


class Level(StrEnum):
    """What a record is good for.

    never recorded: it holds nothing but the machine's name. kept: values can be put back. checked: rules can
    judge them. swing-ready: clearances can be worked out.
    """

    NEVER_RECORDED = "never recorded"
    KEPT = "kept"
    CHECKED = "checked"
    SWING_READY = "swing-ready"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The level of a record, the next one, and the pointers of what is missing for that."""

    level: Level
    next: Level | None
    missing: tuple[str, ...]


# Chapters that hold no value of the control.
_NO_VALUES = frozenset(
    {
        "profile",
        "machine",
        "units",
        "resolution",
        "conventions",
        "notes",
        "sources",
        "rules",
        "agreement",
        "moved",
        "events",
    }
)


def level(profile: Profile) -> Standing:
    """How far a record goes, and what is missing for the next level."""
    if not any(pointer.split("/")[1] not in _NO_VALUES for pointer in profile.settings):
        return Standing(level=Level.NEVER_RECORDED, next=Level.KEPT, missing=("/axes", "/control_pages"))
    case = case_of(profile)
    for here, after, wanted in (
        (Level.KEPT, Level.CHECKED, _for_checked(case)),
        (Level.CHECKED, Level.SWING_READY, _for_swing(case)),
    ):
        missing = tuple(dict.fromkeys(wanted))
        if missing:
            return Standing(level=here, next=after, missing=missing)
    return Standing(level=Level.SWING_READY, next=None, missing=())


def _for_checked(case: Case) -> Iterator[str]:
    if case.profile.resolution is None:
        yield "/resolution/length"
    for letter in "XYZ":
        if letter not in case.axes:
            yield f"/axes/{letter}"
    for axis in case.axes.values():
        if axis.travel is None and axis.soft_limits is None and not axis.unlimited:
            yield f"{axis.pointer}/travel"
    if not case.tables:
        yield "/tables/main/surface"
    for table in case.tables.values():
        if table.surface is None:
            yield f"{table.pointer}/surface"
    yield from _touch_offs(case)


def _touch_offs(case: Case) -> Iterator[str]:
    if not any(tool.touch_off for tool in case.tools.values()):
        yield "/tools/*/touch_off"
    for tool in case.tools.values():
        closing = closing_of(tool, case)
        if closing is not None:
            yield from closing.missing


def _for_swing(case: Case) -> Iterator[str]:
    root = case.profile.root
    yield from _head(case)
    yield from _tools(case)
    yield from _surroundings(root)
    for chapter, keys in (("motion", ("rapids", "tool_centre_compensation")), ("slab/largest", ("thickness",))):
        branch = _below(root, chapter)
        yield from (f"/{chapter}/{key}" for key in keys if branch.value(key) in (None, "not known"))
    largest = _below(root, "slab/largest")
    if largest.raw("outline") is None:
        yield from (f"/slab/largest/{key}" for key in ("length", "width") if largest.length(key) is None)


def _below(root: Branch, path: str) -> Branch:
    here = root
    for step in path.split("/"):
        here = here.at(step)
    return here


def _head(case: Case) -> Iterator[str]:
    """What a swinging head needs; a machine whose axes are all linear has none."""
    turning = [axis for axis in case.axes.values() if axis.turns]
    yield from (f"{axis.pointer}/kind" for axis in turning if axis.kind is None)
    yield from (f"{axis.pointer}/travel" for axis in turning if axis.travel is None and not axis.unlimited)
    kinds = {axis.kind for axis in turning}
    if not kinds & {"tilt", "swivel"}:
        return
    head = case.head
    wanted: dict[str, object] = {"pivot_to_gauge_line": head.pivot_to_gauge_line, "body": head.body or None}
    if "tilt" in kinds:
        wanted |= {"spindle_level_at": head.spindle_level_at, "spindle_down_at": head.spindle_down_at}
    wanted |= {"swivel_zero_points": head.swivel_zero_points}
    if "swivel" in kinds:
        wanted |= {"swivel_sense": head.swivel_sense}
    yield from (f"/head/{key}" for key, value in wanted.items() if value is None)
    if head.pivot_to_gauge_line is not None and case.sources.uncertainty("/head/pivot_to_gauge_line") is None:
        yield "/sources/~1head~1pivot_to_gauge_line/plus_minus"  # how closely it is known: asked for, never zero


def _tools(case: Case) -> Iterator[str]:
    yield from (f"{tool.pointer}/sections" for tool in case.tools.values() if not tool.sections)
    changes = [p for p in case.positions if p.what == "tool change"]
    if not changes:
        yield "/tool_changes"
    for change in changes:
        yield from (f"{change.pointer}/{letter}" for letter in "XYZ" if letter not in change.readings)


def _surroundings(root: Branch) -> Iterator[str]:
    """Tables and no-go zones; that nothing stands there is said by an empty mapping, not by silence."""
    if root.raw("no_go_zones") is None:
        yield "/no_go_zones"
    for _, zone in root.each("no_go_zones"):
        yield from (f"{zone.pointer}/{key}" for key in ("outline", "from", "to") if zone.raw(key) is None)
    for _, table in root.each("tables"):
        if table.raw("outline") is None:
            yield f"{table.pointer}/outline"
