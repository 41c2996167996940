"""Plain data as YAML text that the strict reader reads back exactly: single scalars and whole files.

Texts are quoted wherever a reader of YAML, old or new, could take them for something else. Decimals
are written as they are (`21.700`), never with an exponent.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import MAX_DEPTH, stray_index
from profilekeeper.formats.plain_scalar import plain_value

__all__ = ["block_lines", "dumps", "flow_text", "key_text", "refuse_unwritable", "same", "scalar_text"]

# A short group or list stays on one line, up to this column.
_WIDTH = 88

# What a plain text may begin with, and what may follow: far less than YAML allows.
_PLAIN = re.compile(
    r"(?:[^\W_]|[-+.][^\W_]|[/(])"
    r"(?:[^\x00-\x1f,:#\[\]{}]|:(?=[^\s,\[\]{}])|(?<=\S)#)*"
)
_KEY_IN_QUOTES = frozenset({"null", "true", "false"})
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}
_ESCAPED = re.compile(r'[\\"\n\r\t]')


def dumps(data: object) -> str:
    """Plain data as the text of a new YAML file: one setting a line, short groups in braces.

    Raises:  FormatError, for data that no text of ours can hold (a float, a name that is no text).
    >>> print(dumps({"table": {"surface": Decimal("-455.20")}, "note": "first\\nsecond\\n"}), end="")
    table: {surface: -455.20}
    note: |
      first
      second
    """
    from profilekeeper.formats.strict_yaml import loads

    text = "\n".join(_document(data)) + "\n"
    if not same(loads(text), data):
        raise FormatError("this data cannot be written as YAML and read back the same", mend="report it to us")
    return text


def refuse_unwritable(data: object) -> None:
    """Refuse data that no text of ours can hold exactly: a float, too many digits, a name that is no text.

    Raises:  FormatError, without a place: the data stand in no file yet.
    """
    from profilekeeper.formats.strict_yaml import loads

    try:
        loads(f"[{flow_text(data)}]")
    except FormatError as error:
        raise FormatError(error.what, mend=error.mend) from None


def same(one: object, other: object) -> bool:
    """Whether two data are the same as written: kind by kind, every digit behind the point, same order.

    `5` as a whole number and as a decimal without a point are the same; `5` and `5.0` are not.
    """
    if isinstance(one, dict) and isinstance(other, dict):
        return list(one) == list(other) and all(same(value, other[key]) for key, value in one.items())
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if _is_number(one) and _is_number(other):
        return _digits(one) == _digits(other)
    return type(one) is type(other) and one == other


def scalar_text(value: object, *, style: str = "", flow: bool = False) -> str:
    """One scalar as it stands in a line; `style` is the kind of quotes to keep, if there were any.

    Raises:  FormatError, for a value that has no exact spelling.
    >>> scalar_text("no"), scalar_text(Decimal("21.700")), scalar_text("4711", style="'")
    ('"no"', '21.700', "'4711'")
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | Decimal):
        return _number_text(value)
    if not isinstance(value, str):
        raise FormatError(f"{value!r} has no exact spelling", mend="give a text or an exact decimal")
    if stray_index(value) is not None:
        code = f"U+{ord(value[stray_index(value) or 0]):04X}"
        raise FormatError(f"{value[:40]!r} has the invisible character {code}", mend="remove it")
    if style == "'" and not _ESCAPED.search(value.replace('"', "").replace("\\", "")):
        return "'" + value.replace("'", "''") + "'"
    if style != '"' and _is_plain(value, flow):
        return value
    return '"' + _ESCAPED.sub(lambda sign: _ESCAPES[sign.group()], value) + '"'


def key_text(key: object, *, flow: bool = False) -> str:
    """A name as it stands before its colon. Numbers and words like `on` need no quotes: names are text.

    Raises:  FormatError, for a name that is no text.
    """
    if not isinstance(key, str):
        raise FormatError(f"the name {key!r} is no text", mend="use text for every name")
    if _fits_plain(key, flow) and key.lower() not in _KEY_IN_QUOTES:
        return key
    return scalar_text(key, style='"', flow=flow)


