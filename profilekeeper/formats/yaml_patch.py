"""Changes of a YAML text by its marks: each touches only the characters of the setting it changes.

Every function takes a text, its marks (`yaml_marks.Node`) and what to change, and gives the new
text. None of them checks its work: `edit_yaml` reads every result back and compares.
"""

from __future__ import annotations

import re

from profilekeeper.formats.yaml_marks import Node
from profilekeeper.formats.yaml_write import block_lines, flow_text, key_text, scalar_text

__all__ = ["appended", "inserted", "line_end_of", "removed", "replaced", "scalar_patch"]

Patch = tuple[int, int, str]
_INDENT = re.compile(r"[ ]*")
_TO_NEXT_LINE = re.compile(r"[ ]*(?:#[^\r\n]*)?(?:\r\n|\r|\n|$)")
_BLOCK_HEADER = re.compile(r"[|>][0-9+-]*(?P<comment>[ ]+#[^\r\n]*)?")
_COMMA = re.compile(r"\s*,[ ]*")
_BREAK = re.compile(r"\r\n|\r|\n")


def line_end_of(text: str) -> str:
    """The line end that a text uses, by its first one."""
    found = _BREAK.search(text)
    return found.group() if found else "\n"


def scalar_patch(text: str, node: Node, value: object, *, flow: bool) -> Patch:
    """What to put between which two indices so that a scalar has a new scalar value."""
    start, end = node.span.start, node.span.end
    if node.style not in ("|", ">"):
        return start, end, _spaced(text, node, scalar_text(value, style=node.style, flow=flow))
    header = _BLOCK_HEADER.match(text, start)
    comment = (header and header.group("comment")) or ""
    if isinstance(value, str) and "\n" in value:
        indent = _INDENT.match(text, _line_start(text, start))
        first, *rest = block_lines(value, len(indent.group()) if indent else 0)
        return start, end, line_end_of(text).join([first + comment, *rest])
    return start, end, scalar_text(value) + comment


def replaced(text: str, parent: Node, token: str, value: object) -> str:
    """The text with another value, of any kind, at an entry of a group or list."""
    node = parent.items[token]
    is_group = isinstance(value, dict | list | tuple)
    if node.kind == "scalar" and not is_group:
        start, end, written = scalar_patch(text, node, value, flow=parent.flow)
        return text[:start] + written + text[end:]
    if parent.flow or (node.flow and is_group):
        return _replaced_in_line(text, node, flow_text(value))
    column = node.span.place.column - 3 if node.key is None else node.key.place.column - 1
    first, *rest = block_lines(value, column)
    if node.key is None:
        return _replaced_beside_dash(text, node, [first, *rest])
    if first:
        return _replaced_beside_name(text, node, [first, *rest])
    return _replaced_below_name(text, node, rest)


def inserted(text: str, parent: Node, key: str, value: object) -> str:
    """The text with one more name and value at the end of a group."""
    if parent.flow:
        return _flow_end(text, parent, f"{key_text(key, flow=True)}: {flow_text(value)}")
    name = next(iter(parent.items.values())).key
    assert name is not None
    indent = name.place.column - 1
    first, *rest = _entry_lines(parent, value, indent)
    line = f"{' ' * indent}{key_text(key)}:{' ' if first else ''}{first}"
    return _below_line(text, parent.span.end, [line, *rest])


def appended(text: str, parent: Node, value: object) -> str:
    """The text with one more item at the end of a list."""
    if parent.flow:
        return _flow_end(text, parent, flow_text(value))
    indent = parent.span.place.column - 1
    first, *rest = _beside_dash(_entry_lines(parent, value, indent), indent)
    return _below_line(text, parent.span.end, [f"{' ' * indent}- {first}", *rest])


def removed(text: str, parent: Node, token: str) -> str:
    """The text without one entry of a group or list; a comment on its own line above it stays."""
    if parent.flow:
        return _removed_in_line(text, parent, token)
    if len(parent.items) == 1:
        return _emptied(text, parent)
    start, end = _entry_start(text, parent, token), parent.items[token].span.end
    line_start = _line_start(text, start)
    if not text[line_start:start].strip(" "):
        return _without_lines(text, line_start, end)
    # The entry begins beside a dash: the next entry takes its place.
    following = list(parent.items)[1]
    return text[:start] + text[_entry_start(text, parent, following) :]


def _spaced(text: str, node: Node, written: str) -> str:
    """A value where none was written, as in `name:` at the end of a line, needs a space before it."""
    start, end = node.span.start, node.span.end
    if start == end and start > 0 and text[start - 1] not in " \r\n":
        return " " + written
    return written


def _entry_lines(parent: Node, value: object, indent: int) -> list[str]:
    """A new value in the style of its sisters: in braces where they are, else one setting a line."""
    sister = next(reversed(parent.items.values()))
    if sister.flow and isinstance(value, dict | list | tuple):
        return [flow_text(value)]
    return block_lines(value, indent)


def _beside_dash(lines: list[str], indent: int) -> list[str]:
    """Lines of a group or list with the first one moved up beside the dash."""
    return lines if lines[0] else [lines[1][indent + 2 :], *lines[2:]]


def _replaced_in_line(text: str, node: Node, written: str) -> str:
    return text[: node.span.start] + _spaced(text, node, written) + text[node.span.end :]


