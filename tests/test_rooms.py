"""Which room may import which, what pure rooms may not touch, and how large files and functions may grow."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import profilekeeper

PACKAGE = Path(profilekeeper.__file__).parent

PURE_BASE = {"errors", "quantities", "model"}
MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "resources": set(),
    "quantities": {"errors"},
    "model": {"errors", "quantities", "resources"},
    "changes": PURE_BASE,
    "clearance": PURE_BASE,
    "rules": PURE_BASE | {"changes", "clearance"},
    "keyback": PURE_BASE | {"changes"},
    "fleet": PURE_BASE | {"changes"},
    "formats": PURE_BASE,
    "report": PURE_BASE | {"changes", "clearance", "rules", "keyback", "fleet", "formats"},
    "store": {"errors"},
    "actions": PURE_BASE | {"changes", "clearance", "rules", "keyback", "fleet", "formats", "store", "resources"},
    "cli": PURE_BASE | {"actions", "report", "changes", "rules", "fleet"},
    "web": PURE_BASE | {"actions", "report", "changes", "rules", "fleet"},
}
"""The rooms in order; arrows go down only. cli and web may use result types of the pure rooms to show them."""

PURE = ("quantities", "model", "changes", "clearance", "rules", "keyback", "fleet", "formats")
IMPURE_NAMES = {"open", "print", "input", "subprocess", "socket", "random", "secrets", "environ", "getenv"}
IMPURE_CALLS = {("datetime", "now"), ("datetime", "today"), ("date", "today"), ("time", "time"), ("Path", "cwd")}
LONGEST_MODULE = 500
LONGEST_FUNCTION = 50


def _modules() -> Iterator[tuple[str, Path, ast.Module]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        relative = path.relative_to(PACKAGE)
        if relative.parts[0] == "_data" or (relative.name == "__init__.py" and len(relative.parts) == 1):
            continue
        room = relative.parts[0].removesuffix(".py")
        yield room, path, ast.parse(path.read_text(encoding="utf-8"))


MODULES = tuple(_modules())
IDS = [str(path.relative_to(PACKAGE)) for _, path, _ in MODULES]


def _imported_rooms(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
            if node.module == "profilekeeper":
                names = [f"profilekeeper.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "profilekeeper" and len(parts) > 1 and parts[1] != "__version__":
                yield parts[1]


@pytest.mark.parametrize(("room", "path", "tree"), MODULES, ids=IDS)
def test_arrows_between_rooms_go_down_only(room: str, path: Path, tree: ast.Module) -> None:
    allowed = MAY_IMPORT[room] | {room}

    assert set(_imported_rooms(tree)) <= allowed


@pytest.mark.parametrize(
    ("room", "path", "tree"),
    [m for m in MODULES if m[0] in PURE],
    ids=[i for m, i in zip(MODULES, IDS, strict=True) if m[0] in PURE],
)
def test_pure_rooms_touch_no_file_clock_or_chance(room: str, path: Path, tree: ast.Module) -> None:
    if path.name == "schema.py" and room == "model":
        pytest.skip("reads the shipped schemas, and nothing else")
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in IMPURE_NAMES and isinstance(node.ctx, ast.Load):
            found.add(node.id)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            pair = (node.value.id, node.attr)
            if pair in IMPURE_CALLS or pair == ("os", "environ"):
                found.add(".".join(pair))

    assert not found


@pytest.mark.parametrize(("room", "path", "tree"), MODULES, ids=IDS)
def test_modules_and_functions_stay_readable(room: str, path: Path, tree: ast.Module) -> None:
    too_long = [
        f"{node.name}: {node.end_lineno - node.lineno + 1}"
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.end_lineno
        and _body_lines(node) > LONGEST_FUNCTION
    ]  # fmt: skip

    assert not too_long
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of the body without the docstring: a signature of many options is no complexity."""
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_only_one_file_starts_git() -> None:
    users = [
        str(path.relative_to(PACKAGE))
        for room, path, tree in MODULES
        if any(
            isinstance(n, (ast.Import, ast.ImportFrom))
            and ("subprocess" in {a.name for a in n.names} or getattr(n, "module", "") == "subprocess")
            for n in ast.walk(tree)
        )
    ]

    assert [u for u in users if not u.startswith("store/")] == []


def test_help_does_not_import_what_only_some_commands_need() -> None:
    program = (
        "import sys\n"
        "from profilekeeper.cli.main import app\n"
        "sys.argv = ['profilekeeper', '--help']\n"
        "app(standalone_mode=False)\n"
        "heavy = {'deepdiff', 'git', 'jsonschema', 'jsonschema_rs', 'numpy', 'ruamel', 'yaml', 'filelock', 'sqlite3'}\n"
        "loaded = sorted(heavy & {name.split('.')[0] for name in sys.modules})\n"
        "print('HEAVY', loaded)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, env={**os.environ, "COLUMNS": "80"}
    )

    assert done.stdout.splitlines()[-1] == "HEAVY []"


@pytest.mark.parametrize("room", sorted(set(MAY_IMPORT) - {"errors", "resources"}))
def test_every_room_says_what_it_is_for(room: str) -> None:
    tree = ast.parse((PACKAGE / room / "__init__.py").read_text(encoding="utf-8"))

    assert ast.get_docstring(tree)
