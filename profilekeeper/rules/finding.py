"""What a rule says of a profile: a verdict with the numbers behind it and a sentence for a technician."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from profilekeeper.quantities import Measure

__all__ = ["Finding", "FindingValue", "Verdict", "is_met", "to_json", "worst"]

FindingValue = Measure | Decimal | str | bool | None
"""A computed or required value: a quantity with its unit, a plain number, a text, or nothing."""


class Verdict(StrEnum):
    """How a rule comes out, from best to worst.

    clear: met. tight: met, within the warning margin. unknown: a datum is missing, never a pass.
    short: not met, no contact. fails: not met, where nothing is geometric. hits: contact.
    """

    CLEAR = "clear"
    TIGHT = "tight"
    UNKNOWN = "unknown"
    SHORT = "short"
    FAILS = "fails"
    HITS = "hits"

    @property
    def rank(self) -> int:
        """Its place from best (0) to worst."""
        return _RANK[self]


_RANK = {verdict: rank for rank, verdict in enumerate(Verdict)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One judgement.

    `subject` is the pointer of what is judged, `settings` are those that were used, `missing` those that an
    unknown lacks. `value` against `required` leaves `margin`: below zero is by how much it is not met.
    `source` says from where the rule came. Units: every quantity carries its own.
    """

    rule: str
    kind: str
    verdict: Verdict
    subject: str
    sentence: str
    source: str
    settings: tuple[str, ...] = ()
    value: FindingValue = None
    required: FindingValue = None
    margin: Measure | Decimal | None = None
    mend: str = ""
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def is_met(verdict: Verdict) -> bool:
    """Whether a verdict lets work go on: clear or tight, and nothing else."""
    return verdict in (Verdict.CLEAR, Verdict.TIGHT)


def worst(findings: Iterable[Finding]) -> Verdict:
    """The worst verdict of some findings; of none at all it is unknown, for nothing has been judged."""
    return max((f.verdict for f in findings), key=lambda v: v.rank, default=Verdict.UNKNOWN)


def to_json(finding: Finding) -> dict[str, object]:
    """A finding as plain JSON data: texts, lists of texts and null; quantities as text with their unit."""
    return {
        "rule": finding.rule,
        "kind": finding.kind,
        "verdict": str(finding.verdict),
        "subject": finding.subject,
        "sentence": finding.sentence,
        "source": finding.source,
        "settings": list(finding.settings),
        "value": _plain(finding.value),
        "required": _plain(finding.required),
        "margin": _plain(finding.margin),
        "mend": finding.mend,
        "missing": list(finding.missing),
        "notes": list(finding.notes),
    }


def _plain(value: FindingValue) -> str | bool | None:
    if isinstance(value, Decimal):
        return f"{value:f}"
    return str(value) if isinstance(value, Measure) else value
