"""Which settings differ between two profiles, setting by setting, without a word: for many pairs of a fleet.

The same answer as the leaves of `changes_between`, without trees, titles and notation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from profilekeeper.changes.sameness import Grade, Ruler, leaf_grade
from profilekeeper.changes.tree import Leaf
from profilekeeper.model.identity import Matching, match_over_time
from profilekeeper.model.profile import Profile
from profilekeeper.model.settings import EMPTY_LIST, EMPTY_MAPPING, Setting

__all__ = ["Differing", "differing_settings"]

_SHELLS = (EMPTY_MAPPING, EMPTY_LIST)
_THINGS = ("tools", "no_go_zones", "events")


@dataclass(frozen=True, slots=True)
class Differing:
    """One setting that is not the same in two profiles; a pointer is None on the side that does not have it.

    `grade` is ROUNDED (the same as the control rounds it) or CHANGED.
    """

    pointer_before: str | None
    pointer_after: str | None
    grade: Grade


def differing_settings(before: Profile, after: Profile, *, matching: Matching | None = None) -> tuple[Differing, ...]:
    """Every setting that differs in more than notation, in the order of the later profile, then what is gone."""
    here = _Places(matching or match_over_time(before, after))
    ruler = Ruler.between(before, after)
    old = {at: setting for at, setting in before.settings.items() if setting.value not in _SHELLS}
    found: list[Differing] = []
    for pointer, setting in after.settings.items():
        if setting.value in _SHELLS:
            continue
        stood = here.before(pointer)
        one = old.pop(stood, None) if stood is not None else None
        if one is None:
            found.append(Differing(None, pointer, Grade.CHANGED))
        elif (grade := _grade(one, setting, ruler)) > Grade.NOTATION:
            found.append(Differing(stood, pointer, grade))
    return (*found, *(Differing(pointer, None, Grade.CHANGED) for pointer in old))


class _Places:
    """Where settings of the later profile stood in the earlier one."""

    def __init__(self, matching: Matching) -> None:
        things = [m for m in matching.matches if m.by not in ("moved", "alias")]
        self.by_thing: Mapping[str, str] = {m.after: m.before for m in things}
        self.moved: Mapping[str, str] = {m.after: m.before for m in matching.matches if m not in things}

    def before(self, pointer: str) -> str | None:
        steps = pointer.split("/", 3)
        if len(steps) > 2 and steps[1] in _THINGS:
            stood = self.by_thing.get("/".join(steps[:3]))
            return None if stood is None else "/".join([stood, *steps[3:]])
        if self.moved:
            for new, old in self.moved.items():
                if pointer == new or pointer.startswith(new + "/"):
                    return old + pointer[len(new) :]
        return pointer


def _grade(one: Setting, other: Setting, ruler: Ruler) -> Grade:
    if one.value == other.value and type(one.value) is type(other.value):
        return Grade.SAME
    return leaf_grade(_leaf(one), _leaf(other), ruler)


def _leaf(setting: Setting) -> Leaf:
    raw: Any = setting.value
    return Leaf(setting.pointer, raw, setting.value, setting.kind)
