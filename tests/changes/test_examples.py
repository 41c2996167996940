"""Worked examples: a folder dropped into tests/examples/changes is a test.

`told/NAME`: before.yaml, after.yaml and, line by line, what is told (told.txt).
`merged/NAME`: base.yaml, ours.yaml, theirs.yaml, what comes of them (merged.yaml) and the disputed values.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from profilekeeper.changes import apply, changes_between
from profilekeeper.formats.strict_yaml import loads

from .built import is_same_data, merged, read

EXAMPLES = Path(__file__).parent.parent / "examples" / "changes"


def load(folder: Path, name: str) -> Any:
    return loads((folder / name).read_text(encoding="utf-8"), source=name)


@pytest.mark.parametrize("folder", sorted((EXAMPLES / "told").iterdir()), ids=lambda f: f.name)
def test_what_is_told_of_two_versions(folder: Path) -> None:
    before, after = load(folder, "before.yaml"), load(folder, "after.yaml")

    changes = changes_between(read(before), read(after))

    assert [str(change) for change in changes] == (folder / "told.txt").read_text(encoding="utf-8").splitlines()
    assert is_same_data(apply(before, changes), after)


@pytest.mark.parametrize("folder", sorted((EXAMPLES / "merged").iterdir()), ids=lambda f: f.name)
def test_what_comes_of_two_versions(folder: Path) -> None:
    base, ours, theirs = (load(folder, f"{name}.yaml") for name in ("base", "ours", "theirs"))

    result = merged(base, ours, theirs)

    assert is_same_data(result.data, load(folder, "merged.yaml"))
    disputed = {p: sorted(str(c.value) for c in found) for p, found in result.disputes.settings.items()}
    assert disputed == load(folder, "disputes.yaml")