def _replaced_beside_dash(text: str, node: Node, lines: list[str]) -> str:
    beside = _beside_dash(lines, node.span.place.column - 3)
    start, end = node.span.start, node.span.end
    written, tail = _with_comment(text, end, beside)
    return text[:start] + _spaced(text, node, written) + tail


def _replaced_beside_name(text: str, node: Node, lines: list[str]) -> str:
    """What stood beside or below the name becomes a value beside it; a comment beside the name stays."""
    colon, below = _colon(text, node), _line_start(text, node.span.start)
    if below <= colon:
        written, tail = _with_comment(text, node.span.end, lines)
        return text[:colon] + " " + written + tail
    beside_name = text[colon : _line_stop(text, colon)]
    between = text[_line_stop(text, colon) : below].rstrip("\r\n")
    written = line_end_of(text).join([lines[0] + beside_name, *lines[1:]])
    tail = text[_line_stop(text, node.span.end) :]
    return text[:colon] + " " + written + between + (tail or line_end_of(text))


def _replaced_below_name(text: str, node: Node, lines: list[str]) -> str:
    """What stood beside or below the name becomes lines below it; a comment beside the name stays."""
    colon, below = _colon(text, node), _line_start(text, node.span.start)
    after = _next_line(text, node.span.end)
    head = text[:below] if below > colon else text[:colon] + text[node.span.end : after]
    return _joined(head, line_end_of(text).join(lines), text[after:], text)


def _with_comment(text: str, end: int, lines: list[str]) -> tuple[str, str]:
    """The lines joined, and the text behind `end`: a comment beside the old value goes beside the first line.

    Behind the last one it would become part of a text below a | sign.
    """
    if len(lines) == 1:
        return lines[0], text[end:]
    stop = _line_stop(text, end)
    written = line_end_of(text).join([lines[0] + text[end:stop], *lines[1:]])
    return written, text[stop:] or line_end_of(text)


def _emptied(text: str, parent: Node) -> str:
    empty = "{}" if parent.kind == "mapping" else "[]"
    if parent.key is not None:
        return _replaced_beside_name(text, parent, [empty])
    return _replaced_in_line(text, parent, empty)


def _flow_end(text: str, parent: Node, written: str) -> str:
    if not parent.items:
        at = parent.span.start + 1
        return text[:at] + written + text[at:]
    at = next(reversed(parent.items.values())).span.end
    return text[:at] + ", " + written + text[at:]


def _removed_in_line(text: str, parent: Node, token: str) -> str:
    """The text without one entry in braces or brackets; comments between the entries stay."""
    names = list(parent.items)
    index = names.index(token)
    start, end = _entry_start(text, parent, token), parent.items[token].span.end
    following = _entry_start(text, parent, names[index + 1]) if index + 1 < len(names) else None
    before = parent.items[names[index - 1]].span.end if index > 0 else None
    if following is not None and "#" not in text[end:following]:
        return text[:start] + text[following:]
    if following is None and before is not None and "#" not in text[before:start]:
        return text[:before] + text[end:]
    comma = _COMMA.match(text, end)
    return text[:start] + text[comma.end() if comma else end :]


def _below_line(text: str, index: int, lines: list[str]) -> str:
    """The text with whole lines put below the line of `index`, its comment included."""
    after = _next_line(text, index)
    return _joined(text[:after], line_end_of(text).join(lines), text[after:], text)


def _joined(head: str, lines: str, tail: str, text: str) -> str:
    """Whole lines between two parts of a text; they end in a line end, at the end of the file too."""
    ends = line_end_of(text)
    return head + ("" if head.endswith(("\n", "\r")) else ends) + lines + ends + tail


def _without_lines(text: str, start: int, end: int) -> str:
    """The text without the lines from `start` to that of `end`."""
    return text[:start] + text[_next_line(text, end) :]


def _next_line(text: str, index: int) -> int:
    """Where the line after that of `index` begins; only a comment may follow on this one."""
    found = _TO_NEXT_LINE.match(text, index)
    return found.end() if found else index


def _line_stop(text: str, index: int) -> int:
    """Where the line of `index` stops, before its line end."""
    found = _BREAK.search(text, index)
    return found.start() if found else len(text)


def _line_start(text: str, index: int) -> int:
    return max(text.rfind("\n", 0, index), text.rfind("\r", 0, index)) + 1


def _colon(text: str, node: Node) -> int:
    """The index behind the colon of a node's name."""
    assert node.key is not None
    return text.index(":", node.key.end) + 1


def _entry_start(text: str, parent: Node, token: str) -> int:
    """Where an entry begins: its name, its dash, or in brackets the item itself."""
    node = parent.items[token]
    if node.key is not None:
        return node.key.start
    if parent.flow:
        return node.span.start
    return _dash(text, parent, int(token))


def _dash(text: str, parent: Node, index: int) -> int:
    """The dash of an item: the first is where the list begins, the others stand below it."""
    if index == 0:
        return parent.span.start
    indent = parent.span.place.column - 1
    before = parent.items[str(index - 1)].span.end
    found = re.compile(rf"[\r\n] {{{indent}}}-(?=[ \r\n]|$)").search(text, before)
    return found.end() - 1 if found else before
