"""Colours of verdicts on a screen: those of the drawings, with weight where a verdict asks for an act."""

from __future__ import annotations

from profilekeeper.report.palette import VERDICT_COLOURS

__all__ = ["STYLES", "VERDICT_COLOURS"]

STYLES = {
    "clear": VERDICT_COLOURS["clear"],
    "tight": VERDICT_COLOURS["tight"],
    "short": f"bold {VERDICT_COLOURS['short']}",
    "hits": f"bold reverse {VERDICT_COLOURS['hits']}",
    "fails": f"bold {VERDICT_COLOURS['fails']}",
    "unknown": f"bold {VERDICT_COLOURS['unknown']}",
    "disputed": f"bold {VERDICT_COLOURS['unknown']}",
}