def flow_text(data: object) -> str:
    """Any data on one line, in braces and brackets.

    >>> flow_text({"X": {"travel": [Decimal("0.0"), 3600]}})
    '{X: {travel: [0.0, 3600]}}'
    """
    if isinstance(data, dict):
        return "{" + ", ".join(f"{key_text(key, flow=True)}: {flow_text(data[key])}" for key in data) + "}"
    if isinstance(data, list | tuple):
        return "[" + ", ".join(map(flow_text, data)) + "]"
    return scalar_text(data, flow=True)


def block_lines(data: object, column: int) -> list[str]:
    """A value as it follows `name:` or `-`: the rest of that line, then the lines below it.

    `column` is how far the name or dash is indented; the lines below carry their own indent.
    """
    if isinstance(data, str) and _is_block_text(data):
        sign = "|" if data.endswith("\n") else "|-"
        inside = " " * (column + 2)
        return [sign, *(inside + line if line else "" for line in data.removesuffix("\n").split("\n"))]
    if not isinstance(data, dict | list | tuple) or not data:
        return [flow_text(data)]
    line = _on_one_line(data, column)
    if line is not None:
        return [line]
    return ["", *_below(data, column + 2)]


def _document(data: object) -> list[str]:
    if isinstance(data, dict | list | tuple) and data:
        return list(_below(data, 0))
    return [scalar_text(data, style='"') if isinstance(data, str) else flow_text(data)]


def _below(data: dict[object, object] | list[object] | tuple[object, ...], column: int) -> Iterator[str]:
    """The lines of a group or list at a column."""
    if column > 2 * MAX_DEPTH:
        raise FormatError(f"more than {MAX_DEPTH} levels lie inside one another", mend="make it flatter")
    indent = " " * column
    if isinstance(data, dict):
        for key, value in data.items():
            first, *rest = block_lines(value, column)
            yield f"{indent}{key_text(key)}:{' ' if first else ''}{first}"
            yield from rest
        return
    for value in data:
        first, *rest = block_lines(value, column)
        if first == "":
            # The first line of a group or list stands beside the dash.
            first = rest.pop(0)[column + 2 :]
        yield f"{indent}- {first}"
        yield from rest


def _on_one_line(data: object, column: int) -> str | None:
    """The data in braces or brackets, if they are short enough to be read at a glance."""
    if not _is_simple(data, 2):
        return None
    line = flow_text(data)
    return line if len(line) + column <= _WIDTH else None


def _is_simple(data: object, levels: int) -> bool:
    if isinstance(data, dict):
        return levels > 0 and all(_is_simple(value, levels - 1) for value in data.values())
    if isinstance(data, list | tuple):
        return levels > 0 and all(_is_simple(value, levels - 1) for value in data)
    return not (isinstance(data, str) and "\n" in data)


def _is_block_text(text: str) -> bool:
    """Whether a text of several lines can stand as it is below a | sign."""
    if "\n" not in text or "\r" in text or text.endswith("\n\n") or text[0] in " \n\t":
        return False
    return bool(text.strip()) and stray_index(text) is None


def _is_plain(text: str, flow: bool) -> bool:
    """Whether a text without quotes is read as that text by every reader."""
    if not _fits_plain(text, flow):
        return False
    try:
        return plain_value(text) == text
    except FormatError:
        return False


def _fits_plain(text: str, flow: bool) -> bool:
    if not _PLAIN.fullmatch(text) or text[-1] == " " or not text.isprintable():
        return False
    return not flow or not (":" in text or "?" in text)


def _is_number(value: object) -> bool:
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def _digits(value: object) -> tuple[Decimal, int]:
    number = Decimal(value) if isinstance(value, int) else value
    assert isinstance(number, Decimal)
    exponent = number.as_tuple().exponent
    return number, max(0, -exponent) if isinstance(exponent, int) else -1


def _number_text(value: int | Decimal) -> str:
    if isinstance(value, Decimal) and not value.is_finite():
        raise FormatError(f"{value} is no number that a setting can have", mend="give a number, or null")
    return format(value, "f") if isinstance(value, Decimal) else str(value)
