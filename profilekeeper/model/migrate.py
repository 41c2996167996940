"""Older profiles brought to the present format, in memory only; a file is rewritten only by a person's act.

Each step is a pure function from version n to n + 1.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from profilekeeper.errors import InvalidProfile
from profilekeeper.model.schema import CURRENT_VERSION

__all__ = ["migrated", "version_of"]


def version_of(data: object, source: str = "") -> tuple[int, int]:
    """Major and minor version of a profile's format, as the file says.

    Raises:  InvalidProfile, if it says none, or one this program is too old for.
    """
    raw = data.get("profile") if isinstance(data, Mapping) else None
    if isinstance(raw, bool) or not isinstance(raw, (int, Decimal)):
        raise InvalidProfile(
            f"{source or 'the file'}: /profile is missing; a machine record begins with profile: {CURRENT_VERSION}"
        )
    major, _, minor = f"{raw:f}".partition(".") if isinstance(raw, Decimal) else (str(raw), "", "")
    version = (int(major), int(minor or 0))
    if not 1 <= version[0] <= CURRENT_VERSION:
        raise InvalidProfile(
            f"{source or 'the file'}: /profile says version {raw}, this program knows 1 to {CURRENT_VERSION}; "
            "it is left untouched, read it with a newer profilekeeper"
        )
    return version


def migrated(data: Mapping[str, Any]) -> dict[str, Any]:
    """The same profile in the present format; the data given is not changed."""
    result = dict(data)
    for version in range(version_of(data)[0], CURRENT_VERSION):
        result = _STEPS[version](result)
    return result


def _from_1_to_2(data: Mapping[str, Any]) -> dict[str, Any]:
    """Version 2 knows several tables, and dates no longer stand under `on` (YAML 1.1 readers take it for true)."""
    result = {key: value for key, value in data.items() if key != "table"}
    result["profile"] = 2
    if "table" in data:
        result["tables"] = {"main": data["table"]}
    for name in ("tools", "sources"):
        if isinstance(data.get(name), Mapping):
            result[name] = {key: _dated(item) for key, item in data[name].items()}
    return _with_pointers(_with_frames(result))


def _dated(item: object) -> object:
    """A tool or source with `touched_off` and `on` renamed; anything else as it is."""
    if not isinstance(item, Mapping):
        return item
    renamed = {{"touched_off": "touch_off", "on": "date"}.get(key, key): value for key, value in item.items()}
    if isinstance(renamed.get("touch_off"), Mapping):
        renamed["touch_off"] = _dated(renamed["touch_off"])
    return renamed


def _with_frames(data: dict[str, Any]) -> dict[str, Any]:
    """Version 1 positions were machine readings of the spindle nose: version 2 says so."""
    for name in ("positions", "tool_changes", "work_offsets"):
        if isinstance(data.get(name), Mapping):
            data[name] = {key: _framed(item) for key, item in data[name].items()}
    for name, inner in (("setups", "tool_change"), ("routines", "ends")):
        if isinstance(data.get(name), Mapping):
            data[name] = {
                key: {**item, inner: _framed(item[inner])} if isinstance(item, Mapping) and inner in item else item
                for key, item in data[name].items()
            }
    return data


def _framed(item: object) -> object:
    return {"frame": "machine", "tool_length_active": False, **item} if isinstance(item, Mapping) else item


def _with_pointers(data: dict[str, Any]) -> dict[str, Any]:
    """Names of settings inside the file follow the settings they name."""
    for name in ("sources", "agreement", "moved"):
        if isinstance(data.get(name), Mapping):
            data[name] = {_pointer_2(key): item for key, item in data[name].items()}
    if isinstance(data.get("moved"), Mapping):
        data["moved"] = {key: _pointer_2(str(item)) for key, item in data["moved"].items()}
    if isinstance(data.get("rules"), Mapping):
        data["rules"] = {
            key: {**rule, "setting": _pointer_2(str(rule["setting"]))}
            if isinstance(rule, Mapping) and "setting" in rule
            else rule
            for key, rule in data["rules"].items()
        }
    return data


def _pointer_2(pointer: str) -> str:
    """Where a setting of version 1 stands in version 2."""
    steps = pointer.split("/")
    if steps[1:2] == ["table"]:
        steps[1:2] = ["tables", "main"]
    if steps[1:2] == ["tools"] and steps[3:4] == ["touched_off"]:
        steps[3] = "touch_off"
        steps[4:5] = ["date"] if steps[4:5] == ["on"] else steps[4:5]
    return "/".join(steps)


_STEPS: dict[int, Callable[[Mapping[str, Any]], dict[str, Any]]] = {1: _from_1_to_2}
