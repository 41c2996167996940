"""What turns with the spindle: tools as new with bristles free, and the head's body."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from profilekeeper.clearance.closeness import Close, widest
from profilekeeper.clearance.growing import grown_section
from profilekeeper.clearance.shapes import Section
from profilekeeper.errors import InvalidShape
from profilekeeper.model.conventions import NOSE_TO_TIP, Conventions
from profilekeeper.model.known import Known
from profilekeeper.model.profile import Profile
from profilekeeper.model.source import SourceBook
from profilekeeper.model.tool import Section as Slice
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length

__all__ = ["Body", "head_body", "tool_body"]

_TELLING_MM = 0.5  # an extension smaller than this is not worth a sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """A solid of revolution about the spindle axis, and by how much its surface may be off."""

    title: str
    pointer: str
    sections: tuple[Section, ...]
    close: Close

    @property
    def grown(self) -> tuple[Section, ...]:
        """The largest it may be."""
        return tuple(grown_section(section, self.close.mm) for section in self.sections)

    @property
    def is_soft(self) -> bool:
        """Whether it has bristles."""
        return any(section.soft for section in self.sections)


def head_body(slices: tuple[Slice, ...], book: SourceBook, profile: Profile) -> Known[Body]:
    """The head's body about the spindle axis."""
    if not slices:
        return Known(value=None, missing=("/head/body",))
    return _body("the head", "/head/body", slices, book, profile)


def tool_body(tool: Tool, conventions: Conventions, book: SourceBook, profile: Profile) -> Known[Body]:
    """The tool at its largest: as new, or as it is where that is more; bristles free.

    Without slices a blade is built from its diameter as new, seat, kerf and flange.
    """
    if not tool.sections:
        return _blade(tool, book)
    found = _body(tool.title, f"{tool.pointer}/sections", tool.sections, book, profile)
    if found.value is None:
        return found
    wider, radius_notes, radius_used = _as_wide_as_new(tool, found.value)
    longer, length_notes, length_used = _as_long_as_new(tool, conventions, wider)
    return replace(
        found,
        value=longer,
        used=(*found.used, *radius_used, *length_used),
        notes=(*found.notes, *radius_notes, *length_notes),
    )


def _body(title: str, pointer: str, slices: tuple[Slice, ...], book: SourceBook, profile: Profile) -> Known[Body]:
    missing = tuple(p for one in slices for p in _lacking(one))
    used = tuple(p for one in slices for p in _used(one))
    if missing:
        return Known(value=None, used=used, missing=missing)
    try:
        sections = tuple(_section(one, profile) for one in slices)
    except InvalidShape as error:
        return Known(value=None, used=used, missing=(pointer,), notes=(f"{title}: {error}.",))
    close = widest(book, [one.pointer for one in slices], pointer)
    return Known(value=Body(title=title, pointer=pointer, sections=sections, close=close), used=used)


def _lacking(one: Slice) -> Iterator[str]:
    for key, value in (("from", one.start), ("to", one.to), ("radius", one.radius)):
        if value is None:
            yield f"{one.pointer}/{key}"


def _used(one: Slice) -> Iterator[str]:
    keys = ("from", "to", "radius", *(("radius_to",) if one.end_radius is not one.radius else ()))
    yield from (f"{one.pointer}/{key}" for key in keys)


def _section(one: Slice, profile: Profile) -> Section:
    assert one.start is not None
    assert one.to is not None
    assert one.radius is not None
    radius = _mm(one.radius)
    name = profile.value(f"{one.pointer}/name")
    return Section(
        from_mm=_mm(one.start),
        to_mm=_mm(one.to),
        radius_from_mm=radius,
        radius_to_mm=radius if one.end_radius is None else _mm(one.end_radius),
        soft=bool(one.soft),
        name=name if isinstance(name, str) else "bristles" if one.soft else "",
    )


