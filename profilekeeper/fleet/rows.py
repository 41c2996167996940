"""What a comparison of sister machines comes to: one row for each setting, and who holds which value of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType

from profilekeeper.fleet.columns import Copying
from profilekeeper.quantities import LengthUnit
from profilekeeper.quantities.measure import Measure

__all__ = ["JUDGED", "ClassComparison", "Comparison", "Held", "Row", "Since", "State", "Verdict"]

JUDGED = ("agrees", "agrees within")
"""Only settings that ought to agree are judged; own, worn and daily values differ by nature."""


class State(StrEnum):
    """How one value stands to the one most sisters share."""

    SHARED = "as most"
    ROUNDED = "the same as the control rounds it"
    WITHIN = "within what is allowed"
    DEVIATES = "deviates"
    DIFFERS = "differs"
    NOT_COMPARABLE = "cannot be compared"
    DISPUTED = "disputed"
    UNREAD = "not read"
    NOT_JUDGED = "not judged"


class Verdict(StrEnum):
    """What is to be said of one setting over all sisters."""

    ALL_AGREE = "all agree"
    AGREE_WHERE_KNOWN = "agree where known"
    SOME_DEVIATE = "some deviate"
    DIFFER = "differ"
    TOO_FEW = "too few to compare"
    UNKNOWN = "unknown"
    NOT_JUDGED = "not judged"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One value and the machines that hold it, in order of name.

    `shown` is in the unit of the machines' own display; `delta` the value less the shared one, exact (None where
    there is none or it cannot be reckoned), `delta_shown` the same in the unit asked for, `≈` if that rounds it.
    `hint` names a slip that would explain it.
    """

    shown: str
    machines: tuple[str, ...]
    state: State
    delta: Measure | None = None
    delta_shown: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """Since when a machine holds its value: the snapshot that first has it, by whom, and of which kind.

    `at_least` where the history was not followed back to its beginning: the value is no younger than this.
    """

    snapshot: str
    at: datetime
    by: str
    kind: str
    at_least: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One setting over all sisters of one class.

    `shared` is the value most of them agree with; empty where there is none: two machines, or a tie (then `tied`).
    `missing` have the thing but not this setting; `without` not even the thing. `within` as text with its unit.
    `pointers` tells where the setting stands on machines that have it elsewhere (tools under their numbers).
    """

    setting: str
    title: str
    group: str
    agreement: str
    within: str
    copying: Copying
    verdict: Verdict
    shared: str
    tied: tuple[str, ...]
    held: tuple[Held, ...]
    missing: tuple[str, ...]
    without: tuple[str, ...]
    sentence: str
    pointers: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    since: Mapping[str, Since] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def is_at_odds(self) -> bool:
        """Whether machines that ought to agree do not."""
        return self.verdict in (Verdict.SOME_DEVIATE, Verdict.DIFFER)

    @property
    def at_odds(self) -> tuple[str, ...]:
        """The machines whose value deviates or differs, in order of name."""
        return tuple(sorted(m for h in self.held if h.state in (State.DEVIATES, State.DIFFERS) for m in h.machines))

    def of(self, machine: str) -> Held | None:
        """What a machine holds; None where it records nothing."""
        return next((held for held in self.held if machine in held.machines), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassComparison:
    """The sisters of one class: those compared, those never recorded (identity only), and a row for each setting.

    `hidden` counts the settings not shown by how they relate (own, wears ...); `notes` are sentences.
    """

    machine_class: str
    machines: tuple[str, ...]
    never_recorded: tuple[str, ...]
    rows: tuple[Row, ...]
    hidden: Mapping[str, int]
    notes: tuple[str, ...]

    @property
    def at_odds(self) -> tuple[Row, ...]:
        """The rows in which sisters that ought to agree do not."""
        return tuple(row for row in self.rows if row.is_at_odds)

    @property
    def sentence(self) -> str:
        """What this comparison comes to, in one sentence."""
        if len(self.machines) < 2:
            have = f"only {self.machines[0]} is" if self.machines else "no machine is"
            return f"too few to compare: {have} recorded in the class {self.machine_class}"
        judged = [row for row in self.rows if row.agreement in JUDGED]
        return f"{len(self.machines)} machines compared by {len(judged)} settings, {len(self.at_odds)} at odds"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Machines compared within their classes.

    `unclassed` machines say no class, so nobody knows their sisters; `unreadable` maps machines to the reason.
    """

    classes: tuple[ClassComparison, ...]
    unclassed: tuple[str, ...] = ()
    unreadable: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    unit: LengthUnit | None = None
    notes: tuple[str, ...] = ()

    @property
    def deviations(self) -> tuple[Row, ...]:
        """The rows of all classes in which machines that ought to agree do not."""
        return tuple(row for c in self.classes for row in c.at_odds)
