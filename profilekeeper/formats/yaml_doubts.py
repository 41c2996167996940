"""Places of a YAML text where one parser reads on and the next refuses the file: refused here too.

The parser behind the strict reader takes them; others do not. A file must not depend on which
program opens it. Looked for in a second pass, and only in a text that holds one of the signs.
"""

from __future__ import annotations

import re
from typing import Any

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import place_of
from profilekeeper.formats.yaml_events import next_event_of

__all__ = ["refuse_doubts"]

_COMMENT = re.compile(r"(?:^|(?<=[ \t\r\n]))#[^\r\n]*")
_LONE_RETURN = re.compile(r"\r(?!\n)")
_ODD_SIGN = re.compile(r"[\t?]")
# The head of a text block with a comment right behind its sign, a tab, or a line of spaces below it.
_ODD_BLOCK = re.compile(r"[|>][-+0-9]*(?:#|[ ]*\t|[ ]*(?:#[^\r\n]*)?\r?\n(?:\r?\n)*[ ]+\r?\n)")


def refuse_doubts(text: str, source: str) -> None:
    """Refuse a tab outside of quotes, text blocks and comments, an explicit key, an odd text block or line end.

    A question mark leads an explicit key; inside braces and brackets some parsers see one in the
    middle of a word too.

    Raises:  FormatError, with the place.
    """
    lone = _LONE_RETURN.search(text) if "\r" in text else None
    if lone:
        mend = "save the file with the line ends of today's systems"
        _refuse(text, lone.start(), "a line ends in a carriage return alone", mend, source)
    has_odd_block = ("|" in text or ">" in text) and _ODD_BLOCK.search(text) is not None
    if has_odd_block or "\t" in text or "?" in text:
        _look_closely(text, source)


def _look_closely(text: str, source: str) -> None:
    from yaml.events import CollectionEndEvent, CollectionStartEvent, ScalarEvent, StreamEndEvent

    get, end = next_event_of(text), 0
    flows = [False]
    event = get()
    while not isinstance(event, StreamEndEvent):
        if isinstance(event, CollectionStartEvent):
            flows.append(bool(event.flow_style))
        elif isinstance(event, CollectionEndEvent):
            flows.pop()
        elif isinstance(event, ScalarEvent):
            end = _scalar(text, end, event, flows[-1], source)
        event = get()
    _gap(text, end, len(text), source)


def _scalar(text: str, before: int, event: Any, in_flow: bool, source: str) -> int:
    """Check one scalar and what stands before it; where the next gap begins."""
    start, end = int(event.start_mark.index), int(event.end_mark.index)
    if event.style in ("|", ">") and _ODD_BLOCK.match(text, start):
        mend = "write a space before a comment, no tab, and no spaces in an empty line below"
        _refuse(text, start, "a text block begins in a way that not every program can read", mend, source)
    odd = "\t" in event.value or (in_flow and "?" in event.value)
    if odd and not event.style:
        return before
    _gap(text, before, start, source)
    return end


def _gap(text: str, start: int, end: int, source: str) -> None:
    found = _ODD_SIGN.search(_COMMENT.sub(lambda comment: " " * len(comment.group()), text[start:end]))
    if found is None:
        return
    if found.group() == "\t":
        _refuse(text, start + found.start(), "a tab stands here, where only spaces may", "use spaces", source)
    what = "a question mark stands where some programs see the sign of a name"
    _refuse(text, start + found.start(), what, "put the text in quotes, or write name: value", source)


def _refuse(text: str, index: int, what: str, mend: str, source: str) -> None:
    line, column = place_of(text, index)
    raise FormatError(what, source=source, line=line, column=column, mend=mend)
