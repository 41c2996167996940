"""Bring the documentation up to date with the program: `python docs/make_docs.py [PAGE]...`.

Writes the generated pages of docs/reference/, and runs every marked command of the hand-written pages anew
(docs/doc_walk.py says what the marks mean). With names of pages only those are walked; `--check` writes nothing.
The exit code is 1 if anything was not up to date.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from doc_reference import SCHEMAS, commands_page, schema_page
from doc_walk import Walker, WalkError, build_demo_store, comparable

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"


def pages() -> tuple[Path, ...]:
    """The pages that hold commands to be run: the README and everything in docs/."""
    found = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
    return tuple(p for p in found if "\n<!-- run" in p.read_text(encoding="utf-8"))


def generated() -> dict[Path, str]:
    """The generated pages as they ought to be."""
    made = {DOCS / "reference" / "commands.md": commands_page()}
    for name, page in SCHEMAS.items():
        made[DOCS / "reference" / page] = schema_page(name, ROOT / "schemas")
    return made


def walked(page: Path, demo: Path | None) -> str:
    """A page with what its commands say now. Raises: WalkError."""
    with tempfile.TemporaryDirectory() as folder:
        return Walker(root=Path(folder), demo=demo).page(page.read_text(encoding="utf-8"))


def main(arguments: list[str]) -> int:
    """Write what is not up to date; 1 if there was any."""
    check = "--check" in arguments
    chosen = [Path(a).resolve() for a in arguments if a != "--check"]
    stale = 0
    for path, text in ({} if chosen else generated()).items():
        stale += _brought(path, text, check)
    with tempfile.TemporaryDirectory() as folder:
        wanted = chosen or pages()
        needs_demo = any("<!-- walk in demo -->" in p.read_text(encoding="utf-8") for p in wanted)
        demo = build_demo_store(Path(folder)) if needs_demo else None
        for page in wanted:
            try:
                stale += _brought(page, walked(page, demo), check)
            except WalkError as error:
                print(f"{page.relative_to(ROOT)}, {error}")
                stale += 1
    return int(stale > 0)


def _brought(path: Path, text: str, check: bool) -> bool:
    """Whether the page was not up to date; it is written unless this is only a check."""
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    if comparable(before) == comparable(text):
        return False
    print(f"{path.relative_to(ROOT)}: {'not up to date' if check else 'written'}")
    if not check:
        path.write_text(text, encoding="utf-8")
    return True


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
