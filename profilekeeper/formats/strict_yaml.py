"""The one reader of YAML text: plain exact data, or one sentence that says where and why not.

Out come dicts in file order with text keys, lists, text, whole numbers, decimals as written
(`21.700` keeps its zeros), true, false and null. What another reader could take for something else
is refused: anchors and aliases, tags, merge keys, duplicate or complex keys, second documents, tabs,
YAML 1.1's other meanings of `no`, `010`, `12:30` ... (see plain_scalar.py).
"""

from __future__ import annotations

from typing import Any, NoReturn

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import (
    MAX_DEPTH,
    MAX_KEY,
    MAX_NODES,
    checked_text,
    stray_index,
)
from profilekeeper.formats.plain_scalar import plain_value
from profilekeeper.formats.yaml_doubts import refuse_doubts
from profilekeeper.formats.yaml_events import NextEvent, in_plain_words, next_event_of

__all__ = ["loads"]

# Keys to look at twice; the test for them is a set look-up, made for every key of every file.
_ODD_KEYS = frozenset({"", "<<", "="})


def loads(text: str | bytes, *, source: str = "") -> object:
    """The data of a YAML text: dict, list, str, int, Decimal, bool or None, exact and in file order.

    Raises:  FormatError with source, line and column, for anything that is not plainly one value.
    >>> loads("tools: {21: {length: 212.730, on: 2026-03-04}}")
    {'tools': {'21': {'length': Decimal('212.730'), 'on': '2026-03-04'}}}
    """
    from yaml import YAMLError

    checked = checked_text(text, source)
    try:
        data = _Reader(next_event_of(checked), source).document()
    except YAMLError as error:
        raise in_plain_words(error, checked, source) from None
    refuse_doubts(checked, source)
    return data


