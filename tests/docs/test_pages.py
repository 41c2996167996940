"""The README's form, links that lead somewhere, and words that the glossary must know."""

from __future__ import annotations

import json
import re
from enum import Enum
from pathlib import Path

import pytest

from profilekeeper.actions.opened import KINDS as SNAPSHOT_KINDS
from profilekeeper.changes.change import ChangeKind
from profilekeeper.changes.decisions import Choice
from profilekeeper.fleet.rows import State
from profilekeeper.fleet.rows import Verdict as Compared
from profilekeeper.model.kinds import AGREEMENTS
from profilekeeper.resources import shipped
from profilekeeper.rules import Verdict
from profilekeeper.rules.registry import KINDS as RULE_KINDS
from profilekeeper.rules.standing import Level
from profilekeeper.store import WorkState

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
PAGES = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")] + sorted((ROOT / "docs").rglob("*.md"))
IDS = [str(page.relative_to(ROOT)) for page in PAGES]

_LINK = re.compile(r"\[[^]\n]+(?:\n[^]\n]+)?\]\(([^)\s]+)\)")


def _words(*kinds: type[Enum]) -> list[str]:
    return [str(member.value) for kind in kinds for member in kind]


def _schema_words(definition: str, key: str) -> list[str]:
    schema = json.loads(shipped("schemas/profile.schema.json").read_text(encoding="utf-8"))
    return [str(word) for word in schema["$defs"][definition]["properties"][key]["enum"]]


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, paragraph, heading, *_ = README.split("\n\n")

    assert title == "# profilekeeper"
    assert "\n" not in paragraph
    assert heading.startswith("## ")
    assert "edge shape" in paragraph
    assert "machine record" in paragraph


@pytest.mark.parametrize(
    ("mark", "command"),
    [
        (
            "<!-- the first command -->",
            "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/profilekeeper demo",
        ),
        (
            "<!-- the test command -->",
            "python3 -m venv .venv-test && .venv-test/bin/pip install '.[test]' && .venv-test/bin/pytest",
        ),
    ],
    ids=["first", "test"],
)
def test_the_readme_has_the_two_commands(mark: str, command: str) -> None:
    assert README.count(mark) == 1
    assert f"{mark}\n```\n{command}\n```\n" in README


def _anchors(page: Path) -> set[str]:
    headings = re.findall(r"^#+ (.*)$", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    plain = [re.sub(r"[^\w -]", "", heading.lower()) for heading in headings]
    return {heading.strip().replace(" ", "-") for heading in plain}


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_links_lead_somewhere(page: Path) -> None:
    broken = []
    for link in _LINK.findall(page.read_text(encoding="utf-8")):
        if link.startswith(("http://", "https://")):
            continue
        path, _, anchor = link.partition("#")
        target = (page.parent / path).resolve() if path else page
        if not target.exists() or (anchor and anchor not in _anchors(target)):
            broken.append(link)

    assert not broken


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_page_is_reached_from_the_readme_or_the_list_of_pages(page: Path) -> None:
    if page.parent == ROOT and page.name == "README.md":
        pytest.skip("where every reader begins")
    linked = {
        (start.parent / link.partition("#")[0]).resolve()
        for start in (ROOT / "README.md", ROOT / "docs" / "README.md", ROOT / "docs" / "conventions.md")
        for link in _LINK.findall(start.read_text(encoding="utf-8"))
    }

    assert page.resolve() in linked


@pytest.mark.parametrize(
    "words",
    [
        _words(Verdict),
        _words(Level),
        [*SNAPSHOT_KINDS, "proven", "withdrawn", "shared", "store begun"],
        list(RULE_KINDS),
        list(AGREEMENTS),
        _schema_words("source", "how"),
        _schema_words("page_value", "state"),
        _words(State),
        _words(Compared),
        _words(ChangeKind, Choice),
        _words(WorkState),
    ],
    ids=["verdicts", "levels", "kinds of snapshot", "kinds of rule", "agreement", "how values came", "states of a page",
         "values compared", "comparison", "changes", "files"],
)  # fmt: skip
def test_every_word_of_the_code_stands_in_the_glossary(words: list[str]) -> None:
    assert words
    assert [word for word in words if f"**{word}**" not in GLOSSARY] == []


@pytest.mark.parametrize(
    "word",
    ["store", "profile", "setting", "snapshot", "as-found", "as-left", "proposal", "proven", "disputed", "finding",
     "gauge line", "pivot", "touch-off", "safe Z", "reading order", "key back", "readback", "spindle nose",
     "blade upright", "spindle down", "table height", "under the slab", "no-go zone", "slab", "head rotation",
     "pivot check"],
)  # fmt: skip
def test_every_word_of_the_trade_stands_in_the_glossary(word: str) -> None:
    assert f"**{word}**" in GLOSSARY


def test_every_hardware_event_stands_in_the_rules() -> None:
    page = (ROOT / "docs" / "reference" / "rules.md").read_text(encoding="utf-8")

    assert [word for word in _schema_words("event", "kind") if f"| {word} |" not in page] == []


def test_the_licence_is_named() -> None:
    assert "[MIT](LICENSE)" in README
    assert (ROOT / "LICENSE").read_text(encoding="utf-8").startswith("MIT License")
