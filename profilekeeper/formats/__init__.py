"""Text in, text out: one module per file format.

YAML is read by one strict reader (`loads`), changed in place (`splice`, `edit`) and written new
(`dumps`); JSON is read as strictly (`loads_json`) and written as exactly (`dumps_json`). Nothing
here opens a file: whoever does refuses one above `MAX_BYTES` before reading it.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.formats.changed_data import REMOVED, Change, Removed, changed
    from profilekeeper.formats.edit_yaml import edit, splice, splice_many
    from profilekeeper.formats.json_text import dumps_json, loads_json
    from profilekeeper.formats.limits import MAX_BYTES
    from profilekeeper.formats.strict_yaml import loads
    from profilekeeper.formats.yaml_marks import Place, locate, locate_key, positions
    from profilekeeper.formats.yaml_write import dumps, same

__all__ = [
    "MAX_BYTES",
    "REMOVED",
    "Change",
    "Place",
    "Removed",
    "changed",
    "dumps",
    "dumps_json",
    "edit",
    "loads",
    "loads_json",
    "locate",
    "locate_key",
    "positions",
    "same",
    "splice",
    "splice_many",
]

_HOME = {
    "MAX_BYTES": "limits",
    "REMOVED": "changed_data",
    "Change": "changed_data",
    "Place": "yaml_marks",
    "Removed": "changed_data",
    "changed": "changed_data",
    "dumps": "yaml_write",
    "dumps_json": "json_text",
    "edit": "edit_yaml",
    "loads": "strict_yaml",
    "loads_json": "json_text",
    "locate": "yaml_marks",
    "locate_key": "yaml_marks",
    "positions": "yaml_marks",
    "same": "yaml_write",
    "splice": "edit_yaml",
    "splice_many": "edit_yaml",
}


def __getattr__(name: str) -> object:
    """Each name is fetched when it is first used: start-up pays for none of them."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
