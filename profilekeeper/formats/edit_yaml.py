"""Changes of settings in a YAML text that leave every other character as it is.

`splice` and `splice_many` give existing settings new single values; `edit` also adds, removes and
replaces whole groups. Every result is read back by the strict reader and compared with what was
wanted: a text that says anything else is never returned.
"""

from __future__ import annotations

from collections.abc import Mapping

from profilekeeper.errors import FormatError, UsageError
from profilekeeper.formats.changed_data import REMOVED, Change, Removed, changed, in_order
from profilekeeper.formats.strict_yaml import loads
from profilekeeper.formats.yaml_marks import Node, marks_of, node_at
from profilekeeper.formats.yaml_patch import appended, inserted, removed, replaced, scalar_patch
from profilekeeper.formats.yaml_write import dumps, refuse_unwritable, same
from profilekeeper.model import pointer as pointers

__all__ = ["REMOVED", "Change", "Removed", "dumps", "edit", "splice", "splice_many"]

_BOM = "\ufeff"


def splice(text: str, pointer: str, value: object, *, source: str = "") -> str:
    """The text with one single value (number, text, true, false, null) changed, all else byte for byte.

    Raises:  FormatError for text the strict reader refuses or a value with no exact spelling;
             UnknownName for a pointer that leads nowhere; UsageError where a group or list stands.
    >>> from decimal import Decimal
    >>> splice("length: 212.730  # tool 21\\n", "/length", Decimal("212.700"))
    'length: 212.700  # tool 21\\n'
    """
    return splice_many(text, {pointer: value}, source=source)


def splice_many(text: str, values: Mapping[str, object], *, source: str = "") -> str:
    """The text with several single values changed, all else byte for byte; every one must be there.

    Raises:  as `splice`.
    """
    before = loads(text, source=source)
    _refuse_groups(before, values)
    for value in values.values():
        refuse_unwritable(value)
    wanted = changed(before, values)
    body = text.removeprefix(_BOM)
    root = marks_of(body)
    patches = [_patch(body, root, name, value) for name, value in values.items() if _differs(before, name, value)]
    for start, end, written in sorted(patches, reverse=True):
        body = body[:start] + written + body[end:]
    return _kept_mark(text, _checked(body, wanted, source))


def edit(text: str, changes: Mapping[str, Change], *, source: str = "") -> str:
    """The text with settings changed, added (groups and lists included) or `REMOVED`.

    Pointers name places in the text as given. A name that is not there yet is added at the end of
    its group; in a list, `-` or the place behind the last one appends. Comments, order, quotes and
    zeros of everything else stay; a comment on its own line above a removed setting stays too.

    Raises:  FormatError for text the strict reader refuses or a value with no exact spelling;
             UnknownName for a place that leads nowhere; UsageError for changes that overlap.
    >>> edit("tools: {21: {length: 5}}\\n", {"/tools/22": {"length": 6}, "/tools/21": REMOVED})
    'tools: {22: {length: 6}}\\n'
    """
    before = loads(text, source=source)
    wanted = changed(before, changes)
    for change in changes.values():
        if change is not REMOVED:
            refuse_unwritable(change)
    body = text.removeprefix(_BOM)
    try:
        for pointer, change in in_order(before, changes):
            body = _step(body, pointer, change)
        return _kept_mark(text, _checked(body, wanted, source))
    except FormatError:
        from profilekeeper.formats.round_trip import round_trip

        return _kept_mark(text, _checked(round_trip(text.removeprefix(_BOM), before, changes), wanted, source))


def _refuse_groups(before: object, values: Mapping[str, object]) -> None:
    for pointer, value in values.items():
        groups = (dict, list, tuple)
        if isinstance(value, groups) or value is REMOVED or isinstance(pointers.resolve(before, pointer), groups):
            raise UsageError(f"{pointer or 'the file'} is a group or list, or is to become one: give single values")


def _differs(before: object, pointer: str, value: object) -> bool:
    """Whether a setting changes at all: what is the same keeps its spelling, `+5` or `"X"`."""
    return not same(pointers.resolve(before, pointer), value)


def _patch(text: str, root: Node, pointer: str, value: object) -> tuple[int, int, str]:
    flow = node_at(root, pointer.rpartition("/")[0]).flow
    return scalar_patch(text, node_at(root, pointer), value, flow=flow)


def _step(text: str, pointer: str, change: Change) -> str:
    """One change of a text; the marks are taken anew each time, since the last one moved them."""
    above, last = pointers.parse(pointer)[:-1], pointers.parse(pointer)[-1]
    parent = node_at(marks_of(text), pointers.format(above))
    if change is REMOVED:
        return removed(text, parent, last)
    if last in parent.items:
        return replaced(text, parent, last, change)
    if parent.kind == "list":
        return appended(text, parent, change)
    return inserted(text, parent, last, change)


def _checked(text: str, wanted: object, source: str) -> str:
    """The text, if it says exactly what was wanted."""
    if not same(loads(text, source=source), wanted):
        raise FormatError(
            "this change cannot be made without touching other settings",
            source=source,
            mend="write the group it belongs to one setting a line, and try again",
        )
    return text


def _kept_mark(before: str, after: str) -> str:
    return _BOM + after if before.startswith(_BOM) else after
