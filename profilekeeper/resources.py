"""Where the files shipped beside the code are: schemas and the demo fleet.

In an installed wheel they lie in `profilekeeper/_data`; in a source tree or an editable
install they lie beside the package.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["shipped"]

_PACKAGE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """The folder or file of that name shipped with profilekeeper, e.g. `schemas/profile.schema.json`."""
    packed = _PACKAGE / "_data" / name
    return packed if packed.exists() else _PACKAGE.parent / name