def _as_wide_as_new(tool: Tool, body: Body) -> tuple[Body, tuple[str, ...], tuple[str, ...]]:
    """The widest section no narrower than the diameter as new (or now, if that is more)."""
    sizes = {"new": tool.diameter.new, "now": tool.diameter.now}
    known = [(_mm(size) / 2, key) for key, size in sizes.items() if size is not None]
    if not known:
        return body, (), ()
    radius, key = max(known)
    widest_mm = max(max(s.radius_from_mm, s.radius_to_mm) for s in body.sections)
    used = (f"{tool.pointer}/diameter/{key}",)
    if radius <= widest_mm:
        return body, (), used
    sections = tuple(_widened(section, widest_mm, radius) for section in body.sections)
    note = f"{tool.title} is reckoned with at diameter {2 * radius:g} mm, more than its slices say."
    return replace(body, sections=sections), (note,) if radius - widest_mm > _TELLING_MM else (), used


def _widened(section: Section, widest_mm: float, radius: float) -> Section:
    one, other = section.radius_from_mm, section.radius_to_mm
    if max(one, other) < widest_mm:
        return section
    by = radius - widest_mm
    return replace(section, radius_from_mm=one + by, radius_to_mm=other + by)


def _as_long_as_new(tool: Tool, conventions: Conventions, body: Body) -> tuple[Body, tuple[str, ...], tuple[str, ...]]:
    """The slices reach as far as the length as new, and as the noted working length with the press added."""
    if conventions.kind != NOSE_TO_TIP:
        return body, (), ()
    lengths = {"length_size/new": tool.length_size.new, "length": tool.length}
    known = [(_mm(conventions.noted(size)), key) for key, size in lengths.items() if size is not None]
    press = _mm(tool.press) if tool.press is not None and body.is_soft else 0.0
    reaches = [(mm + (press if key == "length" else 0.0), key) for mm, key in known]
    if not reaches:
        return body, (), ()
    reach, key = max(reaches)
    end_mm = max(section.to_mm for section in body.sections)
    used = (f"{tool.pointer}/{key}", *((f"{tool.pointer}/press",) if press and key == "length" else ()))
    if reach <= end_mm:
        return body, (), used
    sections = tuple(replace(s, to_mm=reach) if s.to_mm == end_mm else s for s in body.sections)
    note = f"{tool.title} is reckoned with {reach:g} mm long, longer than its slices say."
    return replace(body, sections=sections), (note,) if reach - end_mm > _TELLING_MM else (), used


def _blade(tool: Tool, book: SourceBook) -> Known[Body]:
    """A blade between two flanges, from the sizes a technician has."""
    if tool.diameter.new is None and tool.seat is None:
        return Known(value=None, missing=(f"{tool.pointer}/sections",))
    wide, wide_key = (tool.kerf, "kerf") if tool.kerf is not None else (tool.core, "core")
    sizes = {
        "diameter/new": tool.diameter.new,
        "seat": tool.seat,
        wide_key if wide is not None else "kerf": wide,
        "flange_diameter": tool.flange_diameter,
    }
    missing = tuple(f"{tool.pointer}/{key}" for key, size in sizes.items() if size is None)
    used = tuple(f"{tool.pointer}/{key}" for key, size in sizes.items() if size is not None)
    if tool.diameter.new is None or tool.seat is None or wide is None or tool.flange_diameter is None:
        return Known(value=None, used=used, missing=missing)
    radius = max(_mm(tool.diameter.new), _mm(tool.diameter.now) if tool.diameter.now is not None else 0.0) / 2
    sections = _between_flanges(radius, _mm(tool.seat), _mm(wide) / 2, _mm(tool.flange_diameter) / 2)
    close = widest(book, used, tool.pointer)
    note = f"{tool.title} has no slices; its outer flange and nut are taken to be as long as its seat."
    return Known(
        value=Body(title=tool.title, pointer=tool.pointer, sections=sections, close=close), used=used, notes=(note,)
    )


def _between_flanges(radius: float, seat: float, half: float, flange: float) -> tuple[Section, ...]:
    ends = (max(seat - half, 0.0), seat + half)
    return (
        Section.cylinder(min(0.0, ends[0]), ends[0], flange, name="inner flange"),
        Section.cylinder(ends[0], ends[1], radius, name="blade"),
        Section.cylinder(ends[1], max(2 * seat, ends[1]), flange, name="outer flange and nut"),
    )


def _mm(length: Length) -> float:
    return float(length.mm)
