"""Where everything stands in a YAML text: the marks of each value and key, for messages and for edits.

Only for text that the strict reader has taken; a pass of its own, since reading must not pay for
what only a message or an edit needs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from profilekeeper.errors import UnknownName
from profilekeeper.formats.limits import checked_text
from profilekeeper.formats.strict_yaml import loads
from profilekeeper.formats.yaml_events import NextEvent, next_event_of
from profilekeeper.model import pointer as pointers

__all__ = ["Node", "Place", "Span", "locate", "locate_key", "marks_of", "node_at", "positions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Line and column in a text, both from 1."""

    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of a text: `start` and `end` as character indices, and the place where it begins."""

    start: int
    end: int
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One value with its marks.

    `kind` is what it is; `flow` whether it is written in brackets or braces; `style` the quote or
    block sign of a scalar ("" for a plain one). `span` ends behind the last character of the value
    itself: no comment, no line end. `key` is the span of its name, if it has one.
    """

    kind: Literal["scalar", "mapping", "list"]
    flow: bool
    style: str
    span: Span
    key: Span | None
    items: dict[str, Node] = field(default_factory=dict)


def marks_of(text: str) -> Node:
    """The marks of the whole of a text that the strict reader has taken, without byte-order mark."""
    return _Marker(next_event_of(text), text).document()


def node_at(root: Node, pointer: str) -> Node:
    """The node that a pointer names.

    Raises:  UnknownName, if there is none.
    """
    node, tokens = root, pointers.parse(pointer)
    for depth, token in enumerate(tokens):
        if token not in node.items:
            inside = pointers.format(tokens[:depth]) or "the file"
            raise UnknownName(f"there is no {token!r} in {inside}")
        node = node.items[token]
    return node


def locate(text: str | bytes, pointer: str) -> Place:
    """Where the value named by a pointer begins.

    Raises:  FormatError for text the strict reader refuses, UnknownName for a pointer that leads nowhere.
    >>> locate("table:\\n  surface: -455.2\\n", "/table/surface")
    Place(line=2, column=12)
    """
    return node_at(_checked_marks(text), pointer).span.place


def locate_key(text: str | bytes, pointer: str) -> Place:
    """Where the name at the end of a pointer stands; of an item of a list, where the item begins.

    Raises:  FormatError for text the strict reader refuses, UnknownName for a pointer that leads nowhere.
    >>> locate_key("table:\\n  surface: -455.2\\n", "/table/surface")
    Place(line=2, column=3)
    """
    node = node_at(_checked_marks(text), pointer)
    return (node.key or node.span).place


def positions(text: str | bytes) -> dict[str, Place]:
    """Where every value begins, by pointer, in file order, groups and lists included.

    Raises:  FormatError, for text the strict reader refuses.
    """
    return {pointer: node.span.place for pointer, node in _walk(_checked_marks(text), "")}


def _checked_marks(text: str | bytes) -> Node:
    checked = checked_text(text, "")
    loads(checked)
    return marks_of(checked)


def _walk(node: Node, pointer: str) -> Iterator[tuple[str, Node]]:
    yield pointer, node
    for token, inner in node.items.items():
        yield from _walk(inner, pointers.join(pointer, token))


class _Marker:
    """One pass over the events of one text."""

    __slots__ = ("_events", "_get", "_text")

    def __init__(self, get: NextEvent, text: str) -> None:
        import yaml.events

        self._get = get
        self._text = text
        self._events: Any = yaml.events

    def document(self) -> Node:
        self._get()
        self._get()
        return self._node(self._get(), None)

    def _node(self, event: Any, key: Span | None) -> Node:
        if type(event) is self._events.MappingStartEvent:
            return self._mapping(event, key)
        if type(event) is self._events.SequenceStartEvent:
            return self._list(event, key)
        span = Span(start=event.start_mark.index, end=self._scalar_end(event), place=_place(event))
        return Node(kind="scalar", flow=False, style=event.style or "", span=span, key=key)

    def _mapping(self, start: Any, key: Span | None) -> Node:
        items: dict[str, Node] = {}
        event = self._get()
        while type(event) is self._events.ScalarEvent:
            name = Span(start=event.start_mark.index, end=event.end_mark.index, place=_place(event))
            items[event.value] = self._node(self._get(), name)
            event = self._get()
        span = self._collection(start, event, items)
        return Node(kind="mapping", flow=bool(start.flow_style), style="", span=span, key=key, items=items)

    def _list(self, start: Any, key: Span | None) -> Node:
        items: dict[str, Node] = {}
        event = self._get()
        while type(event) is not self._events.SequenceEndEvent:
            items[str(len(items))] = self._node(event, None)
            event = self._get()
        span = self._collection(start, event, items)
        return Node(kind="list", flow=bool(start.flow_style), style="", span=span, key=key, items=items)

    def _collection(self, start: Any, end: Any, items: dict[str, Node]) -> Span:
        """In block style the parser's end mark lies behind the comments that follow: ours does not."""
        first = start.start_mark.index
        last = end.end_mark.index if start.flow_style else next(reversed(items.values())).span.end
        return Span(start=first, end=last, place=_place(start))

    def _scalar_end(self, event: Any) -> int:
        first, last = event.start_mark.index, event.end_mark.index
        if event.style not in ("|", ">"):
            return int(last)
        block = self._text[first:last]
        header, _, _ = block.partition("\n")
        # A + in the header keeps the empty lines below as part of the text.
        kept = block.removesuffix("\n").removesuffix("\r") if "+" in header else block.rstrip()
        return int(first) + len(kept)


def _place(event: Any) -> Place:
    return Place(line=event.start_mark.line + 1, column=event.start_mark.column + 1)