class _Reader:
    """One pass over the events of one text; recursion is bounded by MAX_DEPTH."""

    __slots__ = ("_events", "_get", "_left", "_source")

    def __init__(self, get: NextEvent, source: str) -> None:
        import yaml.events

        self._get = get
        self._source = source
        self._left = MAX_NODES
        self._events = yaml.events

    def document(self) -> object:
        """The data of the only document."""
        self._get()
        start = self._get()
        if type(start) is self._events.StreamEndEvent:
            self._refuse(start, "the file holds nothing but comments", "write the values, or remove it")
        if start.version or start.tags:
            self._refuse(start, "a line that begins with % stands here", "remove the line")
        first = self._get()
        if type(first) is self._events.ScalarEvent and first.implicit[0] and not first.value:
            self._refuse(first, "the file holds no value", "write the values, or remove it")
        data = self._value(first, None, 0)
        self._get()
        after = self._get()
        if type(after) is not self._events.StreamEndEvent:
            self._refuse(after, "a second document begins here", "put it into its own file")
        return data

    def _value(self, event: Any, key: Any, depth: int) -> object:
        """The value that begins with this event; `key` is the event before it, or None in a list."""
        kind, events = type(event), self._events
        if event.anchor is not None:
            self._refuse_anchor(event)
        if event.tag is not None:
            self._refuse(event, "a tag (a word led by !) stands here", "remove it, or put the text in quotes")
        if kind is events.ScalarEvent:
            return self._scalar(event, key)
        if depth == MAX_DEPTH:
            self._refuse(event, f"more than {MAX_DEPTH} levels lie inside one another", "check the brackets")
        if kind is events.MappingStartEvent:
            return self._mapping(event, depth + 1)
        return self._sequence(depth + 1)

    def _mapping(self, start: Any, depth: int) -> dict[str, object]:
        if start.flow_style and start.start_mark.index == start.end_mark.index:
            self._refuse(start, "a name and a value stand in brackets [ ]", "write {name: value} in braces")
        data: dict[str, object] = {}
        get, scalar, value_of = self._get, self._events.ScalarEvent, self._value
        while True:
            event = get()
            if type(event) is not scalar:
                if type(event) is self._events.MappingEndEvent:
                    break
                self._refuse_key(event)
            key = event.value
            if key in data or event.anchor is not None or event.tag is not None or len(key) > MAX_KEY:
                self._refuse_name(event, data)
            if not event.implicit[0] or key in _ODD_KEYS:
                self._check_key(event)
            data[key] = value_of(get(), event, depth)
        self._count(len(data), start)
        return data

    def _sequence(self, depth: int) -> list[object]:
        data: list[object] = []
        get, value_of = self._get, self._value
        end = self._events.SequenceEndEvent
        while True:
            event = get()
            if type(event) is end:
                break
            data.append(value_of(event, None, depth))
        self._count(len(data), event)
        return data

    def _scalar(self, event: Any, key: Any) -> object:
        text: str = event.value
        if not event.implicit[0]:
            self._check_text(event)
            return text
        if not text:
            self._check_gap(event, key)
        elif " " in text or "\n" in text:
            self._check_one_line(event)
        try:
            return plain_value(text)
        except FormatError as error:
            self._refuse(event, error.what, error.mend)

    def _count(self, entries: int, event: Any) -> None:
        self._left -= entries
        if self._left < 0:
            self._refuse(event, f"the file holds more than {MAX_NODES:,} values", "split it")

    def _check_text(self, event: Any) -> None:
        """Quoted text may spell any character by its code; those nobody can see are refused."""
        stray = stray_index(event.value)
        if stray is not None:
            what = f"a text with the invisible character U+{ord(event.value[stray]):04X} begins here"
            self._refuse(event, what, "remove the backslash code")

    def _check_gap(self, event: Any, key: Any) -> None:
        """`{X: 12,5}` is X: 12 and a name 5 without a colon: the slip of a decimal comma."""
        if key is None or event.start_mark.index != key.end_mark.index:
            return
        if key.value[:1].isdigit():
            mend = "write a decimal with a point, 12.5, or a list in brackets, [12, 5]"
            self._refuse(key, f"after a comma in braces stands {key.value} alone", mend)
        self._refuse(key, f"the name {_short(key.value)} has no value", "write name: value, or name: null")

    def _check_one_line(self, event: Any) -> None:
        """A text without quotes that goes on below is where a forgotten colon or bracket hides."""
        if event.start_mark.line != event.end_mark.line:
            what = "an unquoted text begins here and goes on in the next line"
            self._refuse(
                event, what, "put the text in quotes, or look for a missing colon or bracket, or a wrong indent"
            )

    def _check_key(self, event: Any) -> None:
        """A key that is quoted, or one of the odd ones. `on`, `no`, `010`, `1` are all plain text as keys."""
        if not event.implicit[0]:
            self._check_text(event)
        elif event.value == "":
            self._refuse(event, "a name is missing before the colon", "write name: value")
        elif event.value in ("<<", "="):
            mend = "write the settings themselves, or put the name in quotes"
            self._refuse(event, f"the merge key {event.value} stands here", mend)

    def _refuse_name(self, event: Any, data: dict[str, object]) -> NoReturn:
        if event.anchor is not None:
            self._refuse_anchor(event)
        if event.tag is not None:
            self._refuse(event, "a tag (a word led by !) stands here", "remove it, or put the text in quotes")
        if event.value in data:
            mend = "keep one of the two"
            self._refuse(event, f"the name {_short(event.value)} stands twice in the same place", mend)
        self._refuse(event, f"a name of {len(event.value)} characters is too long", f"use at most {MAX_KEY}")

    def _refuse_key(self, event: Any) -> NoReturn:
        if event.anchor is not None:
            self._refuse_anchor(event)
        self._refuse(event, "a list or a group stands where a name belongs", "use a plain text as the name")

    def _refuse_anchor(self, event: Any) -> NoReturn:
        sign = "*" if type(event) is self._events.AliasEvent else "&"
        what = f"{sign}{_short(event.anchor)} refers to another place of the file"
        self._refuse(event, what, "write the value itself, or put the text in quotes")

    def _refuse(self, event: Any, what: str, mend: str) -> NoReturn:
        mark = event.start_mark
        raise FormatError(what, source=self._source, line=mark.line + 1, column=mark.column + 1, mend=mend)


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
