"""YAML as people write it: random data in random styles, and random changes to them.

Block and flow style, odd indents, comments in odd places, all kinds of quotes, other line ends.
Every choice is drawn from the `Random` given, so that Hypothesis can shrink it.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import Any

from profilekeeper.formats.changed_data import REMOVED
from profilekeeper.formats.yaml_write import key_text, scalar_text
from profilekeeper.model import pointer as pointers

NUMBERS: list[Any] = [
    *map(Decimal, ("21.700", "-0.5", "0.000", "-455.20", "100.0", "0.00000001", "-0.0")),
    *(0, 5, -7, 123456, 10**29),
]
TEXTS = [
    "disc", "no", "12:30", "on", "brush 5", "a: b", "x #y", "'q'", 'say "hi"', "line1\nline2\n", "line1\nline2",
    " lead", "trail ", "2026-03-04", "1e3", "null", "~", "-", "- a", "é ß", "[x]", "{y}", "a,b", "100%", "&a", "*b",
    "!t", "0x1F", "8.375 in", "", "\n", "a\n\n", "a\n b\n", "tab\there", "Y", "n", "=", "<<", "50 mm, 3 in", "?x",
    "? x", "|", "> 5", "@x", "`", "%a", "#c", "a#b", "C:\\x", "--- a", "...", "a\n---\nb", "😀", "+5", "010", "12,5",
    "  \n x", "x\r\ny", "a:", ":b", "1/2", "3 1/2 in", "−5", "0.1.2", "yes", "True", "\xa0x",
]  # fmt: skip
KEYS = [
    "X", "Y", "name", "21", "22", "on", "no", "length", "a b", "010", "1.0", "null", "a:b", "é", "x-1", "A/B", "~t",
    "-", "a,b", "long name with words", "#x", "q'q", "[k", "", "<<", "=", "+5", "true", "?", "a: b", "*a",
]  # fmt: skip


def data(random: Random, depth: int = 4) -> Any:
    """Any plain data of at most that depth."""
    choice = random.random()
    if depth == 0 or choice < 0.45:
        return scalar(random)
    if choice < 0.75:
        return {random.choice(KEYS): data(random, depth - 1) for _ in range(random.randint(0, 4))}
    return [data(random, depth - 1) for _ in range(random.randint(0, 4))]


def scalar(random: Random) -> Any:
    """Any single value."""
    return random.choice(random.choice([NUMBERS, [True, False, None], TEXTS, TEXTS]))


def group(random: Random) -> Any:
    """A group or list with something in it."""
    found = data(random)
    return found if isinstance(found, dict | list) and found else {"a": found, "b": scalar(random)}


def text_of(random: Random, found: Any) -> str:
    """The data as somebody may have written them."""
    text = _flow(random, found, True, 0) if random.random() < 0.15 else "\n".join(_block(random, found, 0))
    # Behind a text block the end of the file belongs to the text.
    text += "\n" if "|" in text else random.choice(["\n", "\n", "\n", "", "\n\n", "\n# tail\n"])
    if random.random() < 0.2:
        text = "# head\n" + text
    if random.random() < 0.1:
        text = "---\n" + text
    if random.random() < 0.1:
        text = text.replace("\n", "\r\n")
    return "\ufeff" + text if random.random() < 0.05 else text


def changes(random: Random, found: Any) -> dict[str, Any]:
    """Up to four changes that do not overlap."""
    everywhere = [name for name, _ in places(found) if name]
    groups = [(name, value) for name, value in places(found) if isinstance(value, dict | list)]
    made: dict[str, Any] = {}
    for _ in range(random.randint(1, 4)):
        choice = random.random()
        if choice < 0.35:
            name, value = random.choice(everywhere), REMOVED
        elif choice < 0.65:
            name, value = random.choice(everywhere), data(random, random.choice([0, 0, 2, 3]))
        else:
            above, inside = random.choice(groups)
            name = pointers.join(above, "-" if isinstance(inside, list) else random.choice(KEYS))
            value = data(random, random.choice([0, 0, 2]))
        if not any(pointers.is_prefix(name, other) or pointers.is_prefix(other, name) for other in made):
            made[name] = value
    return made


def places(found: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """Every value with its pointer, groups and lists included."""
    yield name, found
    inner = found.items() if isinstance(found, dict) else enumerate(found) if isinstance(found, list) else ()
    for token, value in inner:
        yield from places(value, pointers.join(name, token))


def _comment(random: Random) -> str:
    return random.choice(["", "", "", "  # note", "  # a: b, c", "   ", " # - x"])


def _scalar(random: Random, value: Any, flow: bool) -> str:
    if value is None and not flow and random.random() < 0.3:
        return ""
    return scalar_text(value, style=random.choice(["", "'", '"']) if isinstance(value, str) else "", flow=flow)


def _flow(random: Random, value: Any, loose: bool, indent: int) -> str:
    if not isinstance(value, dict | list):
        return _scalar(random, value, True)
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    text = opening + random.choice(["", " "])
    below = "\n" + " " * (indent + 2)
    for index, item in enumerate(value):
        if index:
            text += random.choice([", ", "," + below, ", # c, d" + below]) if loose else ", "
        if isinstance(value, dict):
            text += f"{key_text(item, flow=True)}: {_flow(random, value[item], loose, indent)}"
        else:
            text += _flow(random, item, loose, indent)
    if value and random.random() < 0.1:
        text += ","
    return text + random.choice(["", " "]) + closing


def _block(random: Random, value: Any, indent: int) -> list[str]:
    lines: list[str] = []
    step = random.choice([2, 2, 2, 4, 3])
    for item in value:
        head = " " * indent + (f"{key_text(item)}:" if isinstance(value, dict) else "-")
        inner = value[item] if isinstance(value, dict) else item
        written = _entry(random, head, inner, indent, step)
        text_block = any(line.lstrip().startswith(("|", ">")) or ": |" in line or "- |" in line for line in lines)
        if not text_block and random.random() < 0.12:
            own = " " * indent + "# own - line: x"
            lines.append(random.choice(["", "#c at 0", own, " " * (indent + 3) + "# deep"]))
        lines.extend(written)
    return lines


def _entry(random: Random, head: str, value: Any, indent: int, step: int) -> list[str]:
    if isinstance(value, str) and "\n" in value and random.random() < 0.6:
        block = _text_block(random, head, value, indent + step)
        if block:
            return block
    if not isinstance(value, dict | list):
        text = _scalar(random, value, False)
        return [head + (f" {text}" if text else "") + _comment(random)]
    if not value or random.random() < 0.35:
        return [f"{head} {_flow(random, value, random.random() < 0.3, indent)}{_comment(random)}"]
    if head.endswith("-") and random.random() < 0.7:
        gap = random.choice([1, 1, 1, 3])
        lines = _block(random, value, indent + 1 + gap)
        while not lines[0].strip() or lines[0].lstrip().startswith("#"):
            lines.pop(0)
        return [head + " " * gap + lines[0][indent + 1 + gap :], *lines[1:]]
    beside = isinstance(value, list) and head.endswith(":") and random.random() < 0.4
    return [head + _comment(random), *_block(random, value, indent if beside else indent + step)]


def _text_block(random: Random, head: str, value: str, indent: int) -> list[str]:
    body = value.rstrip("\n")
    if not body.strip() or value[0] in " \n" or "\t" in value or "\r" in value or not body.isascii():
        return []
    ends = len(value) - len(body)
    sign = "|" + ("-" if ends == 0 else "" if ends == 1 else "+")
    lines = [" " * indent + line if line else "" for line in body.split("\n")]
    return [f"{head} {sign}{random.choice(['', ' # block'])}", *lines, *[""] * (ends - 1)]
