"""Every command that the documentation shows is run, and what it says is what the page shows."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [
    page
    for page in (ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md")))
    if "\n<!-- run" in page.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("page", PAGES, ids=[str(p.relative_to(ROOT)) for p in PAGES])
def test_what_a_page_shows_is_what_the_program_says(
    page: Path, make_docs: ModuleType, walking: ModuleType, demo_store: Path
) -> None:
    shown = page.read_text(encoding="utf-8")

    said = make_docs.walked(page, demo_store)

    assert walking.comparable(said) == walking.comparable(shown), "run: python docs/make_docs.py"


def test_every_walked_page_runs_something() -> None:
    assert len(PAGES) > 10


def test_a_block_that_says_otherwise_is_noticed(walking: ModuleType, tmp_path: Path) -> None:
    page = "<!-- run -->\n```console\n$ profilekeeper --version\nprofilekeeper 99\n```\n"

    said = walking.Walker(root=tmp_path).page(page)

    assert "profilekeeper 99" not in said
    assert "$ profilekeeper --version\nprofilekeeper 0." in said


def test_another_exit_code_than_the_page_says_is_noticed(walking: ModuleType, tmp_path: Path) -> None:
    page = "<!-- run exit=1 -->\n```console\n$ profilekeeper --version\n```\n"

    with pytest.raises(walking.WalkError, match="ended with 0, not 1"):
        walking.Walker(root=tmp_path).page(page)


def test_what_is_left_out_is_shown_as_left_out(walking: ModuleType) -> None:
    text = "one\ntwo\nthree  \nfour\n\n"

    assert walking.shortened(text, 1, 1) == ["one", "...", "four"]
    assert walking.shortened(text, 0, 0) == ["one", "two", "three", "four"]
    assert walking.shortened(text, 3, 1) == ["one", "two", "three", "four"]
