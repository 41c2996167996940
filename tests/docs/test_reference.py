"""The generated pages are up to date, and nothing that the program has is left undocumented."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType

import pytest

from profilekeeper.cli import main
from profilekeeper.rules.registry import KINDS

ROOT = Path(__file__).resolve().parents[2]
REFERENCE = ROOT / "docs" / "reference"
FORMATS = {
    "profile": "profile.md",
    "rules": "rules-file.md",
    "reading-order": "reading-order.md",
    "store": "store-file.md",
    "proven": "proven-file.md",
    "disputes": "disputes-file.md",
    "moves": "moves-file.md",
}


def _page(name: str) -> str:
    return (REFERENCE / name).read_text(encoding="utf-8")


def _keys(part: object) -> set[tuple[str, str]]:
    """Every key of a schema with its description, found without the generator."""
    found: set[tuple[str, str]] = set()
    if isinstance(part, dict):
        properties = part.get("properties")
        if isinstance(properties, dict):
            found |= {(k, str(v.get("description", ""))) for k, v in properties.items() if isinstance(v, dict)}
        for word, below in part.items():
            if word not in ("examples", "if", "then", "else"):
                found |= _keys(below)
    elif isinstance(part, list):
        for below in part:
            found |= _keys(below)
    return found


def test_commands_are_as_the_help_says(reference: ModuleType) -> None:
    shown, made = _page("commands.md"), reference.commands_page()

    assert shown.split() == made.split(), "run: python docs/make_docs.py"


@pytest.mark.parametrize("name", FORMATS)
def test_formats_are_as_the_schema_says(name: str, reference: ModuleType) -> None:
    made = reference.schema_page(name, ROOT / "schemas")

    assert _page(FORMATS[name]) == made, "run: python docs/make_docs.py"


@pytest.mark.parametrize("name", FORMATS)
def test_every_key_of_a_format_stands_in_its_page_with_what_it_is(name: str) -> None:
    schema = json.loads((ROOT / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
    page = _page(FORMATS[name])

    missing = [k for k, said in _keys(schema) if f"`{k}`" not in page or said.replace("|", "\\|") not in page]

    assert not missing


@pytest.mark.parametrize("name", FORMATS)
def test_every_key_of_a_format_has_a_description_and_an_example(name: str) -> None:
    rows = [line.split(" | ") for line in _page(FORMATS[name]).splitlines() if line.startswith(("| `", "| **`"))]

    assert rows
    assert not [row[0] for row in rows if not row[1].strip()]
    # a position in a set-up and what refers to another format carry none
    assert len([row[0] for row in rows if not row[3].strip(" |")]) <= 2


def test_every_schema_that_is_read_has_a_page(reference: ModuleType) -> None:
    there = {path.name.removesuffix(".schema.json") for path in (ROOT / "schemas").glob("*.json")}

    assert there - {"changes"} == set(reference.SCHEMAS)
    assert "changes.schema.json" in (ROOT / "docs" / "formats" / "changes.md").read_text(encoding="utf-8")


def test_every_command_is_documented(reference: ModuleType) -> None:
    page = _page("commands.md")

    assert [name for name in reference.command_names() if f"\n## {name}\n" not in page] == []


def test_every_command_is_used_in_a_page_for_people(reference: ModuleType) -> None:
    hand_written = [ROOT / "README.md", ROOT / "docs" / "start.md", *(ROOT / "docs" / "howto").glob("*.md")]
    text = "\n".join(page.read_text(encoding="utf-8") for page in hand_written)

    assert [name for name in reference.command_names() if f"profilekeeper {name}" not in text] == []


def test_every_kind_of_rule_has_a_section() -> None:
    page = _page("rules.md")

    assert [kind for kind in KINDS if f"\n## {kind}\n" not in page] == []


def test_every_exit_code_is_documented() -> None:
    codes = {0, *(value for name, value in vars(main).items() if name.startswith("EXIT_"))}
    page = _page("exit-codes.md")
    rows = {int(line.split("|")[1]) for line in page.splitlines() if line.startswith("| ") and line[2].isdigit()}

    assert len(codes) > 4
    assert rows == codes


def test_every_environment_variable_is_documented() -> None:
    page = _page("surroundings.md")

    assert [v for v in ("PROFILEKEEPER_STORE", "PROFILEKEEPER_BY", "NO_COLOR", "COLUMNS") if f"`{v}`" not in page] == []
