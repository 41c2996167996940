"""The generated pages of the reference: commands from the program's own help, formats from their schemas."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from doc_walk import Walker

Node = Mapping[str, Any]

NOTICE = "<!-- Made by docs/make_docs.py; change the program's help or the schema instead. -->"

SCHEMAS = {
    "profile": "profile.md",
    "rules": "rules-file.md",
    "reading-order": "reading-order.md",
    "store": "store-file.md",
    "proven": "proven-file.md",
    "disputes": "disputes-file.md",
    "moves": "moves-file.md",
}

_ABOUT = {
    "profile": "One file for each machine: `SHOP/MACHINE/profile.yaml`. On screens it is called *settings* or the "
    "*machine record*. How readings map to the geometry stands in [conventions](../conventions.md).",
    "rules": "A file in `rules/` of the store. What each kind of rule judges stands in [rules](rules.md).",
    "reading-order": "A file in `reading_orders/` of the store, named as `/machine/reading_order` of the machine says. "
    "How to write one: [read a control down its reading order](../howto/reading-order.md).",
    "store": "`store.yaml` at the top of the store. It is written once, by `start`.",
    "proven": "`SHOP/MACHINE/proven.yaml`. It is written by `prove`; see [the store](../formats/store.md).",
    "disputes": "`SHOP/MACHINE/disputes.yaml`. What a dispute is: [two readings](../howto/disputed.md).",
    "moves": (
        "A file of your own, in no store, for `dryrun --moves`: "
        "see [try moves before the machine](../howto/dry-run.md)."
    ),
}


def commands_page() -> str:
    """Every command with its help, as the program prints it at 100 columns."""
    walker = Walker(root=Path.cwd())
    parts = [
        NOTICE,
        "# Commands",
        "Every command as the program itself explains it. What the numbers at the end of a command mean: "
        "[exit codes](exit-codes.md). Answers for programs: [JSON](json.md).",
        _help(walker, ""),
    ]
    for name in command_names():
        parts += [f"## {name}", _help(walker, name)]
    return "\n\n".join(parts) + "\n"


def command_names() -> tuple[str, ...]:
    """The commands of the program, in the order of its help."""
    import typer.main

    from profilekeeper.cli.main import app

    return tuple(typer.main.get_command(app).commands)


def _help(walker: Walker, name: str) -> str:
    said = walker.run(f"profilekeeper {name} --help", options={"width": "100"})
    text = "\n".join(line.rstrip() for line in said.text.strip().split("\n"))
    return f"```text\n{text}\n```"


def schema_page(name: str, folder: Path) -> str:
    """One format: every key with what it is, its value and unit, an example, and how sisters compare."""
    schema = json.loads((folder / f"{name}.schema.json").read_text(encoding="utf-8"))
    page = _Page(schema, with_sisters=name == "profile")
    head = [NOTICE, f"# {schema['title']}", schema["description"], _ABOUT[name], _legend(name)]
    page.section("The whole file", schema, depth=2)
    while page.waiting:
        title, node = page.waiting.pop(0)
        page.section(title, node, depth=2)
    return "\n\n".join([*head, *page.parts]) + "\n"


def _legend(name: str) -> str:
    common = (
        "A key in **bold** must be there. Keys that begin with `x-` are free for your own use in every part of the "
        f"file: kept, never judged. The schema for editors: `schemas/{name}.schema.json`."
    )
    if name != "profile":
        return common
    return (
        f"{common}\n\n"
        "A *length* without a unit is in the unit of the file (`units: length`); written as text it may carry its own: "
        "`465 mm`, `2.5 cm`, `16.05 in`, `7 5/8 in`. An *angle* is in degrees. A *name* is what you call the thing.\n\n"
        "The last column says how sisters are compared: *agrees* (ought to be the same), *agrees within* a width, "
        "*own* (each machine its own), *wears* (changes with use), *daily* (counters), *note* (a remark, not "
        "compared). Behind it stands what a value hangs on: a hardware event of that kind makes it invalid."
    )


class _Page:
    """Gathers the tables of a page; groups met on the way wait for a section of their own."""

    def __init__(self, schema: Node, *, with_sisters: bool) -> None:
        self.schema = schema
        self.with_sisters = with_sisters
        self.parts: list[str] = []
        self.waiting: list[tuple[str, Node]] = []
        self._named: set[str] = set()

    def section(self, title: str, node: Node, *, depth: int) -> None:
        """One table: the keys of a group."""
        self.parts.append(f"{'#' * depth} {title}")
        if depth > 1 and title != "The whole file" and node.get("description"):
            self.parts.append(str(node["description"]))
        columns = ["key", "what it is", "value", "example", *(["sisters; hangs on"] if self.with_sisters else [])]
        rows = ["| " + " | ".join(columns) + " |", "|" + " --- |" * len(columns)]
        needed = set(node.get("required", ()))
        for key, part in node["properties"].items():
            shown = f"**`{key}`**" if key in needed else f"`{key}`"
            rows.append(self._row(shown, title, key, part, node))
        self.parts.append("\n".join(rows))

    def _row(self, shown: str, title: str, key: str, part: Node, above: Node) -> str:
        whole = self._whole(part)
        below = "" if title == "The whole file" else f"{title}: "
        cells = [shown, str(whole.get("description", "")), self._value(f"{below}{key}", part), _example(whole)]
        if self.with_sisters:
            cells.append(_sisters(whole, above))
        return "| " + " | ".join(_cell(cell) for cell in cells) + " |"

    def _whole(self, part: Node) -> Node:
        """A part with what it refers to; what stands beside the reference wins."""
        name = _defined(part)
        found = self.schema.get("$defs", {}).get(name) if name else None
        return {**self._whole(found), **{k: v for k, v in part.items() if k != "$ref"}} if found else part

    def _value(self, title: str, part: Node) -> str:
        """What may stand there, in words; groups become links to a section of their own."""
        name, whole = _defined(part), self._whole(part)
        if str(part.get("$ref", "")).startswith("rules.schema.json"):
            return "a [rule](rules-file.md#rule)"
        if whole.get("properties"):
            return self._link(name.replace("_", " ") if name else title, whole)
        if isinstance(whole.get("additionalProperties"), Mapping):
            return f"by name: {self._value(_singular(title), whole['additionalProperties'])}"
        if whole.get("type") == "array" or "prefixItems" in whole:
            return self._list(title, whole)
        for word in ("oneOf", "anyOf"):
            if word in whole:
                return " or ".join(dict.fromkeys(self._value(title, option) for option in whole[word]))
        return _plain_value(name, whole)

    def _list(self, title: str, whole: Node) -> str:
        if "prefixItems" in whole:
            inside = dict.fromkeys(self._value(title, item) for item in whole["prefixItems"])
            return f"list of {len(whole['prefixItems'])}: {', '.join(inside)}"
        items = whole.get("items")
        return f"list of: {self._value(_singular(title), items)}" if isinstance(items, Mapping) else "list"

    def _link(self, title: str, node: Node) -> str:
        if title not in self._named:
            self._named.add(title)
            self.waiting.append((title, node))
        return f"[{title}](#{re.sub(r'[^a-z0-9 _-]', '', title.lower()).replace(' ', '-')})"


def _defined(part: Node) -> str:
    """The name of the shared definition that a part refers to, or nothing."""
    reference = str(part.get("$ref", ""))
    return reference.removeprefix("#/$defs/") if reference.startswith("#/$defs/") else ""


def _plain_value(name: str, whole: Node) -> str:
    if "const" in whole:
        return f"always `{whole['const']}`"
    if "enum" in whole:
        return "one of: " + ", ".join(f"`{_plain(word)}`" for word in whole["enum"])
    if whole.get("x-unit"):
        return f"number, {whole['x-unit']}"
    words = {"tool_number": "tool number", "axis_name": "letter of an axis"}
    if name in ("length", "angle", "date", "name", "label", "pointer", "id", "frame", "tool_number", "axis_name"):
        return words.get(name, name)
    if whole.get("x-quantity") in ("length", "angle", "date", "count", "amount", "by axis", "page value"):
        plain = {"count": "whole number", "amount": "number or quantity", "by axis": "length or angle, as the axis is"}
        return plain.get(whole["x-quantity"], whole["x-quantity"])
    kinds = whole.get("type", "anything")
    names = {"string": "text", "number": "number", "integer": "whole number", "boolean": "`true` or `false`",
             "null": "blank", "object": "group", "array": "list"}  # fmt: skip
    return " or ".join(dict.fromkeys(names.get(k, k) for k in ([kinds] if isinstance(kinds, str) else kinds)))


def _sisters(whole: Node, above: Node) -> str:
    agreement = str(whole.get("x-agreement", above.get("x-agreement", "")))
    if agreement == "agrees within":
        agreement += f" {whole.get('x-within', above.get('x-within', ''))}"
    hangs = ", ".join(whole.get("x-hangs-on", ()))
    return "; ".join(filter(None, (agreement, hangs)))


def _example(whole: Node) -> str:
    examples = whole.get("examples") or []
    return f"`{_plain(examples[0])}`" if examples else ""


def _plain(value: object) -> str:
    if isinstance(value, str):
        return value if value else '""'
    text = json.dumps(value, ensure_ascii=False)
    return re.sub(r'"([A-Za-z_]\w*)":', r"\1:", text) if isinstance(value, (dict, list)) else text


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _singular(title: str) -> str:
    """One of several: `axes` gives `axes: one`, since such groups have no name of their own in the schema."""
    return f"{title}: one"


def schema_keys(schema: object) -> Iterator[tuple[str, Node]]:
    """Every key that a schema defines anywhere, with its part."""
    if isinstance(schema, Mapping):
        for word in ("properties",):
            for key, part in schema.get(word, {}).items() if isinstance(schema.get(word), Mapping) else ():
                yield key, part
        for word, part in schema.items():
            if word not in ("examples", "if", "then", "else", "allOf"):
                yield from schema_keys(part)
    elif isinstance(schema, list):
        for part in schema:
            yield from schema_keys(part)
