"""What is wrong, short of room or not known in a machine's record: rules as data, one file per kind, to findings.

Names are fetched when they are first used: start-up pays for none of them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.rules.case import Case, case_of
    from profilekeeper.rules.closing import Closing, closing_of
    from profilekeeper.rules.finding import Finding, Verdict, is_met, to_json, worst
    from profilekeeper.rules.invalid import Invalidation, Since, invalid_settings
    from profilekeeper.rules.judging import judge
    from profilekeeper.rules.registry import KINDS, Judge
    from profilekeeper.rules.standing import Level, Standing, level

__all__ = [
    "KINDS",
    "Case",
    "Closing",
    "Finding",
    "Invalidation",
    "Judge",
    "Level",
    "Since",
    "Standing",
    "Verdict",
    "case_of",
    "closing_of",
    "invalid_settings",
    "is_met",
    "judge",
    "level",
    "to_json",
    "worst",
]

_HOME = {
    "KINDS": "registry",
    "Case": "case",
    "Closing": "closing",
    "Finding": "finding",
    "Invalidation": "invalid",
    "Judge": "registry",
    "Level": "standing",
    "Since": "invalid",
    "Standing": "standing",
    "Verdict": "finding",
    "case_of": "case",
    "closing_of": "closing",
    "invalid_settings": "invalid",
    "is_met": "finding",
    "judge": "judging",
    "level": "standing",
    "to_json": "finding",
    "worst": "finding",
}


def __getattr__(name: str) -> object:
    """Fetch a name from its module when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
