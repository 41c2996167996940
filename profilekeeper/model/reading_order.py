"""The order in which a control's screens show its settings, so that a person goes down the screen once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile
from profilekeeper.model.schema import refuse
from profilekeeper.model.settings import pointers_like

__all__ = ["Field", "ReadingOrder", "fields_of", "read_reading_order", "walked_order"]

_ON_SCREENS = (
    "/axes/*/soft_limits", "/axes/*/scale", "/axes/*/direction", "/axes/*/backlash", "/axes/*/pitch_table",
    "/axes/*/reference/offset", "/axes/*/rotary_zero", "/axes/*/gantry_slave_offset", "/axes/*/squareness",
    "/axes/*/rapid", "/axes/*/acceleration", "/head/offsets_in_control", "/tables/*/surface", "/work_offsets",
    "/positions", "/tool_changes/*/X", "/tool_changes/*/Y", "/tool_changes/*/Z", "/tool_changes/*/A",
    "/tool_changes/*/C", "/changer", "/instruments/*/X", "/instruments/*/Y", "/instruments/*/Z",
    "/instruments/*/zero", "/jet/height_sensor_zero", "/safe_z/general", "/tools/*/length",
    "/tools/*/diameter_in_control", "/tools/*/radius_in_control", "/tools/*/speed", "/control_pages",
)  # fmt: skip
"""What a control holds, as far as the record models it: common practice, no source."""

_NOT_KEYED = ("identity", "notation", "date", "choice", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field on a page of the control: its label exactly as shown and the setting it fills.

    `pointer` may hold `*`: then it stands for each tool, position or other named thing in turn.
    """

    page: tuple[str, ...]
    label: str
    pointer: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOrder:
    """All fields of a control in the order in which its screens show them."""

    control: str
    fields: tuple[Field, ...]


def read_reading_order(data: Any, *, source: str = "") -> ReadingOrder:
    """The reading order in some plain data. Raises: InvalidProfile, if it does not satisfy its schema."""
    refuse("reading-order", data, source or "the reading order")
    fields = [
        Field(
            page=tuple(str(step) for step in page["path"]),
            label=str(field["label"]) + (f" ({field['occurrence']})" if field.get("occurrence", 1) > 1 else ""),
            pointer=str(field["fills"]),
            note=str(field.get("note", "")),
        )
        for page in data["pages"]
        for field in page["fields"]
    ]
    return ReadingOrder(control=str(data.get("control", "")), fields=tuple(fields))


def walked_order(profile: Profile) -> ReadingOrder:
    """A reading order made from the record itself, top to bottom: what there is until a control is walked."""
    wanted = {p for pattern in _ON_SCREENS for p in pointers_like(profile.settings, pattern)}
    fields = [
        Field(page=json_pointer.parse(pointer)[:1], label=" ".join(json_pointer.parse(pointer)[1:]), pointer=pointer)
        for pointer, setting in profile.settings.items()
        if pointer in wanted and setting.kind.quantity not in _NOT_KEYED
    ]
    return ReadingOrder(control="", fields=tuple(fields))


def fields_of(order: ReadingOrder, profile: Profile) -> Iterator[Field]:
    """The order's fields for one machine, with every `*` filled in by what the machine has."""
    for field in order.fields:
        for pointer in _filled(profile.data, json_pointer.parse(field.pointer)):
            yield Field(page=field.page, label=_label(field, pointer), pointer=pointer, note=field.note)


def _label(field: Field, pointer: str) -> str:
    """The label, with the name of the thing where one field of the order stands for many."""
    if "*" not in field.pointer:
        return field.label
    steps = zip(json_pointer.parse(field.pointer), json_pointer.parse(pointer), strict=True)
    return f"{field.label} ({', '.join(step for wanted, step in steps if wanted == '*')})"


def _filled(data: object, tokens: tuple[str, ...], done: tuple[str, ...] = ()) -> Iterator[str]:
    if not tokens:
        yield json_pointer.format(done)
        return
    first, rest = tokens[0], tokens[1:]
    if first != "*":
        below = data.get(first) if isinstance(data, Mapping) else None
        yield from _filled(below, rest, (*done, first))
        return
    items = data.items() if isinstance(data, Mapping) else ()
    for key, value in items:
        yield from _filled(value, rest, (*done, str(key)))
