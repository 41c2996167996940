"""Every setting of one machine as comparable columns, and their compact form for keeping by content.

A column is named the same on every machine: a tool by what it is (name and sections), never by its number or
id; a grid cell by the name of its column; everything else by its pointer. The compact form keeps the layout
(the names) apart from the values, so that of a thousand machines laid out alike the names are read once.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from hashlib import sha256
from operator import itemgetter
from types import MappingProxyType

from profilekeeper.errors import FormatError
from profilekeeper.fleet.naming import ToolNames, is_turning, named_key, tool_names, words_of_tools
from profilekeeper.model.kinds import SettingKind
from profilekeeper.model.profile import Profile
from profilekeeper.model.schema import schema
from profilekeeper.model.settings import Setting, Value
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity, parse_length, parse_quantity
from profilekeeper.quantities.measure import Measure

__all__ = [
    "Cell",
    "Column",
    "Columns",
    "Copying",
    "cell",
    "columns_of",
    "columns_version",
    "dumps",
    "is_wanted",
    "loads",
]

FORMAT = 1
"""Counts up with every change of the compact form, or of what this module makes of a profile."""

# Parts of a record that say something about the record, not about the machine.
_NOT_COMPARED = frozenset(("profile", "sources", "moved", "agreement"))
# A machine with nothing but these has never been recorded.
_IDENTITY_ONLY = frozenset(
    ("machine", "units", "resolution", "conventions", "rules", "notes", "events", "control_backups", "setup_in_control")
)
# What belongs to the control's display: a sister that shows inches is no worse for it.
_DISPLAY = ("/units/", "/resolution/")
_UNREAD = ("could not read", "hidden by access level")
_RECORDED = "recorded"
_PART, _GROUP, _ITEM, _FIELD, _ESCAPE = "\x1c", "\x1d", "\x1e", "\x1f", "\x1b"
_PART_BYTE = b"\x1c"


class Copying(StrEnum):
    """Whether a good sister's value may be carried over."""

    MAY = "may be copied"
    CHECK = "copied only with a check at the machine"
    NEVER = "never copied"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """One setting as it is named on every machine.

    `key` is a pointer in which a tool stands by its name; `thing` its first part, the tool, table or page it
    belongs to (for a tool with its shape); `within` in base units (mm, deg), None where sisters agree exactly.
    """

    key: str
    thing: str
    rest: str
    agreement: str
    within: Decimal | None
    copying: Copying


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One value: as shown in the machine's own unit, and exact. `kind` is its base unit, or `words`.

    `base` is the exact value in `kind` (None for words); `is_read` is False where the control would not tell.
    """

    shown: str
    kind: str
    base: Decimal | None
    measure: Measure | None
    is_read: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """One machine's columns (or those asked for), each with its value packed as text; `cell` unpacks it.

    `things` are all things of the machine; `unmatched` says which tools cannot be recognised on a sister, and why;
    `own_text` is `own` packed.
    """

    machine: str
    machine_class: str
    unit: LengthUnit
    resolution: Length | None
    angle_resolution: Angle | None
    is_recorded: bool
    unmatched: tuple[str, ...]
    things: frozenset[str]
    own_text: str
    columns: tuple[Column, ...]
    packed: tuple[str, ...]

    @property
    def own(self) -> Mapping[str, tuple[str, str]]:
        """Things that have another name on the machine itself: their pointer there, and their id or ""."""
        return _own(self.own_text)

    def pointer(self, column: Column) -> str:
        """Where the column's setting stands in this machine's own record."""
        own = self.own.get(column.thing)
        return (own[0] if own else column.thing) + column.rest

    def step(self, kind: str) -> Decimal | None:
        """The smallest step the control shows of a kind of value, in its base unit; None where not known."""
        shown = self.resolution if kind == LengthUnit.MM else self.angle_resolution if kind == "deg" else None
        return shown.base if shown is not None and shown.base > 0 else None


def columns_version() -> str:
    """Under which name columns are kept: another one for every change of the schemas or of this module."""
    return _version()


def columns_of(profile: Profile) -> Columns:
    """All comparable settings of a profile."""
    names = tool_names(profile)
    columns: dict[Column, str] = {}
    for setting in profile.settings.values():
        placed = named_key(profile, names, setting.pointer)
        if placed is not None and setting.pointer.split("/", 2)[1] not in _NOT_COMPARED:
            thing, rest = placed
            columns[_column_of(setting, thing, rest)] = _packed(_comparable(profile, names, setting))
    return Columns(
        machine=profile.name,
        machine_class=profile.machine_class,
        unit=profile.unit,
        resolution=profile.resolution,
        angle_resolution=profile.angle_resolution,
        is_recorded=_is_recorded(profile),
        unmatched=names.unmatched,
        things=frozenset(column.thing for column in columns),
        own_text=_FIELD.join(_FIELD.join((_kept(k), _kept(at), _kept(by))) for k, (at, by) in names.own.items()),
        columns=tuple(columns),
        packed=tuple(columns.values()),
    )


def dumps(columns: Columns) -> bytes:
    """The columns in their compact form."""
    groups: dict[str, list[int]] = {}
    for place, column in enumerate(columns.columns):
        groups.setdefault(column.thing, []).append(place)
    layouts: dict[str, int] = {}
    structure = []
    for thing, places in groups.items():
        layout = _ITEM.join(_column_text(columns.columns[place]) for place in places)
        structure.append(f"{_kept(thing)}{_ITEM}{layouts.setdefault(layout, len(layouts))}")
    values = _FIELD.join(_kept(columns.packed[place]) for places in groups.values() for place in places)
    texts = _PART.join((_header(columns), columns.own_text, values, ""))
    names = _PART.join((_GROUP.join(structure), _GROUP.join(layouts)))
    return _bytes(texts) + zlib.compress(_bytes(names))


def loads(data: bytes, wanted: tuple[str, ...] = ()) -> Columns:
    """The columns at or below some patterns (`*` stands for any one step); all of them where none is given.

    Raises:  FormatError, if the bytes are not columns in this compact form.
    """
    try:
        *texts, names = data.split(_PART_BYTE, 3)
        header, own, values = (text.decode("utf-8", "surrogatepass") for text in texts)
        machine, machine_class, unit, length, angle, recorded, *unmatched = header.split(_FIELD)
        things, columns, places = _selection(names, wanted)
        return Columns(
            machine=_as_was(machine),
            machine_class=_as_was(machine_class),
            unit=_unit(unit),
            resolution=_length(length),
            angle_resolution=_angle(angle),
            is_recorded=recorded == _RECORDED,
            unmatched=tuple(_as_was(text) for text in unmatched),
            things=things,
            own_text=own,
            columns=columns,
            packed=_picked(values, places),
        )
    except (ValueError, IndexError, zlib.error) as error:
        raise FormatError(f"these are no kept columns ({error})", mend="work them out anew") from None


@lru_cache(maxsize=65536)
def cell(packed: str) -> Cell:
    """The value in its packed text."""
    tag, text = packed[0], packed[1:]
    if tag in _READERS:
        measure = _READERS[tag](text)
        return Cell(shown=str(measure), kind=measure.base_unit, base=measure.base, measure=measure)
    if tag == "N":
        return Cell(shown=text, kind="a plain number", base=Decimal(text), measure=None)
    if tag == "S":
        return Cell(shown=text, kind="words", base=None, measure=None, is_read=text not in _UNREAD)
    return Cell(shown=text, kind="words", base=None, measure=None)


def is_wanted(key: str, patterns: Sequence[str]) -> bool:
    """Whether a key stands at or below one of the patterns; every key does where there is none."""
    if not patterns:
        return True
    steps = key.split("/")
    return any(_is_below(steps, pattern.rstrip("/").split("/")) for pattern in patterns)


def _quantity(text: str) -> Measure:
    number, _, unit = text.partition(" ")
    return Quantity(Decimal(number), unit)


def _degrees(text: str) -> Angle:
    return Angle(Decimal(text))


_READERS: Mapping[str, Callable[[str], Measure]] = {"L": parse_length, "A": _degrees, "Q": _quantity}


@lru_cache(maxsize=1)
def _version() -> str:
    text = json.dumps([schema("profile"), schema("profile-1")], sort_keys=True, default=str)
    return f"columns-{FORMAT}-{sha256(text.encode()).hexdigest()[:16]}"


def _is_recorded(profile: Profile) -> bool:
    return any(
        setting.pointer.split("/", 2)[1] not in _IDENTITY_ONLY | _NOT_COMPARED and setting.kind.agreement != "note"
        for setting in profile.settings.values()
    )


def _column_of(setting: Setting, thing: str, rest: str) -> Column:
    kind, pointer = setting.kind, setting.pointer
    agreement = "own" if pointer.startswith(_DISPLAY) else kind.agreement
    within = _within(setting) if agreement == "agrees within" else ""
    return _column(thing, rest, agreement, within, _copying(kind, pointer, agreement))


def _copying(kind: SettingKind, pointer: str, agreement: str) -> Copying:
    """What agrees exactly may be copied, with a check where it hangs on hardware; what agrees within, never.

    Source: common practice, no source: own zeros, compensations and pivot lengths are set up on each machine.
    """
    if agreement != "agrees" or pointer.startswith("/machine/"):
        return Copying.NEVER
    return Copying.CHECK if kind.hangs_on else Copying.MAY


def _within(setting: Setting) -> str:
    """How closely sisters agree, in base units; a page says it in the unit it shows."""
    said, value = setting.kind.within, setting.value
    if not said:
        return "0"
    try:
        number = Decimal(said)
    except ArithmeticError:
        return f"{parse_quantity(said).base:f}"
    if setting.kind.quantity == "page value" and isinstance(value, (Length, Angle, Quantity)):
        return f"{Quantity(number, str(value.unit)).base:f}"
    return f"{number:f}"


def _comparable(profile: Profile, names: ToolNames, setting: Setting) -> Value:
    """The value with what it lacks to be compared: the unit behind "per min", the tool behind a number."""
    value, pointer = setting.value, setting.pointer
    shown_in = str(profile.unit)
    if isinstance(value, Quantity) and value.unit in ("per min", "per s²"):
        turning = is_turning(profile, pointer.split("/")[2])
        return Quantity(value.number, f"{'deg' if turning else shown_in}/{value.unit[4:]}")
    # Where only the control knows the unit, values are comparable among controls that display alike.
    if isinstance(value, Quantity) and value.unit == "as shown":
        return Quantity(value.number, f"as shown ({shown_in})")
    if isinstance(value, Decimal) and setting.kind.quantity in ("page value", "free"):
        return Quantity(value, f"as shown ({shown_in})")
    return words_of_tools(profile, names, pointer, value)


def _packed(value: Value) -> str:
    if isinstance(value, Length):
        return f"L{value.number:f} {value.unit}"
    if isinstance(value, Angle):
        return f"A{value.number:f}"
    if isinstance(value, Quantity):
        return f"Q{value.number:f} {value.unit}"
    if isinstance(value, Decimal):
        return f"N{value:f}"
    if isinstance(value, bool):
        return "Tyes" if value else "Tno"
    return "Sblank" if value is None else f"{'S' if value in _UNREAD else 'T'}{value}"


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def _header(columns: Columns) -> str:
    fields = (
        columns.machine,
        columns.machine_class,
        str(columns.unit),
        _packed(columns.resolution)[1:] if columns.resolution else "",
        _packed(columns.angle_resolution)[1:] if columns.angle_resolution else "",
        _RECORDED if columns.is_recorded else "",
        *columns.unmatched,
    )
    return _FIELD.join(_kept(field) for field in fields)


def _column_text(column: Column) -> str:
    within = "" if column.within is None else f"{column.within:f}"
    return _FIELD.join((_kept(column.rest), column.agreement, within, column.copying))


def _kept(text: str) -> str:
    """The text without the characters that part columns, which a file may hold though nobody keys them."""
    if not any(mark in text for mark in (_ESCAPE, _PART, _GROUP, _ITEM, _FIELD)):
        return text
    for code, mark in enumerate((_ESCAPE, _PART, _GROUP, _ITEM, _FIELD)):
        text = text.replace(mark, f"{_ESCAPE}{code}")
    return text


def _as_was(text: str) -> str:
    if _ESCAPE not in text:
        return text
    for code, mark in reversed(tuple(enumerate((_ESCAPE, _PART, _GROUP, _ITEM, _FIELD)))):
        text = text.replace(f"{_ESCAPE}{code}", mark)
    return text


@lru_cache(maxsize=1024)
def _selection(names: bytes, wanted: tuple[str, ...]) -> tuple[frozenset[str], tuple[Column, ...], tuple[int, ...]]:
    """The things, and of the columns asked for their names and the places of their values."""
    structure, layouts = zlib.decompress(names).decode("utf-8", "surrogatepass").split(_PART)
    texts, start = layouts.split(_GROUP), 0
    things, columns, places = [], list[Column](), list[int]()
    for line in structure.split(_GROUP) if structure else ():
        thing, number = line.split(_ITEM)
        things.append(_as_was(thing))
        size, chosen = _group(thing, texts[int(number)], wanted)
        for place, column in chosen:
            columns.append(column)
            places.append(start + place)
        start += size
    return frozenset(things), tuple(columns), tuple(places)


@lru_cache(maxsize=16384)
def _group(thing: str, layout: str, wanted: tuple[str, ...]) -> tuple[int, tuple[tuple[int, Column], ...]]:
    """How many columns a thing has, and those asked for with their places in it."""
    lines, chosen = layout.split(_ITEM), []
    for place, line in enumerate(lines):
        rest, agreement, within, copying = line.split(_FIELD)
        column = _column(_as_was(thing), _as_was(rest), agreement, within, Copying(copying))
        if is_wanted(column.key, wanted):
            chosen.append((place, column))
    return len(lines), tuple(chosen)


@lru_cache(maxsize=65536)
def _column(thing: str, rest: str, agreement: str, within: str, copying: Copying) -> Column:
    """The one column of these words: equal columns are the same object while they are in use together."""
    return Column(
        key=thing.partition(_FIELD)[0] + rest,
        thing=thing,
        rest=rest,
        agreement=agreement,
        within=Decimal(within) if within else None,
        copying=copying,
    )


def _is_below(steps: Sequence[str], wanted: Sequence[str]) -> bool:
    return len(steps) >= len(wanted) and all(w in ("*", step) for w, step in zip(wanted, steps, strict=False))


def _picked(text: str, places: tuple[int, ...]) -> tuple[str, ...]:
    values = text.split(_FIELD)
    if len(places) < 2:
        return tuple(_as_was(values[place]) for place in places)
    picked = itemgetter(*places)(values)
    return tuple(_as_was(value) for value in picked) if _ESCAPE in text else picked


@lru_cache(maxsize=1024)
def _own(text: str) -> Mapping[str, tuple[str, str]]:
    fields = [_as_was(field) for field in text.split(_FIELD)] if text else []
    return MappingProxyType({fields[i]: (fields[i + 1], fields[i + 2]) for i in range(0, len(fields), 3)})


@lru_cache(maxsize=64)
def _unit(text: str) -> LengthUnit:
    return LengthUnit(text)


@lru_cache(maxsize=64)
def _length(text: str) -> Length | None:
    return parse_length(text) if text else None


@lru_cache(maxsize=64)
def _angle(text: str) -> Angle | None:
    return _degrees(text) if text else None
