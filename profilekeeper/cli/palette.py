"""Colours of verdicts: always beside a word, told apart by colour-blind people, the same everywhere.

Source: the palette of M. Okabe and K. Ito, "Color Universal Design", 2008 (blue, orange, vermilion,
reddish purple, sky blue); from memory. Green beside red is not used.
"""

from __future__ import annotations

__all__ = ["STYLES", "VERDICT_COLOURS"]

VERDICT_COLOURS = {
    "clear": "#0072B2",
    "tight": "#E69F00",
    "short": "#D55E00",
    "hits": "#D55E00",
    "fails": "#D55E00",
    "unknown": "#CC79A7",
}

STYLES = {
    "clear": VERDICT_COLOURS["clear"],
    "tight": VERDICT_COLOURS["tight"],
    "short": f"bold {VERDICT_COLOURS['short']}",
    "hits": f"bold reverse {VERDICT_COLOURS['hits']}",
    "fails": f"bold {VERDICT_COLOURS['fails']}",
    "unknown": f"bold {VERDICT_COLOURS['unknown']}",
    "disputed": f"bold {VERDICT_COLOURS['unknown']}",
}
