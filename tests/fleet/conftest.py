"""Builders of small invented machines for the tests of the fleet room."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from profilekeeper.fleet.columns import columns_of, dumps, loads
from profilekeeper.fleet.compare import MachineColumns
from profilekeeper.model.profile import Profile, read_profile

SAW = "tilting-head bridge saw"
_STEPS = {"mm": Decimal("0.001"), "in": Decimal("0.0001")}


def make_profile(
    name: str = "quayside/saw-1", *, unit: str = "mm", machine_class: str = SAW, step: Decimal | None = None,
    agreement: dict[str, str] | None = None, **parts: Any,
) -> Profile:  # fmt: skip
    """A machine with the given top-level parts; its display's unit and smallest step as they usually are."""
    shop, _, short = name.rpartition("/")
    data: dict[str, Any] = {
        "profile": 2,
        "machine": {"name": short, "shop": shop or "quayside", **({"class": machine_class} if machine_class else {})},
        "units": {"length": unit, "angle": "deg"},
        "resolution": {"length": _STEPS[unit] if step is None else step, "angle": Decimal("0.01")},
        **parts,
    }
    if agreement:
        data["agreement"] = agreement
    return read_profile(data, source=name)


def make_machine(
    name: str = "quayside/saw-1", *, disputed: tuple[str, ...] = (), wanted: tuple[str, ...] = (), **about: Any
) -> MachineColumns:
    """The same as a comparison takes it, by way of the compact form."""
    columns = loads(dumps(columns_of(make_profile(name, **about))), wanted)
    return MachineColumns(machine=name, columns=columns, disputed=frozenset(disputed))


@pytest.fixture(scope="session")
def profile() -> Callable[..., Profile]:
    return make_profile


@pytest.fixture(scope="session")
def machine() -> Callable[..., MachineColumns]:
    return make_machine
