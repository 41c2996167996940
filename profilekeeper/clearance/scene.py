"""Everything that a clearance needs of a machine's record, each part known or with the settings that it lacks.

Exact values go in, floats in millimetres come out. What no one has measured is never zero: a missing datum
is named, a missing uncertainty is taken to be that of a tape and asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from profilekeeper.clearance.bodies import Body, head_body, tool_body
from profilekeeper.clearance.chain import Chain, chain_of, tilts, top_of_z
from profilekeeper.clearance.surroundings import Stone, Thing, stones_of, tables_standing, zones_of
from profilekeeper.model.axis import axes_of
from profilekeeper.model.conventions import conventions_of
from profilekeeper.model.head import head_of
from profilekeeper.model.known import Known
from profilekeeper.model.profile import Profile
from profilekeeper.model.source import sources_of
from profilekeeper.model.tool import tools_of

__all__ = ["Scene", "scene_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One machine as the search sees it.

    `does_tilt`: whether anything in the record says that the head tilts. `body` is the head itself, `tools` by
    number, `zones` and `tables` what is to be kept clear of, `stones` the largest stone by table, `z_top_mm` the
    highest Z of the nose. `compensation` is off, on or switchable.
    """

    does_tilt: bool
    chain: Known[Chain]
    body: Known[Body]
    tools: Mapping[str, Known[Body]]
    zones: Known[tuple[Thing, ...]]
    tables: Known[tuple[Thing, ...]]
    stones: Mapping[str, Known[Stone]]
    z_top_mm: Known[float]
    compensation: Known[str]

    @property
    def surroundings(self) -> Known[tuple[Thing, ...]]:
        """Zones, tables and slabs together."""
        parts = (self.zones, self.tables)
        missing = tuple(p for part in parts for p in part.missing)
        things = tuple(thing for part in parts for thing in part.value or ())
        return Known(
            value=None if missing else things,
            used=tuple(p for part in parts for p in part.used),
            missing=missing,
            notes=tuple(n for part in parts for n in part.notes),
        )


def scene_of(profile: Profile) -> Scene:
    """The scene of a machine.

    Units:   millimetres and degrees; heights are Z readings of the nose, spindle down, counted upwards.
    Source:  docs/reference/rules.md, swing.
    """
    axes, head, book = axes_of(profile), head_of(profile), sources_of(profile)
    conventions = conventions_of(profile)
    chain = chain_of(axes, head, book)
    kinematics = None if chain.value is None else chain.value.head
    return Scene(
        does_tilt=tilts(axes, head),
        chain=chain,
        body=head_body(head.body, book, profile),
        tools={number: tool_body(tool, conventions, book, profile) for number, tool in tools_of(profile).items()},
        zones=zones_of(profile, conventions, kinematics, book),
        tables=tables_standing(profile, conventions, head, book),
        stones=stones_of(profile, conventions, head, book),
        z_top_mm=top_of_z(axes, conventions),
        compensation=_compensation(profile),
    )


def _compensation(profile: Profile) -> Known[str]:
    """Whether the tip is held while the head tilts; a swing is true only for the mode it says."""
    pointer = "/motion/tool_centre_compensation"
    said = profile.value(pointer)
    if said in ("off", "on", "switchable"):
        return Known(value=str(said), used=(pointer,))
    return Known(value=None, missing=(pointer,))
