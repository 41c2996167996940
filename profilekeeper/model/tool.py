"""Tools as the control and the technician know them, their touch-offs, and what their lengths mean."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from profilekeeper.model.conventions import DIFFERENCE, NOSE_TO_TIP, Z_AT_TOUCH, Conventions
from profilekeeper.model.event import day
from profilekeeper.model.known import Known
from profilekeeper.model.profile import Branch, Profile
from profilekeeper.quantities import Angle, Length

__all__ = [
    "Joint",
    "Section",
    "Tool",
    "TouchOff",
    "WearSize",
    "joint_of",
    "nose_to_tip",
    "sections_of",
    "tools_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One slice about the spindle axis, lengths from the spindle nose, + towards the tip; None: not recorded.

    `end_radius` is the radius at `to` where the slice tapers, else the same as `radius`.
    """

    pointer: str
    start: Length | None
    to: Length | None
    radius: Length | None
    end_radius: Length | None
    soft: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WearSize:
    """A size that wears: as new, as last measured, and when it is to be replaced."""

    new: Length | None
    now: Length | None
    worn_out: Length | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One screwed or clamped joint of the chain from the spindle nose to the tool."""

    pointer: str
    name: str | None
    kind: str | None
    thread: str | None
    size: Length | None
    pitch: Length | None
    hand: str | None
    lock: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchOff:
    """A touch-off with everything that was in force when it was taken; None: not recorded.

    Units:   `z` and `surface` are Z readings as shown that day; `support`, `thicknesses` and `shim` heights.
    """

    pointer: str
    z: Length | None
    frame: str | None
    tool_length_active: bool | None
    table: str | None
    surface: Length | None
    true_surface: Length | None
    support: Length | None
    thickness: Length | None
    thicknesses: tuple[Length, ...]
    shim: Length | None
    tilt: Angle | None
    attitude: str | None
    touched: str | None
    plus_minus: Length | None
    date: date | None
    by: str | None

    @property
    def governing_thickness(self) -> Length | None:
        """The thickness under the tool: the highest of several gauged ones, for a flat tool rests on that."""
        known = [*self.thicknesses, *([self.thickness] if self.thickness is not None else [])]
        return max(known, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One tool; None where nothing is recorded. `sections` is the tool new, bristles free.

    Units:   lengths as the control shows them; speeds 1/min; weight kg; hours h.
    """

    number: str
    pointer: str
    id: str | None
    name: str | None
    kind: str | None
    length: Length | None
    length_size: WearSize
    length_limit: Length | None
    diameter: WearSize
    diameter_in_control: Length | None
    radius_in_control: Length | None
    seat: Length | None
    kerf: Length | None
    core: Length | None
    flange_diameter: Length | None
    side: str | None
    sections: tuple[Section, ...]
    press: Length | None
    joints: tuple[Joint, ...]
    spindle: str | None
    runs: str | None
    marked_speed: Decimal | None
    speed: Decimal | None
    gear_ratio: Decimal | None
    weight: Decimal | None
    safe_z: Length | None
    touch_off: TouchOff | None
    stand_off: Length | None
    pocket: str | None
    replaced: date | None

    @property
    def title(self) -> str:
        """What it is called in a sentence."""
        return f"tool {self.number} ({self.name})" if self.name else f"tool {self.number}"


def tools_of(profile: Profile) -> dict[str, Tool]:
    """The tools by number, in file order."""
    return {number: _tool(number, branch) for number, branch in profile.root.each("tools")}


def nose_to_tip(tool: Tool, conventions: Conventions, surface: Known[Length]) -> Known[Length]:
    """How far a tool's tip lies below the spindle nose, spindle down, by the length the control holds.

    Units:   a length, positive downwards. `surface` is the table height (Z reading as shown) that a length
             noted as "Z at touch on the table" belongs to; no other kind of length looks at it.
    Source:  docs/reference/rules.md, adds-up: the length conventions.
    """
    pointer = f"{tool.pointer}/length"
    if tool.length is None:
        return Known(value=None, missing=(pointer,))
    noted = conventions.noted(tool.length)
    if conventions.kind == NOSE_TO_TIP:
        return Known(value=noted, used=(pointer,))
    if conventions.kind == DIFFERENCE:
        master = "/conventions/master_length"
        if conventions.master_length is None:
            return Known(value=None, used=(pointer,), missing=(master,))
        return Known(value=conventions.master_length + noted, used=(pointer, master))
    if conventions.kind == Z_AT_TOUCH:
        if surface.value is None:
            return Known(value=None, used=(pointer,), missing=surface.missing)
        return Known(value=noted - conventions.up(surface.value), used=(pointer, *surface.used))
    return Known(value=None, used=(pointer,), missing=("/conventions/length_kind",))


