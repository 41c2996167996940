"""Every way in which an answer cannot be given, as one family of exceptions.

A finding is not an error: differences, violations and outliers are returned as values.
An error composes one sentence from its fields: what, where, what was found, what to do.
Errors never print. `cli/main.py` and `web` turn each family into an exit code or a status once.
"""

from __future__ import annotations

__all__ = [
    "FormatError",
    "InvalidProfile",
    "InvalidQuantity",
    "InvalidShape",
    "ProfileKeeperError",
    "SecretRefused",
    "StoreError",
    "UnknownName",
    "UsageError",
]


class ProfileKeeperError(Exception):
    """The base of all expected errors; `str(error)` is one clear sentence for a person."""


class UsageError(ProfileKeeperError):
    """What was asked for does not fit together (exit code 2)."""


class InvalidQuantity(ProfileKeeperError, ValueError):
    """A text or number that is not a length, angle or other quantity of the kind wanted."""


class FormatError(ProfileKeeperError, ValueError):
    """A text that cannot be read, with the place where reading stopped.

    `source` names the file (or other origin), `line` and `column` count from 1 (0: not known),
    `what` says what was found, `mend` what to do about it.
    """

    def __init__(self, what: str, *, source: str = "", line: int = 0, column: int = 0, mend: str = "") -> None:
        self.what = what
        self.source = source
        self.line = line
        self.column = column
        self.mend = mend
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The one sentence: place first, then what was found, then what to do."""
        place = self.source
        if self.line:
            place += f"{', ' if place else ''}line {self.line}"
            if self.column:
                place += f", column {self.column}"
        text = f"{place}: {self.what}" if place else self.what
        return f"{text}; {self.mend}" if self.mend else text


class SecretRefused(FormatError):
    """A password, PIN or access code was about to be stored; nothing was written."""


class InvalidProfile(ProfileKeeperError, ValueError):
    """Data that can be read but is not a profile; `problems` lists every reason, in file order."""

    def __init__(self, message: str, problems: tuple[object, ...] = ()) -> None:
        self.problems = problems
        super().__init__(message)


class InvalidShape(ProfileKeeperError, ValueError):
    """A solid, outline or range of motion that has no meaning (zero radius, empty range ...)."""


class UnknownName(ProfileKeeperError, KeyError):
    """A machine, snapshot, setting or rule was named that is not there."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class StoreError(ProfileKeeperError):
    """The store could not be opened, read or written; nothing was changed."""
