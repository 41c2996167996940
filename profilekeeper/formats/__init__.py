"""Text in, text out: one module per file format.

YAML is read by one strict reader (`loads`), changed in place (`splice`, `edit`) and written new
(`dumps`); JSON is read as strictly (`loads_json`) and written as exactly (`dumps_json`). Nothing
here opens a file: whoever does refuses one above `MAX_BYTES` before reading it.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.formats.json_text import dumps_json, loads_json
    from profilekeeper.formats.limits import MAX_BYTES
    from profilekeeper.formats.strict_yaml import loads
    from profilekeeper.formats.yaml_marks import Place, locate, locate_key, positions

__all__ = [
    "MAX_BYTES",
    "Place",
    "dumps_json",
    "loads",
    "loads_json",
    "locate",
    "locate_key",
    "positions",
]

_HOME = {
    "MAX_BYTES": "limits",
    "Place": "yaml_marks",
    "dumps_json": "json_text",
    "loads": "strict_yaml",
    "loads_json": "json_text",
    "locate": "yaml_marks",
    "locate_key": "yaml_marks",
    "positions": "yaml_marks",
}


def __getattr__(name: str) -> object:
    """Each name is fetched when it is first used: start-up pays for none of them."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
