"""How values came into a profile: who read or measured them, when, and how closely."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.event import day
from profilekeeper.model.profile import Branch, Profile
from profilekeeper.quantities import Length, LengthUnit

__all__ = ["Source", "SourceBook", "sources_of"]

USUAL = {"tape": "5", "drawing": "3", "caliper": "0.5", "indicator": "0.02"}
"""How closely an instrument measures, in mm, where nothing more is said. Source: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """How the settings at or below `covers` came here; None: not recorded."""

    pointer: str
    covers: str
    how: str | None
    measured_with: str | None
    plus_minus: Length | None
    date: date | None
    hours: Decimal | None
    by: str | None
    after: str | None

    @property
    def is_blanket(self) -> bool:
        """Whether it only says that the whole record was read off the screen: nothing of any single value."""
        return self.covers == "" and self.how not in ("measured", "computed")

    @property
    def uncertainty(self) -> Length | None:
        """The uncertainty stated, else that of the instrument; None where neither is known, never zero."""
        if self.plus_minus is not None:
            return self.plus_minus
        usual = USUAL.get(self.measured_with or "")
        return None if usual is None else Length(Decimal(usual), LengthUnit.MM)


@dataclass(frozen=True, slots=True)
class SourceBook:
    """The sources of a profile by what they cover."""

    by_cover: Mapping[str, Source]

    def of(self, pointer: str) -> Source | None:
        """The source of a setting: the one with the longest pointer at or above it."""
        if not self.by_cover:
            return None
        here = pointer
        while True:
            found = self.by_cover.get(here)
            if found is not None or not here:
                return found
            here = here.rpartition("/")[0]

    def uncertainty(self, pointer: str) -> Length | None:
        """How closely a length is known: from the nearest source at or above it that tells; None: not known."""
        here = pointer
        while self.by_cover:
            found = self.by_cover.get(here)
            if found is not None and found.uncertainty is not None:
                return found.uncertainty
            if not here:
                break
            here = here.rpartition("/")[0]
        return None


def sources_of(profile: Profile) -> SourceBook:
    """The sources of a profile."""
    return SourceBook({covers: _source(covers, branch) for covers, branch in profile.root.each("sources")})


def _source(covers: str, branch: Branch) -> Source:
    return Source(
        pointer=json_pointer.join("/sources", covers),
        covers=covers,
        how=branch.text("how"),
        measured_with=branch.text("with"),
        plus_minus=branch.length("plus_minus"),
        date=day(branch.text("date")),
        hours=branch.number("hours"),
        by=branch.text("by"),
        after=branch.text("after"),
    )
