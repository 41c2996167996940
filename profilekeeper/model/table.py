"""Tables (or stations), and what the stone lies on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from profilekeeper.model.profile import Branch, Profile
from profilekeeper.quantities import Length

__all__ = ["Support", "Table", "supports_of", "tables_of"]

Corner = tuple[Length, Length]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table. Heights are Z readings at which the spindle nose, spindle down, would be there; None: not recorded.

    `highest` and `lowest` are how far its highest and lowest points lie above and below `surface`.
    """

    name: str
    pointer: str
    surface: Length | None
    surface_new: Length | None
    surface_limit: Length | None
    highest: Length | None
    lowest: Length | None
    taken_with: str | None
    reference_blade_diameter: Length | None
    topping_new: Length | None
    topping_now: Length | None
    bed: Length | None
    outline: tuple[Corner, ...] | None
    fixed_to: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """Something the stone lies on; heights are lengths from the table to the underside of the stone."""

    name: str
    pointer: str
    kind: str | None
    height: Length | None
    zones: Mapping[str, Length]
    table: str | None


def tables_of(profile: Profile) -> dict[str, Table]:
    """The tables by name, in file order."""
    return {name: _table(name, branch) for name, branch in profile.root.each("tables")}


def supports_of(profile: Profile) -> dict[str, Support]:
    """The supports by name, in file order."""
    return {name: _support(name, branch) for name, branch in profile.root.each("supports")}


def outline_of(branch: Branch, key: str = "outline") -> tuple[Corner, ...] | None:
    """The corners of an outline below a branch, or None where there is none or a corner is missing."""
    corners = [(corner.length("0"), corner.length("1")) for _, corner in branch.each(key)]
    whole = tuple((x, y) for x, y in corners if x is not None and y is not None)
    return whole if whole and len(whole) == len(corners) else None


def _table(name: str, branch: Branch) -> Table:
    topping = branch.at("topping")
    return Table(
        name=name,
        pointer=branch.pointer,
        surface=branch.length("surface"),
        surface_new=branch.length("surface_new"),
        surface_limit=branch.length("surface_limit"),
        highest=branch.length("highest"),
        lowest=branch.length("lowest"),
        taken_with=branch.text("taken_with"),
        reference_blade_diameter=branch.length("reference_blade_diameter"),
        topping_new=topping.length("new"),
        topping_now=topping.length("now"),
        bed=topping.length("bed"),
        outline=outline_of(branch),
        fixed_to=branch.text("fixed_to"),
    )


def _support(name: str, branch: Branch) -> Support:
    zones = {zone: branch.length(f"zones/{zone}") for zone, _ in branch.each("zones")}
    return Support(
        name=name,
        pointer=branch.pointer,
        kind=branch.text("kind"),
        height=branch.length("height"),
        zones={zone: height for zone, height in zones.items() if height is not None},
        table=branch.text("table"),
    )
