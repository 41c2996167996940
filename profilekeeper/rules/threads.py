"""Threads by the mark that people write on them: what they are, and whether two go together.

Source:  ISO 228-1 (G), ISO 262 (M, coarse pitches) and the unified coarse series (UNC), from memory but for the
         figures that tests/published/test_threads.py names; the pitch of a G thread is 25.4 mm over its turns an inch.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from profilekeeper.model.tool import Joint

__all__ = ["Thread", "differences", "thread_of"]

_INCH = Decimal("25.4")
_THOUSANDTH = Decimal("0.001")
# Tables of one thread differ by 0.001 from edition to edition, and sizes are written as nominal ones.
_SAME_SIZE = Decimal("0.05")
_SAME_PITCH = Decimal("0.01")

_COARSE = {
    "6": "1", "8": "1.25", "10": "1.5", "12": "1.75", "14": "2", "16": "2", "18": "2.5", "20": "2.5", "22": "2.5",
    "24": "3", "27": "3", "30": "3.5", "33": "3.5", "36": "4", "39": "4", "42": "4.5", "45": "4.5", "48": "5",
}  # fmt: skip
_PIPE = {
    "1/8": ("9.728", 28), "1/4": ("13.157", 19), "3/8": ("16.662", 19), "1/2": ("20.955", 14),
    "5/8": ("22.911", 14), "3/4": ("26.441", 14), "1": ("33.249", 11), "1 1/4": ("41.910", 11),
    "1 1/2": ("47.803", 11), "2": ("59.614", 11),
}  # fmt: skip

_METRIC_MARK = re.compile(r"M\s*(\d+(?:\.\d+)?)(?:\s*[x×X*]\s*(\d+(?:\.\d+)?))?$")
_PIPE_MARK = re.compile(r"([GR])\s*((?:\d+\s+)?\d+/\d+|\d+)\s*(?:[AB])?$", re.IGNORECASE)
_INCH_MARK = re.compile(r"(?:(\d+)\s+)?(\d+)(?:/(\d+))?\s*\"?\s*-\s*(\d+)\s*(?:UNC|UNF)?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """One thread: its series, and major diameter and pitch in mm (pitch None: not told by the mark)."""

    series: str
    major: Decimal
    pitch: Decimal | None


def thread_of(mark: str | None) -> Thread | None:
    """The thread that a mark names, such as M30, M14x2, G 1/2, 5/8-11 UNC; None for a mark not known here.

    The 1/2 of G 1/2 is the bore of a pipe, not a diameter of 12.7.
    >>> thread_of("G 1/2").major
    Decimal('20.955')
    """
    text = " ".join((mark or "").split())
    return _metric(text) or _pipe(text) or _unified(text)


def differences(one: Joint, other: Joint) -> Iterator[str]:
    """What keeps two joints from going together, as far as both are recorded: `thread M30 and M24`."""
    if one.kind is not None and other.kind is not None and one.kind != other.kind:
        yield f"{one.kind} and {other.kind}"
        return
    if one.thread is not None and other.thread is not None and not _is_same_mark(one.thread, other.thread):
        yield f"thread {one.thread} and {other.thread}"
    for what, a, b, within in (
        ("size", _size(one), _size(other), _SAME_SIZE),
        ("pitch", _pitch(one), _pitch(other), _SAME_PITCH),
    ):
        if a is not None and b is not None and abs(a - b) > within:
            yield f"{what} {a:f} mm and {b:f} mm"
    if one.hand is not None and other.hand is not None and one.hand != other.hand:
        yield f"{one.hand}-hand and {other.hand}-hand"


def _metric(text: str) -> Thread | None:
    found = _METRIC_MARK.match(text)
    if not found:
        return None
    pitch = found[2] or _COARSE.get(found[1])
    return Thread(series="M", major=Decimal(found[1]), pitch=None if pitch is None else Decimal(pitch))


def _pipe(text: str) -> Thread | None:
    found = _PIPE_MARK.match(text)
    if not found or found[2] not in _PIPE:
        return None
    major, turns = _PIPE[found[2]]
    return Thread(series=found[1].upper(), major=Decimal(major), pitch=_by_turns(turns))


def _unified(text: str) -> Thread | None:
    found = _INCH_MARK.match(text)
    if not found or found[3] == "0" or int(found[4]) == 0:
        return None
    inches = Decimal(found[1] or 0) + Decimal(found[2]) / Decimal(found[3] or 1)
    major = (inches * _INCH).quantize(_THOUSANDTH, ROUND_HALF_EVEN)
    return Thread(series="unified", major=major, pitch=_by_turns(int(found[4])))


def _by_turns(turns_an_inch: int) -> Decimal:
    return (_INCH / turns_an_inch).quantize(_THOUSANDTH, ROUND_HALF_EVEN)


def _is_same_mark(one: str, other: str) -> bool:
    a, b = thread_of(one), thread_of(other)
    if a is None or b is None:
        return "".join(one.split()).casefold() == "".join(other.split()).casefold()
    return a.series == b.series and abs(a.major - b.major) <= _SAME_SIZE and _agree(a.pitch, b.pitch)


def _agree(one: Decimal | None, other: Decimal | None) -> bool:
    return one is None or other is None or abs(one - other) <= _SAME_PITCH


def _size(joint: Joint) -> Decimal | None:
    """Its size as recorded; a pipe thread's is left to its mark, for people write the bore."""
    thread = thread_of(joint.thread)
    if thread is not None and thread.series in ("G", "R"):
        return thread.major
    if joint.size is not None:
        return joint.size.mm
    return thread.major if thread else None


def _pitch(joint: Joint) -> Decimal | None:
    if joint.pitch is not None:
        return joint.pitch.mm
    thread = thread_of(joint.thread)
    return thread.pitch if thread else None
