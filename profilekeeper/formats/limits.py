"""How much text a reader takes, and the first look at any text: size, encoding, stray characters.

The caps are far above any record of a machine (a profile of 40 tools is 7 KB, 400 values, 5 levels
deep) and far below what makes a reader slow: whoever fetches text must refuse a file above
`MAX_BYTES` by its size, before reading it.
"""

from __future__ import annotations

import re

from profilekeeper.errors import FormatError

__all__ = [
    "MAX_BYTES",
    "MAX_DEPTH",
    "MAX_DIGITS",
    "MAX_KEY",
    "MAX_NODES",
    "checked_text",
    "place_of",
    "refuse_size",
    "refuse_stray",
    "stray_index",
]

MAX_BYTES = 1 << 20
MAX_DEPTH = 32
MAX_NODES = 200_000
MAX_DIGITS = 30
MAX_KEY = 256

# Characters that a person cannot see or that some readers take for a line end and others do not.
_STRAY = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]")
_LINE = re.compile("\r\n|\r|\n")


def checked_text(raw: str | bytes, source: str) -> str:
    """The text of a file without a byte-order mark, if it is of bearable size and plain UTF-8.

    Raises:  FormatError, with the place of the first character that may not stand there.
    """
    if len(raw) > MAX_BYTES:
        refuse_size(len(raw), source)
    text = _decoded(raw, source) if isinstance(raw, bytes) else raw
    text = text.removeprefix("\ufeff")
    if not text.isascii() and len(text.encode("utf-8", "replace")) > MAX_BYTES:
        refuse_size(len(text.encode("utf-8", "replace")), source)
    stray = stray_index(text)
    if stray is not None:
        refuse_stray(text, stray, source)
    if not text.strip():
        raise FormatError("the file is empty", source=source, mend="write something into it, or remove it")
    return text


def refuse_size(size: int, source: str) -> None:
    """Refuse a text or file of `size` bytes.

    Raises:  FormatError, always.
    """
    what = f"{size:,} bytes are too many: a file may hold {MAX_BYTES:,}"
    raise FormatError(what, source=source, mend="check that this is the file you meant, or split it")


def refuse_stray(text: str, index: int, source: str) -> None:
    """Refuse the character at `index`, which no text of ours may hold.

    Raises:  FormatError, always.
    """
    line, column = place_of(text, index)
    what = f"the invisible character U+{ord(text[index]):04X} stands here"
    raise FormatError(what, source=source, line=line, column=column, mend="delete it and save as UTF-8 text")


def stray_index(text: str) -> int | None:
    """Where the first character stands that no text of ours may hold, if there is one."""
    stray = _STRAY.search(text)
    return stray.start() if stray else None


def place_of(text: str, index: int) -> tuple[int, int]:
    """Line and column, from 1, of the character at `index`."""
    ends = [end.end() for end in _LINE.finditer(text, 0, index)]
    return len(ends) + 1, index - (ends[-1] if ends else 0) + 1


def _decoded(raw: bytes, source: str) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8").removeprefix("\ufeff")
        line, column = place_of(before, len(before))
        what = f"the byte 0x{raw[error.start]:02X} here is not UTF-8 text"
        if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
            what = "the file is UTF-16 text"
        raise FormatError(
            what, source=source, line=line, column=column, mend="save the file as UTF-8 in your editor"
        ) from None
