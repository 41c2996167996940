"""JSON Pointer (RFC 6901): the name by which one setting of a profile is addressed, e.g. `/tools/21/length`.

A pointer is a text of tokens, each led by `/`; inside a token `~1` stands for `/` and `~0` for `~`.
The empty pointer names the whole document. Keys are always text, so `/tools/21` finds the key "21".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from profilekeeper.errors import UnknownName

__all__ = ["format", "format_fragment", "is_prefix", "join", "parse", "parse_fragment", "resolve", "walk"]

# Source: RFC 6901 section 4 (array-index): no leading zero, no sign, ASCII digits only.
_INDEX = re.compile(r"0|[1-9][0-9]{0,17}", re.ASCII)
# Source: RFC 6901 section 3: "~" appears only as "~0" or "~1".
_BAD_ESCAPE = re.compile(r"~(?![01])")


def parse(pointer: str) -> tuple[str, ...]:
    """The tokens of a pointer, unescaped, outermost first.

    Raises:  UnknownName, if the text is no pointer.
    Source:  RFC 6901 sections 3 and 4.
    >>> parse("/tools/21/a~1b")
    ('tools', '21', 'a/b')
    """
    if pointer == "":
        return ()
    if not pointer.startswith("/"):
        raise UnknownName(f"{_named(pointer)} names no setting: a name starts with /, e.g. /tools/21/length")
    if _BAD_ESCAPE.search(pointer):
        raise UnknownName(f"{_named(pointer)} names no setting: inside a name write ~0 for ~ and ~1 for /")
    parts = pointer[1:].split("/")
    if "~" not in pointer:
        return tuple(parts)
    # Source: RFC 6901 section 4: "~1" first, then "~0", so that "~01" becomes "~1" and not "/".
    return tuple(part.replace("~1", "/").replace("~0", "~") for part in parts)


def format(tokens: Sequence[str]) -> str:
    """The pointer text of some tokens.

    Source:  RFC 6901 section 3.
    >>> format(("tools", "21", "a/b"))
    '/tools/21/a~1b'
    """
    return "".join("/" + _escaped(token) for token in tokens)


def join(pointer: str, *tokens: str | int) -> str:
    """The pointer of something further inside `pointer`.

    >>> join("/tools/21", "sections", 0)
    '/tools/21/sections/0'
    """
    if len(tokens) == 1:  # the common step is taken a million times
        return f"{pointer}/{_escaped(str(tokens[0]))}"
    return pointer + "".join("/" + _escaped(str(token)) for token in tokens)


def is_prefix(prefix: str, pointer: str) -> bool:
    """Whether `pointer` is `prefix` itself or lies inside it, by whole tokens.

    >>> is_prefix("/tools/2", "/tools/2/length"), is_prefix("/tools/2", "/tools/21")
    (True, False)
    """
    return pointer == prefix or pointer.startswith(prefix + "/")


def resolve(data: object, pointer: str) -> object:
    """What stands at a pointer in plain data (dicts, lists, scalars).

    Raises:  UnknownName, naming the first step that is not there.
    Source:  RFC 6901 section 4.
    >>> resolve({"axes": {"Z": {"travel": [-480, 0]}}}, "/axes/Z/travel/0")
    -480
    """
    here, tokens = data, parse(pointer)
    for depth, token in enumerate(tokens):
        here = _step(here, token, tokens[:depth])
    return here


def walk(data: object, pointer: str = "") -> Iterator[tuple[str, object]]:
    """Every leaf of plain data with its pointer, in file order; an empty mapping or list is a leaf.

    >>> list(walk({"a": {"b": 1, "c": []}}))
    [('/a/b', 1), ('/a/c', [])]
    """
    if isinstance(data, dict) and data:
        for key, value in data.items():
            yield from walk(value, join(pointer, key))
    elif isinstance(data, list) and data:
        for index, value in enumerate(data):
            yield from walk(value, join(pointer, index))
    else:
        yield pointer, data


def parse_fragment(fragment: str) -> tuple[str, ...]:
    """The tokens of a pointer written as a URI fragment, `#` included.

    Raises:  UnknownName, if it is no such fragment.
    Source:  RFC 6901 section 6.
    >>> parse_fragment("#/c%25d")
    ('c%d',)
    """
    from urllib.parse import unquote

    if not fragment.startswith("#"):
        raise UnknownName(f"{_named(fragment)} names no setting: a fragment starts with #, e.g. #/tools/21")
    try:
        return parse(unquote(fragment[1:], errors="strict"))
    except UnicodeDecodeError:
        raise UnknownName(f"{_named(fragment)} names no setting: its % signs spell no UTF-8") from None


def format_fragment(tokens: Sequence[str]) -> str:
    """The pointer of some tokens as a URI fragment, `#` included.

    Source:  RFC 6901 section 6; RFC 3986 section 3.5 for what may stand unescaped.
    >>> format_fragment(("c%d",))
    '#/c%25d'
    """
    from urllib.parse import quote

    return "#" + quote(format(tokens), safe="/~!$&'()*+,;=:@?")


def _escaped(token: str) -> str:
    return token.replace("~", "~0").replace("/", "~1") if "/" in token or "~" in token else token


def _step(here: object, token: str, before: tuple[str, ...]) -> object:
    """One token further in, or the sentence that says why not."""
    if isinstance(here, dict):
        if token in here:
            return here[token]
        raise UnknownName(f"there is no {_named(token)} in {_place(before)}{_known(here)}")
    if isinstance(here, list):
        if not _INDEX.fullmatch(token):
            raise UnknownName(f"{_named(token)} is no place in the list {_place(before)}: write 0, 1, 2 ...")
        if int(token) < len(here):
            return here[int(token)]
        raise UnknownName(f"there is no place {token} in the list {_place(before)}, which has {len(here)}")
    raise UnknownName(f"{_place(before)} is a single value, so there is no {_named(token)} inside it")


def _named(token: str) -> str:
    return repr(token if len(token) <= 60 else token[:57] + "...")


def _place(tokens: tuple[str, ...]) -> str:
    return format(tokens) or "the document"


def _known(here: dict[str, object]) -> str:
    """The keys that are there, when they are few enough to help."""
    keys = [str(key) for key in here]
    return f", which has {', '.join(keys)}" if 0 < len(keys) <= 12 else ""
