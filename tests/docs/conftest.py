"""The documentation's own tools, and one demo store for all pages that are walked."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"


@pytest.fixture(scope="session")
def make_docs() -> Iterator[ModuleType]:
    """`docs/make_docs.py` as a module."""
    sys.path.insert(0, str(DOCS))
    try:
        yield importlib.import_module("make_docs")
    finally:
        sys.path.remove(str(DOCS))


@pytest.fixture(scope="session")
def reference(make_docs: ModuleType) -> ModuleType:
    """`docs/doc_reference.py` as a module."""
    return importlib.import_module("doc_reference")


@pytest.fixture(scope="session")
def walking(make_docs: ModuleType) -> ModuleType:
    """`docs/doc_walk.py` as a module."""
    return importlib.import_module("doc_walk")


@pytest.fixture(scope="session")
def demo_store(walking: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store as `profilekeeper demo` leaves it."""
    found: Path = walking.build_demo_store(tmp_path_factory.mktemp("demo"))
    return found
