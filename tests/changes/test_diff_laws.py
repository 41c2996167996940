"""Laws of comparing: nothing differs from itself, a change made again gives the later version, units are no change."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings

from profilekeeper.changes import (
    REMOVED,
    Differing,
    apply,
    changes_between,
    differing_settings,
    edits_of,
)
from profilekeeper.changes.sameness import Grade
from profilekeeper.errors import ChangeDoesNotFit
from profilekeeper.formats.changed_data import REMOVED as GONE
from profilekeeper.formats.changed_data import changed as with_edits
from profilekeeper.model.identity import match_over_time
from profilekeeper.model.profile import Profile, profile_problems
from profilekeeper.quantities import Angle, Length, Quantity

from .built import is_same_data
from .generated import Data, machine, quick, records, switched, versions


@quick
@given(records())
def test_what_is_generated_is_a_machine_record(data: Data) -> None:
    assert profile_problems(data) == ()


@quick
@given(records())
def test_a_record_does_not_differ_from_itself(data: Data) -> None:
    changes = changes_between(machine(data), machine(data))

    assert (changes.all, changes.notices) == ((), ())


@settings(quick, max_examples=400)
@given(versions())
def test_the_changes_made_to_the_earlier_version_give_the_later_one(pair: tuple[Data, Data]) -> None:
    before, after = pair

    result = apply(before, changes_between(machine(before), machine(after)))

    assert is_same_data(result, after)


@pytest.mark.soak
@settings(quick, max_examples=5000)
@given(versions())
def test_the_changes_made_give_the_later_one_thousands_of_times(pair: tuple[Data, Data]) -> None:
    before, after = pair

    assert is_same_data(apply(before, changes_between(machine(before), machine(after))), after)


@quick
@given(versions())
def test_the_edits_of_the_text_give_the_later_version(pair: tuple[Data, Data]) -> None:
    before, after = pair
    edits = edits_of(changes_between(machine(before), machine(after)))

    result = with_edits(before, {p: GONE if v is REMOVED else v for p, v in edits.items()})

    assert is_same_data(result, after)


@quick
@given(versions())
def test_any_choice_of_lines_is_made_or_refused_and_never_half_made(pair: tuple[Data, Data]) -> None:
    before, after = pair
    kept, changes = repr(before), changes_between(machine(before), machine(after))

    for start in range(2):
        try:
            apply(before, changes.all[start::2])
        except ChangeDoesNotFit:
            continue
    assert repr(before) == kept


@quick
@given(records())
def test_a_machine_switched_to_another_unit_shows_no_change_of_value(data: Data) -> None:
    after = machine(data)
    switched(data)
    before = machine(data)

    changes = changes_between(before, after)

    assert changes.of_value == ()
    assert sum("instead of" in notice for notice in changes.notices) == (before.unit is not after.unit)


@quick
@given(versions())
def test_the_flat_comparison_finds_the_settings_that_the_lines_tell(pair: tuple[Data, Data]) -> None:
    before, after = _without_references(pair[0]), _without_references(pair[1])
    one, other = machine(before), machine(after)

    flat = differing_settings(one, other)

    lines = changes_between(one, other).all
    for found in flat:
        at = found.pointer_after or found.pointer_before or ""
        assert any(_tells(line, at) for line in lines), at
    for line in lines:
        if line.is_of_value and not _is_shell(line):
            assert any(_tells(line, d.pointer_after or d.pointer_before or "") for d in flat), str(line)


@quick
@given(versions())
def test_deepdiff_finds_the_same_settings_on_keyed_data(pair: tuple[Data, Data]) -> None:
    from deepdiff import DeepDiff

    one, other = machine(_without_references(pair[0])), machine(_without_references(pair[1]))
    matching = match_over_time(one, other)

    keyed_before, keyed_after = _keyed(one, {m.before: m.after for m in matching.matches}), _keyed(other, {})

    found = DeepDiff(keyed_before, keyed_after, view="tree", threshold_to_diff_deeper=0)
    theirs = {level.path(output_format="list")[0] for levels in found.values() for level in levels}
    flat = [d for d in differing_settings(one, other) if not _is_notation(one, other, d)]
    by_key = {_key(d.pointer_before, matching.matches) or d.pointer_after: d.grade for d in flat}
    rounded = {at for at, grade in by_key.items() if grade is Grade.ROUNDED}
    assert theirs - rounded == by_key.keys() - rounded


def _is_notation(one: Profile, other: Profile, found: Differing) -> bool:
    """A unit that came or went with its value: a difference of settings, but not one that this law keeps track of."""
    setting = other.settings.get(found.pointer_after or "") or one.settings[found.pointer_before or ""]
    return setting.kind.quantity == "notation"


def _without_references(data: Data) -> Data:
    """The flat comparison takes tool numbers, and pointers used as keys, for texts; notation it does not see."""
    return {
        key: value
        for key, value in data.items()
        if key not in ("tool_changes", "spindles", "rules", "units", "sources", "moved")
    } | {"units": {"length": "mm"}}


def _keyed(profile: Profile, now: dict[str, str]) -> dict[str, Any]:
    """The settings by the pointer they have now, as texts that are equal where values are; no notation, no shells."""
    told = {p: s for p, s in profile.settings.items() if s.value not in ("{}", "[]") and s.kind.quantity != "notation"}
    return {_now(p, now): _exact(s.value) for p, s in told.items()}


def _key(pointer: str | None, matches: Any) -> str | None:
    return None if pointer is None else _now(pointer, {m.before: m.after for m in matches})


def _now(pointer: str, now: dict[str, str]) -> str:
    for before, after in now.items():
        if pointer == before or pointer.startswith(before + "/"):
            return after + pointer[len(before) :]
    if pointer.split("/")[1] in ("tools", "no_go_zones", "events") and now is not None and pointer.count("/") > 1:
        return pointer if not now else "gone:" + pointer
    return pointer


def _exact(value: object) -> str:
    if isinstance(value, (Length, Angle, Quantity)):
        return f"{value.base.normalize():f} {value.base_unit}"
    return f"{value.normalize():f}" if isinstance(value, Decimal) else repr(value)


def _is_shell(line: Any) -> bool:
    """An empty branch, or a grid of which only the order of columns changed: nothing that a setting could tell."""
    values = {part.value for part in line.parts} or {line.before_text, line.after_text}
    return values <= {"{}", "[]", ""} or "/grids/" in line.pointer or line.kind == "reordered"


def _tells(change: Any, pointer: str) -> bool:
    return any(
        at is not None and (pointer + "/").startswith(at + "/") for at in (change.pointer_after, change.pointer_before)
    )
