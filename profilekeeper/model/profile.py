"""A profile: all settings of one machine, read, checked against its schema and exact."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from profilekeeper.errors import InvalidProfile
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.migrate import migrated, version_of
from profilekeeper.model.schema import CURRENT_VERSION, Problem, problems
from profilekeeper.model.secrets import find_secrets
from profilekeeper.model.settings import Setting, Value, read_settings
from profilekeeper.quantities import Angle, Length, LengthUnit, Quantity

__all__ = ["Branch", "Profile", "profile_problems", "read_profile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """Part of a profile below one pointer; what is not there is None, never zero."""

    settings: Mapping[str, Setting]
    pointer: str
    data: object

    def value(self, path: str) -> Value:
        """The value at a path below this branch (`Z`, `diameter/new`), or None."""
        setting = self.settings.get(f"{self.pointer}/{path}")
        return setting.value if setting else None

    def length(self, path: str) -> Length | None:
        value = self.value(path)
        return value if isinstance(value, Length) else None

    def angle(self, path: str) -> Angle | None:
        value = self.value(path)
        return value if isinstance(value, Angle) else None

    def number(self, path: str) -> Decimal | None:
        value = self.value(path)
        if isinstance(value, Quantity):
            return value.number
        return value if isinstance(value, Decimal) else None

    def text(self, path: str) -> str | None:
        value = self.value(path)
        return value if isinstance(value, str) else None

    def flag(self, path: str) -> bool | None:
        value = self.value(path)
        return value if isinstance(value, bool) else None

    def raw(self, key: str) -> Any:
        """Plain data below a key, or None."""
        return self.data.get(key) if isinstance(self.data, Mapping) else None

    def at(self, key: str) -> Branch:
        """The branch below a key; an empty one where there is none."""
        return Branch(settings=self.settings, pointer=json_pointer.join(self.pointer, key), data=self.raw(key))

    def each(self, key: str) -> Iterator[tuple[str, Branch]]:
        """The named (or numbered) branches below a key, in file order."""
        inner = self.at(key)
        items: Any = (
            inner.data.items()
            if isinstance(inner.data, Mapping)
            else enumerate(inner.data)
            if isinstance(inner.data, list)
            else ()
        )
        for name, data in items:
            yield (
                str(name),
                Branch(settings=self.settings, pointer=json_pointer.join(inner.pointer, str(name)), data=data),
            )

    def __bool__(self) -> bool:
        return self.data is not None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """All settings of one machine; each reading is a thing of its own, compare with `changes`.

    `data` is plain and exact, in the present format; `settings` the flat view of it by pointer.
    `notices` are sentences for a person: an older format, keys of a newer one.
    """

    data: Mapping[str, Any]
    settings: Mapping[str, Setting]
    version: tuple[int, int]
    notices: tuple[str, ...]
    source: str

    @property
    def root(self) -> Branch:
        """The whole profile as a branch."""
        return Branch(settings=self.settings, pointer="", data=self.data)

    @property
    def name(self) -> str:
        """The machine's name, `shop/machine`."""
        machine = self.data["machine"]
        return f"{machine['shop']}/{machine['name']}"

    @property
    def id(self) -> str:
        """The machine's own id; empty before it has one."""
        return str(self.data["machine"].get("id", ""))

    @property
    def machine_class(self) -> str:
        """The class whose machines are its sisters; empty if none is said."""
        return str(self.data["machine"].get("class", ""))

    @property
    def unit(self) -> LengthUnit:
        """The unit that the control displays lengths in."""
        return LengthUnit(str(self.data["units"]["length"]))

    @property
    def resolution(self) -> Length | None:
        """The smallest step of a length that the control shows, if known."""
        return self.root.length("resolution/length")

    @property
    def angle_resolution(self) -> Angle | None:
        """The smallest step of an angle that the control shows, if known."""
        return self.root.angle("resolution/angle")

    def branch(self, pointer: str) -> Branch:
        """The part of the profile at a pointer; an empty one where there is none."""
        here = self.root
        for token in json_pointer.parse(pointer):
            here = here.at(token)
        return here

    def value(self, pointer: str) -> Value:
        """The value at a pointer, or None."""
        setting = self.settings.get(pointer)
        return setting.value if setting else None


def read_profile(data: object, *, source: str = "") -> Profile:
    """The profile in some plain data.

    Raises:  InvalidProfile, naming the first problem and holding all of them.
    """
    found, profile = _read(data, source)
    if found or profile is None:
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        raise InvalidProfile(f"{source or 'the file'}: {found[0]}{more}", found)
    return profile


def profile_problems(data: object, *, source: str = "") -> tuple[Problem, ...]:
    """Every reason why some plain data is not a profile, in file order; empty if it is one.

    Raises:  InvalidProfile, if it says no version of the format or one this program is too old for.
    """
    return _read(data, source)[0]


def _read(data: object, source: str) -> tuple[tuple[Problem, ...], Profile | None]:
    version = version_of(data, source)
    assert isinstance(data, Mapping)  # version_of has looked
    found = problems("profile" if version[0] == CURRENT_VERSION else f"profile-{version[0]}", data)
    ahead, found = _ahead(version, found)
    if found:
        return found, None
    present = data if version[0] == CURRENT_VERSION else migrated(data)
    settings, unread = read_settings(present)
    found = unread + tuple(
        Problem(pointer=r.where, message=f"{r.what}; nothing was stored; {r.mend}") for r in find_secrets(present)
    )
    notices = _notices(version, ahead)
    return found, Profile(data=present, settings=settings, version=version, notices=notices, source=source)


def _ahead(version: tuple[int, int], found: tuple[Problem, ...]) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """Keys that a later minor version may know, apart from real problems."""
    if version[0] != CURRENT_VERSION or version[1] == 0:
        return (), found
    return tuple(p for p in found if p.unknown_key), tuple(p for p in found if not p.unknown_key)


def _notices(version: tuple[int, int], ahead: tuple[Problem, ...]) -> tuple[str, ...]:
    notices = []
    if version[0] < CURRENT_VERSION:
        notices.append(
            f"the file is of format {version[0]}; it is read as format {CURRENT_VERSION} "
            "and stays as it is until it is recorded anew"
        )
    if ahead:
        keys = ", ".join(p.pointer for p in ahead)
        notices.append(
            f"the file is of format {version[0]}.{version[1]}, newer than this program; kept but not understood: {keys}"
        )
    return tuple(notices)
