"""The tilting and swivelling head."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from profilekeeper.model.event import day
from profilekeeper.model.profile import Profile
from profilekeeper.model.tool import Section, sections_of
from profilekeeper.quantities import Angle, Length

__all__ = ["Head", "head_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The head; lengths and readings as recorded, None where they are not.

    `spindle_offset` is + on the side the spindle's upper face turns to when it is level.
    """

    pointer: str
    pivot_to_gauge_line: Length | None
    spindle_offset: Length | None
    tilt_axis_offset: Length | None
    tilt_axis_offset_across: Length | None
    spindle_level_at: Angle | None
    spindle_down_at: Angle | None
    swivel_zero_points: str | None
    swivel_sense: str | None
    body: tuple[Section, ...]
    pivot_checked: date | None


def head_of(profile: Profile) -> Head:
    """The head of a machine; every datum None where there is none."""
    branch = profile.root.at("head")
    return Head(
        pointer=branch.pointer,
        pivot_to_gauge_line=branch.length("pivot_to_gauge_line"),
        spindle_offset=branch.length("spindle_offset"),
        tilt_axis_offset=branch.length("tilt_axis_offset"),
        tilt_axis_offset_across=branch.length("tilt_axis_offset_across"),
        spindle_level_at=branch.angle("spindle_level_at"),
        spindle_down_at=branch.angle("spindle_down_at"),
        swivel_zero_points=branch.text("swivel_zero_points"),
        swivel_sense=branch.text("swivel_sense"),
        body=sections_of(branch, "body"),
        pivot_checked=day(branch.text("pivot_check/date")),
    )
