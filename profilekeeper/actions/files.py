"""Files that a user names: read whole and bounded, written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from profilekeeper.errors import FormatError, UsageError
from profilekeeper.formats.limits import MAX_BYTES

__all__ = ["read_file", "write_file"]


def read_file(path: Path, *, most: int = MAX_BYTES) -> bytes:
    """The bytes of a user's file.

    Raises:  UsageError, if it is not there or may not be read; FormatError, if it is larger than `most`.
    """
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise UsageError(f"{path}: no such file; check the name") from None
    except IsADirectoryError:
        raise UsageError(f"{path}: is a folder, a file was wanted") from None
    except OSError as error:
        raise UsageError(f"{path}: cannot be read ({error.strerror}); check its permissions") from None
    if len(data) > most:
        raise FormatError(
            f"is larger than {most // 1024} KiB", source=str(path), mend="a machine record is a few KiB of text"
        )
    return data


def write_file(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Put bytes into a user's file, whole or not at all.

    Raises:  UsageError, if a file is there already (unless `replace`) or the folder cannot be written to.
    """
    import tempfile

    if path.exists() and not replace:
        raise UsageError(f"{path}: is there already and was left alone; give another name")
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(0o644)
        os.replace(temporary, path)
    except OSError as error:
        raise UsageError(f"{path}: cannot be written ({error.strerror}); check the folder") from None
