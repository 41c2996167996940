"""The axes of a machine as its control holds them."""

from __future__ import annotations

from dataclasses import dataclass

from profilekeeper.model.profile import Branch, Profile
from profilekeeper.quantities import Angle, Length

__all__ = ["Axis", "Range", "Reading", "axes_of"]

Reading = Length | Angle
"""What an axis shows: a length on a linear axis, an angle on a rotary one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Two ends of one axis, as its readings; `pointer` names the pair."""

    pointer: str
    low: Reading
    high: Reading

    @property
    def low_pointer(self) -> str:
        """The setting that holds the low end."""
        return f"{self.pointer}/0"

    @property
    def high_pointer(self) -> str:
        """The setting that holds the high end."""
        return f"{self.pointer}/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One axis; None where nothing is recorded.

    Units:   lengths on linear axes, angles on rotary ones; `scale` as the control shows it.
    """

    name: str
    pointer: str
    kind: str | None
    moves: str | None
    travel: Range | None
    unlimited: bool | None
    soft_limits: Range | None
    hard_switches: Range | None
    mechanical_stops: Range | None
    cable_limit: Range | None
    backlash: Reading | None
    reference_offset: Reading | None
    marker_distance: Reading | None
    per_motor_turn: Reading | None
    absolute: bool | None
    home_switch_end: str | None
    rotary_zero: Angle | None
    gantry_slave_offset: Length | None
    squareness: Length | None

    @property
    def turns(self) -> bool:
        """Whether it is rotary: as said, else by its letter (A, B, C turn about X, Y, Z: ISO 841)."""
        if self.kind is None:
            return self.name[:1] in "ABC"
        return self.kind in ("tilt", "swivel", "rotary")


def axes_of(profile: Profile) -> dict[str, Axis]:
    """The axes by letter, in file order."""
    return {name: _axis(name, branch) for name, branch in profile.root.each("axes")}


def _axis(name: str, branch: Branch) -> Axis:
    reference = branch.at("reference")
    return Axis(
        name=name,
        pointer=branch.pointer,
        kind=branch.text("kind"),
        moves=branch.text("moves"),
        travel=_range(branch, "travel"),
        unlimited=branch.flag("unlimited"),
        soft_limits=_range(branch, "soft_limits"),
        hard_switches=_range(branch, "hard_switches"),
        mechanical_stops=_range(branch, "mechanical_stops"),
        cable_limit=_range(branch, "cable_limit"),
        backlash=_reading(branch, "backlash"),
        reference_offset=_reading(reference, "offset"),
        marker_distance=_reading(reference, "marker_distance"),
        per_motor_turn=_reading(reference, "per_motor_turn"),
        absolute=reference.flag("absolute"),
        home_switch_end=reference.text("home_switch_end"),
        rotary_zero=branch.angle("rotary_zero"),
        gantry_slave_offset=branch.length("gantry_slave_offset"),
        squareness=branch.length("squareness"),
    )


def _range(branch: Branch, key: str) -> Range | None:
    low, high = _reading(branch, f"{key}/0"), _reading(branch, f"{key}/1")
    if low is None or high is None:
        return None
    return Range(pointer=f"{branch.pointer}/{key}", low=low, high=high)


def _reading(branch: Branch, path: str) -> Reading | None:
    value = branch.value(path)
    return value if isinstance(value, (Length, Angle)) else None
