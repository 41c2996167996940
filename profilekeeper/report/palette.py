"""Colours of verdicts: always beside a word, told apart by colour-blind people, the same everywhere.

Source: the palette of M. Okabe and K. Ito, "Color Universal Design", 2008 (blue, orange, vermilion,
reddish purple, sky blue); from memory. Green beside red is not used.
"""

from __future__ import annotations

__all__ = ["VERDICT_COLOURS"]

VERDICT_COLOURS = {
    "clear": "#0072B2",
    "tight": "#E69F00",
    "short": "#D55E00",
    "hits": "#D55E00",
    "fails": "#D55E00",
    "unknown": "#CC79A7",
}
