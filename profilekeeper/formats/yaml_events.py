"""The one door to PyYAML: a text as a stream of events, and its complaints in plain words.

The C parser gives a profile's events in a quarter of the time that its usual loader needs for the
same text; where PyYAML was built without it the pure parser gives the same events, slowly.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import place_of

if TYPE_CHECKING:
    from yaml import YAMLError

__all__ = ["c_events", "has_c_parser", "in_plain_words", "next_event_of", "pure_events"]

NextEvent = Callable[[], Any]


def has_c_parser() -> bool:
    """Whether PyYAML was built with its C parser, without which reading is some eight times slower."""
    from yaml import __with_libyaml__

    return __with_libyaml__


def next_event_of(text: str) -> NextEvent:
    """A function that returns the text's next event at each call, by the fastest parser there is."""
    return c_events(text) if has_c_parser() else pure_events(text)


def c_events(text: str) -> NextEvent:
    """The events of the C parser; ImportError where there is none."""
    from yaml._yaml import CParser

    next_event: NextEvent = CParser(text).get_event
    return next_event


def pure_events(text: str) -> NextEvent:
    """The events of the parser written in Python."""
    from yaml.parser import Parser
    from yaml.reader import Reader
    from yaml.scanner import Scanner

    class PureParser(Reader, Scanner, Parser):
        def __init__(self, text: str) -> None:
            Reader.__init__(self, text)
            Scanner.__init__(self)
            Parser.__init__(self)

    next_event: NextEvent = PureParser(text).get_event
    return next_event


def in_plain_words(error: YAMLError, text: str, source: str) -> FormatError:
    """A parser's complaint as one sentence with its place and what to do."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    opened = getattr(error, "context_mark", None)
    if mark and opened and not text[mark.index :].strip():
        # At the end of the file nothing can be seen: the place to look is where it was opened.
        mark = opened
    problem = str(getattr(error, "problem", None) or getattr(error, "reason", None) or "")
    if mark is None:
        line, column = place_of(text, min(max(getattr(error, "position", 0), 0), len(text)))
    else:
        line, column = mark.line + 1, mark.column + 1
    if _character_at(text, line, column) == "\t" and "escape" not in problem:
        what, mend = "a tab stands here, where only spaces may", "use spaces"
    else:
        what, mend = _said(problem, str(getattr(error, "context", None) or ""))
    return FormatError(what, source=source, line=line, column=column, mend=mend)


def _character_at(text: str, line: int, column: int) -> str:
    lines = re.split("\r\n|\r|\n", text)
    return lines[line - 1][column - 1 : column] if line <= len(lines) else ""


def _said(problem: str, context: str) -> tuple[str, str]:
    """The plain words for what the parser found, else for what it was busy with."""
    for complaint in (problem, context):
        for words, what, mend in _PLAIN_WORDS:
            if words in complaint:
                return what, mend
    return f"this is no YAML ({problem})", "compare it with a line that can be read"


_QUOTES = 'put the text in quotes, "like this"'
_COLUMN = "put the names of one level into the same column, each followed by a colon and a space"
_LIST = "a line of a list does not begin with -, or is at the wrong indent"
_BLOCK = "a text block (| or >) is begun in a way that cannot be read"
_CODE = "a backslash code in double quotes is not complete"
_AFTER = "text goes on after the end of the record"
_SLASH = "write \\\\ for one backslash, or use single quotes"

# What the two parsers say (a part of it), what it means to a person, what to do.
_PLAIN_WORDS = (
    ("cannot start any token", "a text cannot begin with this character", _QUOTES),
    ("mapping values are not allowed", "a second colon on this line, or a name at the wrong indent", _QUOTES),
    ("could not find expected ':'", "a name without its colon, or a text not closed", "write name: value"),
    ("expected ',' or '}'", "a brace { } is not closed, or a comma is missing in it", "write {a: 1, b: 2}"),
    ("expected ',' or ']'", "a bracket [ ] is not closed, or a comma is missing in it", "write [1, 2]"),
    ("'-' indicator", _LIST, "begin each line of it with - in the same column"),
    ("sequence entries are not allowed", "a list begins where none can stand", "begin it on a new line"),
    ("unexpected end of stream", "the text ends inside quotes", "close the quotes"),
    ("document indicator", "a line of --- or ... stands inside quotes", "close the quotes, or indent it"),
    ("document separator", "a line of --- or ... stands inside quotes", "close the quotes, or indent it"),
    ("unknown escape character", "a backslash in double quotes is followed by an unknown letter", _SLASH),
    ("hexdecimal", _CODE, _SLASH),
    ("hexadecimal", _CODE, _SLASH),
    ("invalid Unicode character escape", "a backslash code in double quotes names no character", _SLASH),
    ("document start", _AFTER, "indent it, or put it into its own file"),
    ("document end", _AFTER, "indent it, or put it into its own file"),
    ("control characters", "an invisible character stands here", "delete it"),
    ("special characters", "an invisible character stands here", "delete it"),
    ("undefined tag handle", "a tag (a word led by !) stands here", _QUOTES),
    ("tab character", "a tab stands here, where only spaces may", "use spaces"),
    ("expected key", "the lines around here do not line up", _COLUMN),
    ("expected <block end>", "the lines around here do not line up", _COLUMN),
    ("expected the node content", "a value is missing here", "write the value, or null"),
    ("alphabetic or numeric", "an anchor or alias (& or *) stands here", _QUOTES),
    ("block scalar", _BLOCK, "write | and nothing after it"),
    ("indentation indicator", _BLOCK, "write | and nothing after it"),
    ("a comment or a line break", _BLOCK, "write | and nothing after it"),
    ("YAML document", "the version of YAML named here is not known", "remove the line"),
    ("directive", "a line that begins with % stands here", _QUOTES),
    ("scanning a tag", "a tag (a word led by !) stands here", _QUOTES),
    ("parsing a tag", "a tag (a word led by !) stands here", _QUOTES),
    ("expected node content", "a value is missing here", "write the value, or null"),
    ("expected comment or line break", _BLOCK, "write | and nothing after it"),
    ("nesting", "more brackets are open than a file may have", "check the brackets"),
)
