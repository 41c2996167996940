"""The head's joints as a machine's record has them: which axis tilts, swivels, and carries what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import radians, sin

from profilekeeper.clearance.closeness import Close, closeness
from profilekeeper.clearance.frames import AngleMap, Head, Span
from profilekeeper.model.axis import Axis
from profilekeeper.model.conventions import Conventions
from profilekeeper.model.head import Head as RecordedHead
from profilekeeper.model.known import Known
from profilekeeper.model.source import SourceBook
from profilekeeper.quantities import Angle, Length

__all__ = ["Chain", "chain_of", "tilts", "top_of_z"]

_POINTS = {"+X": 0.0, "+Y": 90.0, "-X": 180.0, "-Y": 270.0}
_LINEAR = ("X", "Y", "Z")
_CARRIES_HEAD = ("bridge", "carriage", "ram", "head")
_SQUARE_DEG = 1.0
"""How far the level and the down reading may be from 90 apart. Source: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """How the axes carry the spindle, and by how much the head's own lengths may shift it.

    `tilt` is the range of readings swept, `tilt_letter` and `swivel_letter` the axes (None: there is none);
    `swivel` its range of readings, 360 wide where it has no end. A spindle that always points down has a tilt
    of one value.
    """

    head: Head
    tilt: Span
    tilt_letter: str | None
    swivel: Span
    swivel_letter: str | None
    sideways: Close
    upright: Close


def tilts(axes: Mapping[str, Axis], head: RecordedHead) -> bool:
    """Whether anything says that the head tilts: an axis that does, or the readings level and down."""
    readings = (head.spindle_level_at, head.spindle_down_at)
    return any(axis.kind == "tilt" for axis in axes.values()) or any(reading is not None for reading in readings)


def chain_of(axes: Mapping[str, Axis], head: RecordedHead, book: SourceBook) -> Known[Chain]:
    """The chain of a machine, or what its record lacks for it."""
    lacking = tuple(_unclear(axes))
    turning = [axis for axis in axes.values() if axis.turns]
    lacking += tuple(f"{axis.pointer}/kind" for axis in turning if axis.kind not in ("tilt", "swivel"))
    if lacking:
        return Known(value=None, missing=lacking)
    if not tilts(axes, head):
        return Known(value=_fixed(axes), used=tuple(f"{axes[letter].pointer}/moves" for letter in _LINEAR))
    return _tilting(axes, head, book)


def top_of_z(axes: Mapping[str, Axis], conventions: Conventions) -> Known[float]:
    """The highest Z the nose gets to, counted upwards: the end of the travel, or of the soft limits if lower."""
    axis = axes.get("Z")
    if axis is None or (axis.travel is None and axis.soft_limits is None):
        return Known(value=None, missing=("/axes/Z/travel",))
    found: list[tuple[float, str]] = []
    for ends in (axis.travel, axis.soft_limits):
        if ends is not None and isinstance(ends.low, Length) and isinstance(ends.high, Length):
            low, high = _mm(conventions.up(ends.low)), _mm(conventions.up(ends.high))
            found.append((high, ends.high_pointer) if high >= low else (low, ends.low_pointer))
    if not found:
        return Known(value=None, missing=("/axes/Z/kind",))
    top, pointer = min(found)
    return Known(value=top, used=(pointer,))


def _unclear(axes: Mapping[str, Axis]) -> Iterator[str]:
    """What is not said of the straight axes, and what is said that is not worked out."""
    for letter in _LINEAR:
        if letter not in axes:
            yield f"/axes/{letter}"
        elif axes[letter].moves not in (*_CARRIES_HEAD, "table"):
            yield f"/axes/{letter}/moves"
    for letter, axis in axes.items():
        if letter not in _LINEAR and not axis.turns and axis.moves != "other":
            yield f"{axis.pointer}/moves"  # a further axis that carries the head or the table is not worked out


def _fixed(axes: Mapping[str, Axis]) -> Chain:
    """A spindle that always points down: only what hangs below the nose counts."""
    tables, bridges, carriages = _carried(axes)
    head = Head(pivot_to_gauge_line_mm=0.0, table_axes=tables, bridge_axes=bridges, carriage_axes=carriages)
    down = Span.at(90.0)
    return Chain(
        head=head,
        tilt=down,
        tilt_letter=None,
        swivel=Span.at(0.0),
        swivel_letter=None,
        sideways=Close(),
        upright=Close(),
    )


def _carried(axes: Mapping[str, Axis]) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """Which of X, Y, Z move the table, the bridge, and the carriage on the bridge."""
    moves = {letter: axes[letter].moves for letter in _LINEAR}
    tables = frozenset(letter for letter, what in moves.items() if what == "table")
    bridges = frozenset(letter for letter, what in moves.items() if what == "bridge")
    carriages = bridges | frozenset(letter for letter, what in moves.items() if what == "carriage")
    return tables, bridges, carriages


def _tilting(axes: Mapping[str, Axis], head: RecordedHead, book: SourceBook) -> Known[Chain]:
    tilt_axis, more = _one(axes, "tilt")
    swivel_axis, others = _one(axes, "swivel")
    wanted: dict[str, object] = {
        "/head/pivot_to_gauge_line": head.pivot_to_gauge_line,
        "/head/spindle_offset": head.spindle_offset,
        "/head/tilt_axis_offset": head.tilt_axis_offset,
        "/head/tilt_axis_offset_across": head.tilt_axis_offset_across,
        "/head/spindle_level_at": head.spindle_level_at,
        "/head/spindle_down_at": head.spindle_down_at,
        "/head/swivel_zero_points": head.swivel_zero_points,
    }
    if swivel_axis is not None:
        wanted["/head/swivel_sense"] = head.swivel_sense
    missing = (*more, *others, *(p for p, value in wanted.items() if value is None))
    if tilt_axis is None and not more:
        missing += ("/axes/A/kind",)
    used = tuple(p for p in wanted if p not in missing)
    if missing or tilt_axis is None or head.spindle_level_at is None or head.spindle_down_at is None:
        return Known(value=None, used=used, missing=missing)
    angles = _tilt_map(head.spindle_level_at, head.spindle_down_at)
    if angles is None:
        note = "The readings with the spindle level and down are not 90 degrees apart; one of them is wrong."
        return Known(value=None, used=used, missing=("/head/spindle_down_at",), notes=(note,))
    return _built(axes, head, book, angles, tilt_axis, swivel_axis, used)


