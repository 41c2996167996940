"""What stands about the head or rides along with it: no-go zones, tables, and the largest stone on each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import cos, radians, sin

from profilekeeper.clearance.closeness import Close, added_up, widest
from profilekeeper.clearance.frames import Frame, Head
from profilekeeper.clearance.growing import grown_outline
from profilekeeper.clearance.outline import Point, convex_pieces
from profilekeeper.clearance.shapes import Obstacle, rectangle
from profilekeeper.errors import InvalidShape
from profilekeeper.model.conventions import Conventions
from profilekeeper.model.head import Head as RecordedHead
from profilekeeper.model.known import Known
from profilekeeper.model.profile import Branch, Profile
from profilekeeper.model.source import SourceBook
from profilekeeper.model.table import Support, Table, supports_of, tables_of
from profilekeeper.quantities import Length

__all__ = ["Stone", "Thing", "stones_of", "tables_standing", "zones_of"]

_DEEP_MM = 2000.0
"""How far a table is taken to reach down: nothing passes below it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """An upright prism, and by how much its sides and its ends may be off."""

    title: str
    pointer: str
    outline_mm: tuple[Point, ...]
    from_mm: float
    to_mm: float
    frame: Frame
    sideways: Close
    upright: Close
    people: bool = False

    def obstacles(self, *, sideways_mm: float = 0.0, upright_mm: float = 0.0) -> tuple[Obstacle, ...]:
        """What the search keeps clear of, grown by the amounts given; all of them bear the thing's title."""
        return tuple(
            Obstacle(
                name=self.title,
                outline_mm=piece,
                from_mm=self.from_mm - upright_mm,
                to_mm=self.to_mm + upright_mm,
                frame=self.frame,
            )
            for piece in grown_outline(self.outline_mm, sideways_mm)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stone:
    """The largest slab on a table: `top_mm` is its top's height as a Z reading of the nose, spindle down."""

    table: str
    pointer: str
    bottom_mm: float
    top_mm: float
    close: Close


def zones_of(
    profile: Profile, conventions: Conventions, head: Head | None, book: SourceBook
) -> Known[tuple[Thing, ...]]:
    """The no-go zones; an empty mapping says that there are none, silence says nothing."""
    if profile.root.raw("no_go_zones") is None:
        return Known(value=None, missing=("/no_go_zones",))
    return _all(_zone(name, zone, conventions, head, book) for name, zone in profile.root.each("no_go_zones"))


def tables_standing(
    profile: Profile, conventions: Conventions, recorded: RecordedHead, book: SourceBook
) -> Known[tuple[Thing, ...]]:
    """Every table, up to its highest point, and the largest stone on it."""
    tables = tables_of(profile)
    if not tables:
        return Known(value=None, missing=("/tables",))
    stones = stones_of(profile, conventions, recorded, book)
    parts: list[Known[tuple[Thing, ...]]] = []
    for name, table in tables.items():
        parts.append(_table(table, conventions, recorded, book))
        parts.append(_slab(profile, table, stones[name], book))
    return _all(parts)


def stones_of(
    profile: Profile, conventions: Conventions, recorded: RecordedHead, book: SourceBook
) -> dict[str, Known[Stone]]:
    """The top of the thickest stone on each table: surface + highest point + support + thickness."""
    return {name: _stone(profile, table, conventions, recorded, book) for name, table in tables_of(profile).items()}


def _all(parts: Iterable[Known[tuple[Thing, ...]]]) -> Known[tuple[Thing, ...]]:
    every = tuple(parts)
    missing = tuple(dict.fromkeys(p for part in every for p in part.missing))
    used = tuple(dict.fromkeys(p for part in every for p in part.used))
    notes = tuple(dict.fromkeys(n for part in every for n in part.notes))
    things = tuple(thing for part in every for thing in part.value or ())
    return Known(value=None if missing else things, used=used, missing=missing, notes=notes)


def _zone(
    name: str, zone: Branch, conventions: Conventions, head: Head | None, book: SourceBook
) -> Known[tuple[Thing, ...]]:
    outline, lacking = _outline(zone, "outline")
    low, high = zone.length("from"), zone.length("to")
    said = zone.text("frame")
    wanted = {"frame": said, "from": low, "to": high}
    missing = (*lacking, *(f"{zone.pointer}/{key}" for key, value in wanted.items() if value is None))
    used = tuple(f"{zone.pointer}/{key}" for key, value in wanted.items() if value is not None)
    if missing or low is None or high is None or said is None:
        return Known(value=None, used=used, missing=missing)
    frame = Frame(said)
    heights = sorted((_mm(conventions.up(low)), _mm(conventions.up(high))))
    if frame is not Frame.FLOOR and head is not None:
        outline = _from_spindle_axis(outline, head)
    sideways, upright = _as_one(book, zone.pointer, ("outline",), ("from", "to"))
    thing = Thing(
        title=name,
        pointer=zone.pointer,
        outline_mm=outline,
        from_mm=heights[0],
        to_mm=heights[1],
        frame=frame,
        sideways=sideways,
        upright=upright,
        people=bool(zone.flag("people")),
    )
    return _checked(thing, f"{zone.pointer}/outline", (*used, f"{zone.pointer}/outline"))


def _as_one(book: SourceBook, pointer: str, level: Iterable[str], high: Iterable[str]) -> tuple[Close, Close]:
    sides = widest(book, [f"{pointer}/{key}" for key in level], pointer)
    ends = widest(book, [f"{pointer}/{key}" for key in high], pointer)
    return sides, ends


def _from_spindle_axis(outline: tuple[Point, ...], head: Head) -> tuple[Point, ...]:
    """What is counted from the spindle axis, spindle down, as counted from the swivel axis."""
    ahead = head.swivel_to_tilt_mm[0] + head.tilt_to_spindle_mm[0]
    beside = head.swivel_to_tilt_mm[1] + head.tilt_to_spindle_mm[1]
    turn = radians(head.swivel.geometric_deg(0.0))
    dx, dy = ahead * cos(turn) - beside * sin(turn), ahead * sin(turn) + beside * cos(turn)
    return tuple((x + dx, y + dy) for x, y in outline)


def _checked(thing: Thing, pointer: str, used: tuple[str, ...]) -> Known[tuple[Thing, ...]]:
    """The thing, if its outline is one; else the outline is what is missing."""
    try:
        convex_pieces(thing.outline_mm)
    except InvalidShape as error:
        return Known(value=None, used=used, missing=(pointer,), notes=(f"{thing.title}: {error}.",))
    return Known(value=(thing,), used=used)


def _outline(branch: Branch, key: str) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """The corners in mm, and what is missing of them."""
    corners = [(corner.pointer, corner.length("0"), corner.length("1")) for _, corner in branch.each(key)]
    lacking = tuple(pointer for pointer, x, y in corners if x is None or y is None)
    if not corners or lacking:
        return (), lacking or (f"{branch.pointer}/{key}",)
    return tuple((_mm(x), _mm(y)) for _, x, y in corners if x is not None and y is not None), ()


def _surface(table: Table, conventions: Conventions, head: RecordedHead) -> Known[float]:
    """The Z at which the bare nose, spindle down, would meet the table, whatever the height was taken with.

    Source:  docs/reference/rules.md, adds-up: table heights taken with a master tool or a reference blade.
    """
    pointer = f"{table.pointer}/surface"
    if table.surface is None:
        return Known(value=None, missing=(pointer,))
    height = _mm(conventions.up(table.surface))
    if table.taken_with == "not known":
        return Known(value=None, used=(pointer,), missing=(f"{table.pointer}/taken_with",))
    if table.taken_with == "master tool":
        length = conventions.master_length
        wanted = {"/conventions/master_length": None if length is None else -_mm(length)}
    elif table.taken_with == "reference blade":
        blade, g, o = table.reference_blade_diameter, head.pivot_to_gauge_line, head.spindle_offset
        wanted = {
            f"{table.pointer}/reference_blade_diameter": None if blade is None else -_mm(blade) / 2,
            "/head/pivot_to_gauge_line": None if g is None else _mm(g),
            "/head/spindle_offset": None if o is None else _mm(o),
        }
    else:
        wanted = {}
    missing = tuple(p for p, value in wanted.items() if value is None)
    used = (pointer, *(p for p in wanted if p not in missing))
    if missing:
        return Known(value=None, used=used, missing=missing)
    return Known(value=height + sum(value for value in wanted.values() if value is not None), used=used)


def _highest(table: Table) -> Known[float]:
    pointer = f"{table.pointer}/highest"
    if table.highest is None:
        return Known(value=None, missing=(pointer,))
    return Known(value=_mm(table.highest), used=(pointer,))


def _table(table: Table, conventions: Conventions, head: RecordedHead, book: SourceBook) -> Known[tuple[Thing, ...]]:
    surface, highest = _surface(table, conventions, head), _highest(table)
    outline, lacking = _outline_of(table)
    turns = (f"{table.pointer}/fixed_to",) if table.fixed_to == "turntable" else ()
    missing = (*surface.missing, *highest.missing, *lacking, *turns)
    used = (*surface.used, *highest.used, f"{table.pointer}/outline")
    if missing or surface.value is None or highest.value is None:
        notes = (f"The table {table.name} turns; a turning table is not worked out.",) if turns else ()
        return Known(value=None, used=used, missing=missing, notes=notes)
    thing = Thing(
        title=f"table {table.name}",
        pointer=table.pointer,
        outline_mm=outline,
        from_mm=surface.value - _DEEP_MM,
        to_mm=surface.value + highest.value,
        frame=Frame.TABLE,
        sideways=widest(book, [f"{table.pointer}/outline"], f"{table.pointer}/outline"),
        upright=added_up(book, surface.used),
    )
    return _checked(thing, f"{table.pointer}/outline", used)


def _outline_of(table: Table) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    if table.outline is None:
        return (), (f"{table.pointer}/outline",)
    return tuple((_mm(x), _mm(y)) for x, y in table.outline), ()


def _stone(
    profile: Profile, table: Table, conventions: Conventions, head: RecordedHead, book: SourceBook
) -> Known[Stone]:
    surface, highest = _surface(table, conventions, head), _highest(table)
    thickness, under = _thickness(profile), _under(profile, table)
    parts = (surface, highest, thickness, under)
    used = tuple(p for part in parts for p in part.used)
    missing = tuple(p for part in parts for p in part.missing)
    notes = tuple(n for part in parts for n in part.notes)
    if surface.value is None or highest.value is None or thickness.value is None or under.value is None:
        return Known(value=None, used=used, missing=missing, notes=notes)
    doubtful = (*surface.used, *thickness.used, *(under.used if under.value else ()))
    stone = Stone(
        table=table.name,
        pointer=table.pointer,
        bottom_mm=surface.value,
        top_mm=surface.value + highest.value + under.value + thickness.value,
        close=added_up(book, doubtful),
    )
    return Known(value=stone, used=used, notes=notes)


def _thickness(profile: Profile) -> Known[float]:
    """The thickest stone: the largest slab's, or that of a laminated one if it is more."""
    slab = profile.root.at("slab")
    single, laminated = slab.length("largest/thickness"), slab.length("laminated")
    pointer = "/slab/largest/thickness"
    if single is None:
        return Known(value=None, missing=(pointer,))
    if laminated is not None and laminated > single:
        return Known(value=_mm(laminated), used=("/slab/laminated",))
    return Known(value=_mm(single), used=(pointer,))


def _under(profile: Profile, table: Table) -> Known[float]:
    """The height of what the stone lies on: the support named for the slab, else the highest that this table has."""
    supports = supports_of(profile)
    pointer = "/slab/largest/support"
    named = profile.root.text("slab/largest/support")
    if named is not None:
        if named not in supports:
            return Known(value=None, used=(pointer,), missing=(f"/supports/{named}",))
        found = _height(supports[named])
        return replace(found, used=(pointer, *found.used)) if found.value is None else found
    here = [s for s in supports.values() if s.table in (None, table.name)]
    if not here:
        return Known(value=None, missing=(pointer,))
    heights = [_height(support) for support in here]
    missing = tuple(p for height in heights for p in height.missing)
    if missing:
        return Known(value=None, missing=missing)
    note = "On what the largest slab lies is not recorded; the highest support is reckoned with."
    return replace(max(heights, key=lambda h: h.value or 0.0), notes=(note,))


def _height(support: Support) -> Known[float]:
    heights = [(f"{support.pointer}/height", support.height)] if support.height is not None else []
    heights += [(f"{support.pointer}/zones/{zone}", height) for zone, height in support.zones.items()]
    if not heights:
        return Known(value=None, missing=(f"{support.pointer}/height",))
    pointer, height = max(heights, key=lambda pair: pair[1])
    return Known(value=_mm(height), used=(pointer,))


def _slab(profile: Profile, table: Table, stone: Known[Stone], book: SourceBook) -> Known[tuple[Thing, ...]]:
    outline, sideways, used, lacking = _lying(profile, table, book)
    missing = (*stone.missing, *lacking)
    if missing or stone.value is None or not outline:
        return Known(value=None, used=(*stone.used, *used), missing=missing, notes=stone.notes)
    thing = Thing(
        title=f"slab on table {table.name}",
        pointer="/slab/largest",
        outline_mm=outline,
        from_mm=stone.value.bottom_mm,
        to_mm=stone.value.top_mm,
        frame=Frame.TABLE,
        sideways=sideways,
        upright=stone.value.close,
    )
    found = _checked(thing, f"{table.pointer}/outline", (*stone.used, *used))
    return replace(found, notes=(*stone.notes, *found.notes))


_Lying = tuple[tuple[Point, ...], Close, tuple[str, ...], tuple[str, ...]]


def _lying(profile: Profile, table: Table, book: SourceBook) -> _Lying:
    """Where the largest slab may lie: its own outline where it is placed, else anywhere its overhang lets it."""
    largest = profile.root.at("slab").at("largest")
    if largest.raw("placed") is not None:
        return _placed(largest, book)
    outline, lacking = _outline_of(table)
    pointers = (f"{table.pointer}/outline", "/slab/largest/overhang")
    overhang = largest.length("overhang")
    if overhang is None or lacking:
        return (), Close(), (), (*lacking, *(() if overhang is not None else pointers[1:]))
    try:
        pieces = grown_outline(outline, _mm(overhang))
    except InvalidShape:
        return (), Close(), (), pointers[:1]
    # A table of several convex parts is covered by one outline: a slab may bridge an inner corner.
    every = tuple(corner for piece in pieces for corner in piece)
    grown = pieces[0] if len(pieces) == 1 else _box(every)
    return grown, added_up(book, pointers), pointers, ()


def _box(points: tuple[Point, ...]) -> tuple[Point, ...]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return rectangle(min(xs), max(xs), min(ys), max(ys))


def _placed(largest: Branch, book: SourceBook) -> _Lying:
    x, y = largest.length("placed/X"), largest.length("placed/Y")
    at = tuple(f"/slab/largest/placed/{key}" for key in "XY")
    lacking = tuple(p for p, value in zip(at, (x, y), strict=True) if value is None)
    outline, used, missing = _slab_outline(largest)
    if lacking or missing or x is None or y is None:
        return (), Close(), used, (*lacking, *missing)
    moved = tuple((_mm(x) + px, _mm(y) + py) for px, py in outline)
    close = widest(book, at, "/slab/largest/placed") + widest(book, used, "/slab/largest")
    return moved, close, (*at, *used), ()


def _slab_outline(largest: Branch) -> tuple[tuple[Point, ...], tuple[str, ...], tuple[str, ...]]:
    if largest.raw("outline") is not None:
        outline, missing = _outline(largest, "outline")
        return outline, ("/slab/largest/outline",), missing
    length, width = largest.length("length"), largest.length("width")
    pointers = ("/slab/largest/length", "/slab/largest/width")
    missing = tuple(p for p, value in zip(pointers, (length, width), strict=True) if value is None)
    if length is None or width is None:
        return (), (), missing
    return rectangle(0.0, _mm(length), 0.0, _mm(width)), pointers, ()


def _mm(length: Length) -> float:
    return float(length.mm)
