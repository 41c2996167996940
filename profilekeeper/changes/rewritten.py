"""What differs inside a list or free branch that was rewritten: which corner is new, which section is gone.

The comparison itself needs no library; aligning two lists of which one has a corner more does, and DeepDiff
does it well. This is its one place, and it is imported only when somebody asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from profilekeeper.changes.change import Change
from profilekeeper.changes.titles import title
from profilekeeper.changes.values import json_text, value_text
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Angle, Length, Quantity

__all__ = ["Inside", "inside"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """One difference inside a rewritten list or branch; a text is empty where there is nothing."""

    pointer: str
    title: str
    before: str
    after: str


def inside(change: Change, before: Profile, after: Profile) -> tuple[Inside, ...]:
    """The differences inside a change that tells of a list or free branch as a whole; empty for any other.

    Items are aligned, so that a corner put in between is one difference and not a row of them.
    """
    if change.pointer_before is None or change.pointer_after is None:
        return ()
    one, other = _Side(before, change.pointer_before), _Side(after, change.pointer_after)
    if not isinstance(one.raw, (list, dict)) or not isinstance(other.raw, (list, dict)):
        return ()
    return tuple(sorted(_differences(one, other), key=lambda found: _natural(found.pointer)))


class _Side:
    """One version of what was rewritten: as texts that are equal where values are, and as texts to read."""

    def __init__(self, profile: Profile, at: str) -> None:
        self.profile = profile
        self.at = at
        self.raw = json_pointer.resolve(dict(profile.data), at)

    def comparable(self) -> Any:
        return self._comparable(self.raw, self.at)

    def _comparable(self, raw: Any, at: str) -> Any:
        """Mappings by key; the items of a list and single values as one text each, made of exact values."""
        if isinstance(raw, dict):
            return {key: self._comparable(value, json_pointer.join(at, key)) for key, value in raw.items()}
        if isinstance(raw, list):
            return [json_text(self._exact(item, f"{at}/{index}")) for index, item in enumerate(raw)]
        return json_text(self._exact(raw, at))

    def _exact(self, raw: Any, at: str) -> Any:
        if isinstance(raw, dict):
            return {key: self._exact(value, json_pointer.join(at, key)) for key, value in raw.items()}
        if isinstance(raw, list):
            return [self._exact(value, f"{at}/{index}") for index, value in enumerate(raw)]
        setting = self.profile.settings.get(at)
        value = setting.value if setting else raw
        if isinstance(value, (Length, Angle, Quantity)):
            return [value.base.normalize(), value.base_unit]
        return value.normalize() if isinstance(value, Decimal) else value

    def text(self, pointer: str) -> str:
        """What stands at a pointer, to be read."""
        raw = json_pointer.resolve(dict(self.profile.data), pointer)
        if isinstance(raw, dict):
            return ", ".join(f"{key} {self.text(json_pointer.join(pointer, key))}" for key in raw)
        if isinstance(raw, list):
            return ", ".join(self.text(f"{pointer}/{index}") for index in range(len(raw)))
        setting = self.profile.settings.get(pointer)
        return value_text(setting.value) if setting else str(raw)


def _differences(one: _Side, other: _Side) -> Iterator[Inside]:
    from deepdiff import DeepDiff

    found = DeepDiff(one.comparable(), other.comparable(), view="tree", threshold_to_diff_deeper=0)
    for levels in found.values():
        for level in levels:
            before = _pointer(one, level, level.t1, use_t2=False)
            after = _pointer(other, level, level.t2, use_t2=True)
            at, profile = (before, one.profile) if after is None else (after, other.profile)
            yield Inside(
                pointer=str(at),
                title=title(profile, str(at)),
                before="" if before is None else one.text(before),
                after="" if after is None else other.text(after),
            )


def _pointer(side: _Side, level: Any, value: Any, *, use_t2: bool) -> str | None:
    """Where a difference stands on one side; None where nothing is there."""
    if type(value).__name__ == "NotPresent":
        return None
    return json_pointer.join(side.at, *level.path(output_format="list", use_t2=use_t2))


def _natural(pointer: str) -> list[tuple[int, str]]:
    return [(int(token), "") if token.isdigit() else (0, token) for token in pointer.split("/")]
