"""JSON text in and out, as strict and as exact as the YAML reader: the same data, the same caps.

Source: RFC 8259; stricter than it in that a name may stand only once and numbers are exact.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import Any, NoReturn

from profilekeeper.errors import FormatError
from profilekeeper.formats.limits import (
    MAX_DEPTH,
    MAX_DIGITS,
    MAX_KEY,
    MAX_NODES,
    checked_text,
    place_of,
    stray_index,
)

__all__ = ["dumps_json", "loads_json"]

# What is not a bracket or a string, and strings whole: all that is needed to see how deep a text goes.
_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"?|[\[\]{}]', re.DOTALL)
_EXPONENT = re.compile("[eE]")


def loads_json(text: str | bytes, *, source: str = "") -> object:
    """The data of a JSON text: dict, list, str, int, Decimal, bool or None, exact and in file order.

    Raises:  FormatError with source, line and column, for anything that is not plainly one value.
    Source:  RFC 8259.
    >>> loads_json('{"length": 212.730}')
    {'length': Decimal('212.730')}
    """
    checked = checked_text(text, source)
    _check_depth(checked, source)
    try:
        data = json.loads(
            checked,
            parse_float=_decimal,
            parse_int=_integer,
            parse_constant=_no_number,
            object_pairs_hook=_once_each,
        )
    except json.JSONDecodeError as error:
        what = f"this is no JSON ({error.msg[:1].lower()}{error.msg[1:]})"
        mend = "compare it with a line that can be read"
        raise FormatError(what, source=source, line=error.lineno, column=error.colno, mend=mend) from None
    except FormatError as error:
        raise FormatError(error.what, source=source, mend=error.mend) from None
    _check_values(data, source)
    return data


def dumps_json(data: object, *, indent: int | None = None) -> str:
    """Plain data as JSON text with every decimal as it is written, ASCII not forced, no end of line.

    Raises:  FormatError, for a value that has no exact JSON spelling.
    Source:  RFC 8259.
    >>> dumps_json({"length": Decimal("212.730"), "notes": []})
    '{"length": 212.730, "notes": []}'
    """
    return "".join(_written(data, "" if indent is None else "\n", " " * (indent or 0)))


def _written(data: object, newline: str, step: str) -> list[str]:
    if isinstance(data, dict):
        inner = newline + step if newline else ""
        parts = [f"{_text(key)}: {''.join(_written(value, inner, step))}" for key, value in data.items()]
        return [_bracketed("{}", parts, inner, newline)]
    if isinstance(data, list | tuple):
        inner = newline + step if newline else ""
        return [_bracketed("[]", ["".join(_written(value, inner, step)) for value in data], inner, newline)]
    return [_scalar(data)]


def _bracketed(brackets: str, parts: list[str], inner: str, newline: str) -> str:
    if not parts:
        return brackets
    return brackets[0] + inner + ("," + (inner or " ")).join(parts) + newline + brackets[1]


def _text(key: object) -> str:
    if not isinstance(key, str):
        raise FormatError(f"the name {key!r} is no text", mend="use text for every name")
    return json.dumps(key, ensure_ascii=False)


def _scalar(value: object) -> str:
    if value is None or isinstance(value, bool | int | str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Decimal) and value.is_finite():
        return format(value, "f")
    raise FormatError(f"{value!r} has no exact spelling in JSON", mend="give a text or an exact number")


def _check_depth(text: str, source: str) -> None:
    """Depth is counted before the parser sees the text: its own recursion has no bound of ours."""
    depth = 0
    for token in _TOKEN.finditer(text):
        sign = token.group()
        if sign in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                line, column = place_of(text, token.start())
                what = f"more than {MAX_DEPTH} levels lie inside one another"
                raise FormatError(what, source=source, line=line, column=column, mend="check the brackets")
        elif sign in "]}":
            depth -= 1


def _integer(text: str) -> int:
    return int(_countable(text))


def _decimal(text: str) -> Decimal:
    if _EXPONENT.search(text):
        raise FormatError(f"{text[:40]} is a number with an exponent", mend="write it in plain digits")
    return Decimal(_countable(text))


def _countable(text: str) -> str:
    digits = len(text.lstrip("-").replace(".", ""))
    if digits > MAX_DIGITS:
        what = f"the number {text[:20]}... has {digits} digits"
        raise FormatError(what, mend=f"a number may have {MAX_DIGITS}; put it in quotes if it is text")
    return text


def _no_number(text: str) -> NoReturn:
    raise FormatError(f"{text} is no number that a setting can have", mend="write a number, or null")


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) < len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]  # add() is None, hence false
        raise FormatError(f"the name {twice[:40]} stands twice in the same place", mend="keep one of the two")
    return data


def _check_values(data: object, source: str) -> None:
    """Caps and invisible characters, after reading: JSON may spell any character by its code."""
    stack, nodes = [data], 0
    while stack:
        value = stack.pop()
        if isinstance(value, dict):
            for key in value:
                _check_key(key, source)
            stack.extend(value.values())
            nodes += len(value)
        elif isinstance(value, list):
            stack.extend(value)
            nodes += len(value)
        elif isinstance(value, str):
            _check_text(value, source)
    if nodes > MAX_NODES:
        raise FormatError(f"the file holds more than {MAX_NODES:,} values", source=source, mend="split it")


def _check_key(key: str, source: str) -> None:
    _check_text(key, source)
    if len(key) > MAX_KEY:
        what = f"a name of {len(key)} characters is too long"
        raise FormatError(what, source=source, mend=f"use at most {MAX_KEY}")


def _check_text(text: str, source: str) -> None:
    stray = stray_index(text)
    if stray is not None:
        shown = text[:stray][:20] + "..."
        what = f"the text {shown!r} has the invisible character U+{ord(text[stray]):04X}"
        raise FormatError(what, source=source, mend="remove the backslash code")