def _one(axes: Mapping[str, Axis], kind: str) -> tuple[Axis | None, tuple[str, ...]]:
    """The axis of a kind; two of them are not worked out."""
    found = [axis for axis in axes.values() if axis.kind == kind]
    if len(found) > 1:
        return None, tuple(f"{axis.pointer}/kind" for axis in found[1:])
    return (found[0] if found else None), ()


def _tilt_map(level: Angle, down: Angle) -> AngleMap | None:
    """Readings to geometric tilt: 0 level, 90 down."""
    apart = float(down.base) - float(level.base)
    if abs(abs(apart) - 90.0) > _SQUARE_DEG:
        return None
    sense = 90.0 / apart
    return AngleMap(sense=sense, zero_deg=-sense * float(level.base))


def _built(
    axes: Mapping[str, Axis],
    head: RecordedHead,
    book: SourceBook,
    angles: AngleMap,
    tilt_axis: Axis,
    swivel_axis: Axis | None,
    used: tuple[str, ...],
) -> Known[Chain]:
    tables, bridges, carriages = _carried(axes)
    assert head.spindle_level_at is not None
    assert head.spindle_down_at is not None
    built = Head(
        pivot_to_gauge_line_mm=_length(head.pivot_to_gauge_line),
        tilt=angles,
        swivel=AngleMap(
            sense=-1.0 if head.swivel_sense == "clockwise" else 1.0, zero_deg=_POINTS[head.swivel_zero_points or "+X"]
        ),
        swivel_to_tilt_mm=(_length(head.tilt_axis_offset), _length(head.tilt_axis_offset_across)),
        tilt_to_spindle_mm=(_length(head.spindle_offset), 0.0),
        table_axes=tables,
        bridge_axes=bridges,
        carriage_axes=carriages,
    )
    readings = (float(head.spindle_level_at.base), float(head.spindle_down_at.base))
    tilt, tilt_used, notes = _swept(tilt_axis, readings)
    swivel, swivel_used, lacking = _turned(swivel_axis)
    if lacking:
        return Known(value=None, used=used, missing=lacking)
    sideways, upright = _shifts(book, angles, tilt)
    chain = Chain(
        head=built,
        tilt=tilt,
        tilt_letter=tilt_axis.name,
        swivel=swivel,
        swivel_letter=None if swivel_axis is None else swivel_axis.name,
        sideways=sideways,
        upright=upright,
    )
    moves = (f"{axes[letter].pointer}/moves" for letter in _LINEAR)
    return Known(value=chain, used=(*used, *tilt_used, *swivel_used, *moves), notes=notes)


def _swept(axis: Axis, readings: tuple[float, float]) -> tuple[Span, tuple[str, ...], tuple[str, ...]]:
    """From level to down, and on to the ends of the travel where it reaches farther."""
    ends = axis.travel or axis.soft_limits
    if ends is None:
        note = f"The travel of {axis.name} is not recorded; the tilt is swept from level to down and no farther."
        return Span.between(*readings), (), (note,)
    every = (*readings, float(ends.low.base), float(ends.high.base))
    return Span(low=min(every), high=max(every)), (ends.low_pointer, ends.high_pointer), ()


def _turned(axis: Axis | None) -> tuple[Span, tuple[str, ...], tuple[str, ...]]:
    """The swivel's whole range of readings; whether it is needed the question tells."""
    if axis is None:
        return Span.at(0.0), (), ()
    if axis.unlimited:
        return Span(low=-180.0, high=180.0), (f"{axis.pointer}/unlimited",), ()
    ends = axis.travel or axis.soft_limits
    if ends is None:
        return Span.at(0.0), (), (f"{axis.pointer}/travel",)
    return Span.between(float(ends.low.base), float(ends.high.base)), (ends.low_pointer, ends.high_pointer), ()


def _shifts(book: SourceBook, angles: AngleMap, tilt: Span) -> tuple[Close, Close]:
    """How far the head's own lengths, each off by its uncertainty, may shift any point: sideways and in height.

    A pivot length off by u shifts everything by u (d + z): sideways by at most u, in height by u (1 - sin tilt).
    Source:  docs/clearance-method.md#the-chain, differentiated.
    """
    pivot = closeness(book, "/head/pivot_to_gauge_line")
    offset = closeness(book, "/head/spindle_offset")
    along, across = closeness(book, "/head/tilt_axis_offset"), closeness(book, "/head/tilt_axis_offset_across")
    ends = (angles.geometric_deg(tilt.low), angles.geometric_deg(tilt.high))
    lowest_sine = min(sin(radians(max(min(end, 270.0), -90.0))) for end in ends)
    sideways = pivot + offset + along + across
    asked = tuple(dict.fromkeys(pivot.asked + offset.asked))
    return sideways, Close(pivot.mm * (1.0 - lowest_sine) + offset.mm, asked)


def _length(length: Length | None) -> float:
    assert length is not None
    return _mm(length)


def _mm(length: Length) -> float:
    return float(length.mm)