def sections_of(branch: Branch, key: str) -> tuple[Section, ...]:
    """The slices of a solid of revolution below a branch."""
    return tuple(_section(section) for _, section in branch.each(key))


def joint_of(branch: Branch) -> Joint:
    """The joint that a branch describes."""
    return Joint(
        pointer=branch.pointer,
        name=branch.text("name"),
        kind=branch.text("kind"),
        thread=branch.text("thread"),
        size=branch.length("size"),
        pitch=branch.length("pitch"),
        hand=branch.text("hand"),
        lock=branch.text("lock"),
    )


def _section(branch: Branch) -> Section:
    radius = branch.length("radius")
    tapered = branch.length("radius_to")
    return Section(
        pointer=branch.pointer,
        start=branch.length("from"),
        to=branch.length("to"),
        radius=radius,
        end_radius=radius if tapered is None else tapered,
        soft=branch.flag("soft"),
    )


def _wear(branch: Branch) -> WearSize:
    if not branch:
        return _NO_SIZE
    return WearSize(new=branch.length("new"), now=branch.length("now"), worn_out=branch.length("worn_out"))


_NO_SIZE = WearSize(new=None, now=None, worn_out=None)


def _touch_off(branch: Branch) -> TouchOff | None:
    if not branch:
        return None
    gauged = [branch.length(f"thicknesses/{index}") for index, _ in branch.each("thicknesses")]
    return TouchOff(
        pointer=branch.pointer,
        z=branch.length("Z"),
        frame=branch.text("frame"),
        tool_length_active=branch.flag("tool_length_active"),
        table=branch.text("table"),
        surface=branch.length("surface"),
        true_surface=branch.length("true_surface"),
        support=branch.length("support"),
        thickness=branch.length("thickness"),
        thicknesses=tuple(t for t in gauged if t is not None),
        shim=branch.length("shim"),
        tilt=branch.angle("tilt"),
        attitude=branch.text("attitude"),
        touched=branch.text("touched"),
        plus_minus=branch.length("plus_minus"),
        date=day(branch.text("date")),
        by=branch.text("by"),
    )


def _tool(number: str, branch: Branch) -> Tool:
    pocket = branch.number("pocket")
    return Tool(
        number=number,
        pointer=branch.pointer,
        id=branch.text("id"),
        name=branch.text("name"),
        kind=branch.text("kind"),
        length=branch.length("length"),
        length_size=_wear(branch.at("length_size")),
        length_limit=branch.length("length_limit"),
        diameter=_wear(branch.at("diameter")),
        diameter_in_control=branch.length("diameter_in_control"),
        radius_in_control=branch.length("radius_in_control"),
        seat=branch.length("seat"),
        kerf=branch.length("kerf"),
        core=branch.length("core"),
        flange_diameter=branch.length("flange_diameter"),
        side=branch.text("side"),
        sections=sections_of(branch, "sections"),
        press=branch.length("press"),
        joints=tuple(joint_of(joint) for _, joint in branch.each("joints")),
        spindle=branch.text("spindle"),
        runs=branch.text("runs"),
        marked_speed=branch.number("marked_speed"),
        speed=branch.number("speed"),
        gear_ratio=branch.number("gear_ratio"),
        weight=branch.number("weight"),
        safe_z=branch.length("safe_z"),
        touch_off=_touch_off(branch.at("touch_off")),
        stand_off=branch.length("stand_off"),
        pocket=None if pocket is None else f"{pocket:f}",
        replaced=day(branch.text("replaced")),
    )
