"""A store is begun, and machines come into it: from a file, from what is known of them, or from a sister."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from profilekeeper.actions.opened import Opened, Person
from profilekeeper.actions.recording import Recorded, Request, record
from profilekeeper.errors import UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import dumps
from profilekeeper.model.kinds import SettingNode, root
from profilekeeper.model.profile import Profile
from profilekeeper.model.schema import CURRENT_VERSION
from profilekeeper.resources import shipped
from profilekeeper.store import Store
from profilekeeper.store.names import check_name

__all__ = [
    "MODELINE",
    "Started",
    "add_machine",
    "blank_profile",
    "first_files",
    "profile_like",
    "start",
    "text_of",
    "with_modeline",
]

MODELINE = "# yaml-language-server: $schema=../../schemas/profile.schema.json\n"
"""First line of a profile in a store, by which editors find the schema for completion."""

_ANY_MODELINE = re.compile(r"\A(\ufeff?)# yaml-language-server: \$schema=[^\n]*\n")
_AS_THEY_ARE = b"* -text\n"
_FOR_EDITORS = ("profile.schema.json", "rules.schema.json", "reading-order.schema.json")

_NEVER_COPIED = ("sources", "events", "notes", "control_backups", "moved", "setup_in_control")
_ATTIC = """\
# What lies here is a store of machine records kept with profilekeeper: one folder a machine.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """A store that was begun."""

    folder: str
    id: str
    fleet: str


def start(folder: Path, *, fleet: str, person: Person, at: datetime, new_id: Callable[[], str]) -> Started:
    """Begin a store in an empty or new folder.

    Raises:  StoreError, if something is there already or the folder cannot be written to.
    """
    store_id = new_id() + new_id()
    data = {"store": 1, "id": store_id, "fleet": fleet or folder.name, "started": at.date().isoformat()}
    files = {"store.yaml": (_ATTIC + dumps(data)).encode(), **first_files()}
    trailers = {"Kind": "store begun", "By": person.name}
    Store.start(folder, files, message="the store is begun", author=person.author, at=at, trailers=trailers).close()
    return Started(folder=str(folder), id=store_id, fleet=str(data["fleet"]))


def first_files() -> dict[str, bytes]:
    """What a store keeps beside its records: schemas, so that any editor can complete and check, and the word to
    plain git that no line ending is ever to be changed.
    """
    files = {f"schemas/{name}": shipped(f"schemas/{name}").read_bytes() for name in _FOR_EDITORS}
    return {".gitattributes": _AS_THEY_ARE, **files}


def with_modeline(text: str) -> str:
    """A profile's text that begins with the line by which editors find the store's schema."""
    if _ANY_MODELINE.match(text):
        return _ANY_MODELINE.sub(lambda found: found.group(1) + MODELINE, text, count=1)
    return MODELINE + text.removeprefix("\ufeff")


def blank_profile(machine: str, facts: Mapping[str, Any], new_id: Callable[[], str]) -> str:
    """The text of a new machine's profile with what is known of it: enough to be kept from the first day.

    `facts` may hold class, maker, model, serial, control, software, unit (mm or in), resolution, reading_order.
    """
    shop, name = _split(machine)
    about: dict[str, Any] = {"id": new_id(), "name": name, "shop": shop}
    about.update({k: facts[k] for k in ("class", "maker", "model", "serial", "reading_order") if facts.get(k)})
    if facts.get("control"):
        about["control"] = {"name": facts["control"]}
        if facts.get("software"):
            about["control"]["software"] = facts["software"]
    data: dict[str, Any] = {"profile": CURRENT_VERSION, "machine": about}
    data["units"] = {"length": facts.get("unit") or "mm", "angle": "deg"}
    if facts.get("resolution"):
        data["resolution"] = {"length": facts["resolution"]}
    return MODELINE + dumps(data)


def add_machine(
    opened: Opened, machine: str, text: str, *, person: Person, why: str, at: datetime, new_id: Callable[[], str]
) -> Recorded:
    """Record the first snapshot of a new machine.

    Raises:  UsageError, if it is recorded already; BadName, if a shop or machine cannot be called so.
    """
    for part in _split(machine):
        check_name(part)
    if opened.is_recorded(machine):
        raise UsageError(f"{machine} is recorded already; take a snapshot of it, or choose another name")
    request = Request(
        machine=machine, text=with_modeline(text), kind="added", person=person, why=why, at=at, new_id=new_id,
    )  # fmt: skip
    return record(opened, request)


def profile_like(sister: Profile, machine: str, new_id: Callable[[], str]) -> str:
    """The text of a new machine's profile with everything of a sister that may be copied.

    Copied is what ought to agree between sisters; never copied are a machine's own zeros and positions,
    compensation tables, pivot lengths, tool lengths, and every remark.
    """
    shop, name = _split(machine)
    copied = _copied(sister.data, root())
    about = {k: v for k, v in copied.get("machine", {}).items() if k not in ("id", "name", "shop")}
    data = {k: v for k, v in copied.items() if k not in _NEVER_COPIED}
    data["profile"] = CURRENT_VERSION
    data["machine"] = {"id": new_id(), "name": name, "shop": shop, **about}
    data["units"] = dict(sister.data["units"])
    for tool in data.get("tools", {}).values():
        tool["id"] = new_id()
    return MODELINE + dumps(data)


def text_of(data: bytes, source: str) -> str:
    """The text of a profile file, once the strict reader has passed it."""
    strict_yaml.loads(data, source=source)
    return data.decode("utf-8-sig")


def _copied(data: Mapping[str, Any], node: SettingNode | None) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in data.items():
        below = node.child(key) if node else None
        if below is None or below.kind.agreement == "wears":
            continue
        if key == "control_pages":
            inner: Any = {name: _copied_page(page) for name, page in value.items()}
        elif isinstance(value, Mapping):
            inner = _copied(value, below)
        else:
            inner = value if below.kind.agreement == "agrees" else None
        if inner is not None and inner != {}:
            result[key] = inner
    return result


def _copied_page(page: Mapping[str, Any]) -> dict[str, Any]:
    """A page of the control with the values and grids that ought to agree between sisters, whole."""
    settings = {k: v for k, v in page.get("settings", {}).items() if v.get("agreement", "agrees") == "agrees"}
    grids = {
        k: v
        for k, v in page.get("grids", {}).items()
        if all(column.get("agreement", "agrees") == "agrees" for column in v.get("columns", {}).values())
    }
    copied = {"path": page.get("path"), "settings": settings, "grids": grids}
    return {key: value for key, value in copied.items() if value}


def _split(machine: str) -> tuple[str, str]:
    shop, separator, name = machine.partition("/")
    if not (separator and shop and name) or "/" in name:
        raise UsageError(f"{machine!r} is not SHOP/MACHINE, such as quayside/saw-2")
    return shop, name
