"""Findings that say the same of many settings, gathered into one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.rules import Finding

__all__ = ["Gathered", "gathered"]

_FEW = 4
_ORDER = ("hits", "fails", "short", "unknown", "tight", "clear")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """One line for one or several findings: the verdict, what is so, what would mend it, by which rule."""

    verdict: str
    sentence: str
    mend: str
    rule: str
    source: str


def gathered(findings: Iterable[Finding]) -> Iterator[Gathered]:
    """Lines worst first; findings alike but for the setting they begin with stand in one line."""
    groups: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in sorted(findings, key=lambda f: _ORDER.index(str(f.verdict))):
        name, colon, said = finding.sentence.partition(": ")
        is_listed = bool(colon) and finding.kind == "invalid"
        key = (
            finding.rule,
            str(finding.verdict),
            said if is_listed else finding.sentence,
            name if not is_listed else "",
        )
        groups.setdefault(key, []).append(finding)
    for (rule, verdict, said, _), members in groups.items():
        first = members[0]
        sentence, mend = first.sentence, first.mend
        if len(members) > 1:
            names = [member.sentence.partition(": ")[0] for member in members]
            shown = ", ".join(names[:_FEW]) + (f" and {len(names) - _FEW} more" if len(names) > _FEW else "")
            sentence = f"{shown}: {said}"
            mend = mend.replace(names[0], "each of them")
        yield Gathered(verdict=verdict, sentence=sentence, mend=mend, rule=rule, source=first.source)
