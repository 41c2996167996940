"""Every way in which an answer cannot be given, as one family of exceptions.

A finding is not an error: differences, violations and outliers are returned as values.
An error composes one sentence from its fields: what, where, what was found, what to do.
Errors never print. `cli/main.py` and `web` turn each family into an exit code or a status once.
"""

from __future__ import annotations

__all__ = [
    "BadName",
    "ChangeDoesNotFit",
    "DatumMissing",
    "DiskFailed",
    "DiskFull",
    "FileBehind",
    "FileMissing",
    "FormatError",
    "GitFailed",
    "GitMissing",
    "GitTooOld",
    "HandEdit",
    "InvalidProfile",
    "InvalidQuantity",
    "InvalidShape",
    "NotAStore",
    "NotRecorded",
    "ProfileKeeperError",
    "SecretRefused",
    "SnapshotAmbiguous",
    "StoreBusy",
    "StoreError",
    "StoreExists",
    "StoreMoved",
    "StoreReadOnly",
    "TouchesTooMuch",
    "UnknownName",
    "UnknownSnapshot",
    "UnsafeStore",
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


class ChangeDoesNotFit(ProfileKeeperError, ValueError):
    """A change was to be made to settings other than those it was worked out from."""

    def __init__(self, pointer: str, expected: object, found: object) -> None:
        self.pointer = pointer
        self.expected = expected
        self.found = found
        super().__init__(
            f"{pointer}: the change expects {str(expected)[:60]} there, but {_there(found)}; "
            "compare anew with what is there now"
        )


def _there(found: object) -> str:
    return "nothing is there" if found is None else f"{str(found)[:60]} is there"


class UnknownName(ProfileKeeperError, KeyError):
    """A machine, snapshot, setting or rule was named that is not there."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class DatumMissing(ProfileKeeperError):
    """An answer was asked for that the record lacks settings for; `missing` names them."""

    def __init__(self, message: str, missing: tuple[str, ...]) -> None:
        self.missing = missing
        super().__init__(message)


class StoreError(ProfileKeeperError):
    """The store could not be opened, read or written; nothing was changed (but see `FileBehind`)."""


def _named(paths: tuple[str, ...], most: int = 3) -> str:
    """Up to three names in a row, and how many more there are."""
    shown = ", ".join(paths[:most])
    return f"{shown} and {len(paths) - most} more" if len(paths) > most else shown


class NotAStore(StoreError):
    """The folder is not the root of a store, or is a store of a kind this version cannot work in."""

    def __init__(self, folder: str, why: str, mend: str) -> None:
        self.folder = folder
        self.why = why
        super().__init__(f"{folder}: {why}; {mend}")


class StoreExists(StoreError):
    """A store was to be started where one is, or where files lie that it would have to overwrite."""

    def __init__(self, folder: str, found: str) -> None:
        self.folder = folder
        super().__init__(f"{folder}: {found} is there already; start the store in an empty folder")


class UnsafeStore(StoreError):
    """The store's own set-up could run programs or lead outside it, so it is not worked in."""

    def __init__(self, folder: str, what: str, mend: str = "") -> None:
        self.folder = folder
        self.what = what
        cure = mend or "take its snapshots over into a store of your own instead"
        super().__init__(f"{folder}: not opened, because {what}; {cure}")


class BadName(StoreError, ValueError):
    """A name of a shop, machine or file that some computer could not keep."""

    def __init__(self, name: str, why: str) -> None:
        self.name = name
        self.why = why
        super().__init__(f"{name!r} cannot be used as a name: {why}")


class UnknownSnapshot(StoreError, KeyError):
    """No snapshot of this store goes by that id."""

    def __init__(self, revision: str) -> None:
        self.revision = revision
        super().__init__(f"no snapshot with the id {revision!r} is in this store; see the history for ids")

    def __str__(self) -> str:
        return str(self.args[0])


class SnapshotAmbiguous(UnknownSnapshot):
    """A shortened id that several snapshots share; `candidates` holds the full ids."""

    def __init__(self, revision: str, candidates: tuple[str, ...]) -> None:
        self.revision = revision
        self.candidates = candidates
        StoreError.__init__(
            self,
            f"the id {revision!r} fits {len(candidates)} snapshots "
            f"({_named(tuple(c[:12] for c in candidates))}); give more of its letters",
        )


class NotRecorded(StoreError, KeyError):
    """The snapshot is there, but holds no file of that name."""

    def __init__(self, path: str, revision: str) -> None:
        self.path = path
        self.revision = revision
        super().__init__(f"{path} is not recorded in snapshot {revision[:12] or 'latest'}")

    def __str__(self) -> str:
        return str(self.args[0])


class StoreMoved(StoreError):
    """Someone else recorded a snapshot since this one was prepared."""

    def __init__(self, what: str) -> None:
        self.what = what
        super().__init__(f"{what}; nothing was recorded: look at the newer values and try again")


class StoreBusy(StoreError):
    """Another program is writing to the store and did not finish in time."""

    def __init__(self, folder: str, what: str, mend: str = "wait for the other program and try again") -> None:
        self.folder = folder
        super().__init__(f"the store {folder} is busy ({what}); {mend}")


class HandEdit(StoreError):
    """Files were edited outside this tool since the latest snapshot; they are never overwritten."""

    def __init__(self, paths: tuple[str, ...]) -> None:
        self.paths = paths
        what = "was" if len(paths) == 1 else "were"
        super().__init__(
            f"{_named(paths)} {what} edited by hand since the latest snapshot; nothing was overwritten: "
            "record the edit as a snapshot first, or put the recorded file back"
        )


class FileMissing(StoreError):
    """Recorded files were deleted outside this tool; they can be put back, or recorded as gone."""

    def __init__(self, paths: tuple[str, ...]) -> None:
        self.paths = paths
        what, them = ("is", "it") if len(paths) == 1 else ("are", "them")
        super().__init__(
            f"{_named(paths)} {what} recorded but no longer in the folder; "
            f"put {them} back from the store, or record {them} as gone"
        )


class FileBehind(StoreError):
    """The snapshot IS recorded, but its file in the folder could not be brought up to it.

    `revision` is the snapshot. The next command that writes, or opens, the store finishes the work.
    """

    def __init__(self, revision: str, why: str) -> None:
        self.revision = revision
        self.why = why
        super().__init__(
            f"snapshot {revision[:12]} is recorded, but its file in the folder is not yet up to date "
            f"({why}); mend that, and the next command finishes it"
        )


class StoreReadOnly(StoreError):
    """The store's folder cannot be written to."""

    def __init__(self, folder: str) -> None:
        self.folder = folder
        super().__init__(f"{folder} cannot be written to; nothing was recorded: check who owns it and what it lies on")


class DiskFull(StoreError):
    """There is no room left for a snapshot."""

    def __init__(self, folder: str) -> None:
        self.folder = folder
        super().__init__(
            f"no room is left on the disk that holds {folder}; nothing was recorded: make room and try again"
        )


class DiskFailed(StoreError):
    """The disk or the system refused to read or write, for a reason other than lack of room."""

    def __init__(self, folder: str, why: str) -> None:
        self.folder = folder
        self.why = why
        super().__init__(f"{folder} could not be read or written ({why}); check the disk and try again")


class GitMissing(StoreError):
    """The program git is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "the program git was not found on this computer; install it (https://git-scm.com) and try again"
        )


class GitTooOld(StoreError):
    """The program git is older than what a store needs."""

    def __init__(self, found: str, wanted: str) -> None:
        self.found = found
        self.wanted = wanted
        super().__init__(f"git {found} is too old to keep a store; install git {wanted} or newer")


class GitFailed(StoreError):
    """The program git refused or broke off; fields hold what it was asked and what it said."""

    def __init__(self, command: str, exit_code: int, stderr: str) -> None:
        self.command = command
        self.exit_code = exit_code
        self.stderr = stderr
        said = " ".join(stderr.split()) or "it said nothing"
        super().__init__(
            f"git {command} ended with code {exit_code} ({said}); nothing was recorded: run an audit of the store"
        )


class TouchesTooMuch(StoreError):
    """One snapshot was to touch several machines."""

    def __init__(self, folders: tuple[str, ...]) -> None:
        self.folders = folders
        super().__init__(f"one snapshot may touch one machine, not {_named(folders)}; record them one by one")
