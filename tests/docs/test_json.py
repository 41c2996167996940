"""What stands at the top of each JSON answer is what the page says."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = {
    "start": "start ../other",
    "add-machine": 'add-machine quayside/saw-9 --class "tilting bridge saw" --unit mm',
    "snapshot": "snapshot quayside/saw-2 --as-found --set /machine/hours=9999",
    "event": 'event quayside/saw-2 "crash" --axis X',
    "restore": "restore quayside/saw-2 --to as-left --only /tools/7/length --yes",
    "restore --plan": "restore quayside/saw-2 --to as-left --plan",
    "put-back": "put-back quayside/saw-2",
    "audit": "audit",
    "prove": "prove quayside/saw-2 --ran /tools/7",
    "check": "check quayside/saw-2",
    "dryrun": "dryrun quayside/saw-2 --tool 4 --from X=1800,Y=1000,Z=-50,A=0,C=0 --move Z=0",
    "place": "place quayside/saw-1 --tool 1 --z -60 --pitch 80",
    "touchoff": "touchoff quayside/saw-2 7 --z -153.0 --thickness 30.0 --tilt 90",
    "show": "show quayside/saw-2",
    "history": "history quayside/saw-2",
    "changes": "changes quayside/saw-2",
    "compare": "compare quayside",
    "share": "share ../saws.yaml",
}


def _documented() -> dict[str, set[str]]:
    page = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    found: dict[str, set[str]] = {}
    for line in page.splitlines():
        if line.startswith("| `"):
            commands, _, keys = (cell.strip() for cell in line.strip("|").split("|"))
            for command in commands.split(","):
                found[command.strip(" `")] = {key.strip(" `") for key in keys.split(",")}
    return found


def test_every_command_with_json_is_in_the_page(reference: ModuleType) -> None:
    assert {name.split()[0] for name in _documented()} == set(reference.command_names()) - {"demo", "draw"}


@pytest.mark.parametrize("name", COMMANDS)
def test_the_keys_of_an_answer_are_those_of_the_page(
    name: str, walking: ModuleType, demo_store: Path, tmp_path: Path
) -> None:
    walker = walking.Walker(root=tmp_path)
    if name == "audit":  # a whole look through the demo takes its time, and says no more
        walker.run("profilekeeper start fleet")
    else:
        shutil.copytree(demo_store, tmp_path / "fleet")
    (tmp_path / "saws.yaml").write_text("rules_version: 1\nrules: {}\n", encoding="utf-8")
    walker.run("cd fleet")
    if name == "restore":
        walker.run("profilekeeper snapshot quayside/saw-2 --as-found --set /tools/7/length=148.5")

    answer = json.loads(walker.run(f"profilekeeper {COMMANDS[name]} --json").text)

    keys = set(answer[0]) if isinstance(answer, list) else set(answer)
    assert keys == _documented()[name]
