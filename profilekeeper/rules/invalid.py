"""invalid: hardware changed since a value was set; such a value is re-established, never keyed back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum

from profilekeeper.model.event import Event
from profilekeeper.model.profile import Profile
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.source import Source
from profilekeeper.rules.case import Case, case_of
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.hardware import Dependent, Effect, dependents_of, effects_of, hits
from profilekeeper.rules.say import place

_EVER = date.min

__all__ = ["Invalidation", "Since", "invalid_settings", "judge_invalid"]


class Since(Enum):
    """What is known of a value against an event: set anew since, only read since, set before, or no day known."""

    SET_ANEW = "set anew since"
    SAME_DAY = "set on the same day"
    ONLY_READ = "read since, but not said to be set anew"
    CARRIED_OVER = "taken over since, neither read nor set"
    BEFORE = "set before"
    UNDATED = "no day known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Invalidation:
    """A setting and the event that bears on it; `evidence` is the source, touch-off or event that dates it."""

    pointer: str
    event: Event
    since: Since
    is_certain: bool
    evidence: str

    @property
    def holds(self) -> bool:
        """Whether the setting may be taken as good: it was set anew since."""
        return self.since is Since.SET_ANEW


def judge_invalid(rule: Rule, case: Case) -> Iterator[Finding]:
    """One finding for every setting that hangs on hardware which an event changed.

    Clear where it was set anew since; fails where it dates from before; unknown where no day is known, where it
    was only read since, or where the event (a crash, an update) makes it doubtful but not surely wrong.
    """
    for found in _invalidations(case):
        yield _finding(rule, case, found)


def invalid_settings(profile: Profile) -> dict[str, Invalidation]:
    """Every setting that may not be keyed back as it stands, with the event that made it so."""
    return {i.pointer: i for i in _invalidations(case_of(profile)) if not i.holds}


def _invalidations(case: Case) -> Iterator[Invalidation]:
    """For every dependent setting the event that bears on it most: the latest against which it does not hold."""
    effects = [effect for event in case.events for effect in effects_of(event, case)]
    effects += [
        e for tool in case.tools.values() if tool.replaced for e in effects_of(_replaced(tool.number, case), case)
    ]
    if not effects:
        return
    for dependent in dependents_of(case):
        found = [_against(case, dependent, effect) for effect in effects if hits(effect, dependent)]
        if found:
            yield max(found, key=lambda i: (not i.holds, i.is_certain, i.event.date or _EVER, i.event.place))


def _replaced(number: str, case: Case) -> Event:
    """A tool's own `replaced` day as the event it is."""
    tool = case.tools[number]
    return Event(
        pointer=f"{tool.pointer}/replaced", place=-1, kind="tool replaced", date=tool.replaced, hours=None,
        axis=None, table=None, spindle=None, tool=number, by_how_much=None,
    )  # fmt: skip


def _against(case: Case, dependent: Dependent, effect: Effect) -> Invalidation:
    since, evidence = _since(case, dependent, effect.event)
    return Invalidation(
        pointer=dependent.pointer,
        event=effect.event,
        since=since,
        is_certain=effect.is_certain,
        evidence=evidence,
    )


def _since(case: Case, dependent: Dependent, event: Event) -> tuple[Since, str]:
    cure = _cure(case, dependent, event)
    if cure:
        return Since.SET_ANEW, cure
    source = case.sources.of(dependent.pointer)
    by_touch = _by_touch_off(case, dependent, event)
    if by_touch is not None and not _measured_later(source, event):
        return by_touch
    if source is None or source.date is None or event.date is None:
        return Since.UNDATED, source.pointer if source else ""
    if source.date < event.date:
        return Since.BEFORE, source.pointer
    if source.how in ("carried over", "from the maker's sheet"):
        return Since.CARRIED_OVER, source.pointer
    if source.is_blanket:
        # A whole record read off the screen shows that the control still holds the value, not that anyone set it.
        return Since.ONLY_READ, source.pointer
    if source.date > event.date or (source.after is not None and _is_not_before(case, source.after, event)):
        return Since.SET_ANEW, source.pointer
    if source.hours is not None and event.hours is not None and source.hours != event.hours:
        return (Since.SET_ANEW if source.hours > event.hours else Since.BEFORE), source.pointer
    return Since.SAME_DAY, source.pointer


def _is_not_before(case: Case, event_id: str, event: Event) -> bool:
    """Whether the event of that id is this one, or came later on the same day."""
    ids = [branch.text("id") for _, branch in case.profile.root.each("events")]
    return event_id in ids and ids.index(event_id) >= event.place >= 0


def _cure(case: Case, dependent: Dependent, event: Event) -> str:
    """A later event or check that says the value was set anew: the table re-measured, the pivot checked."""
    steps = dependent.pointer.split("/")
    if steps[1] == "tables" and steps[-1] == "surface":
        for other in case.events:
            later = (other.date, other.place) > (event.date, event.place) if other.date and event.date else False
            if other.kind == "table re-measured" and later and case.table_named(other.table) is case.tables[steps[2]]:
                return other.pointer
    checked = case.head.pivot_checked
    if steps[1] == "head" and checked and event.date and checked > event.date:
        return f"{case.head.pointer}/pivot_check"
    return ""


def _by_touch_off(case: Case, dependent: Dependent, event: Event) -> tuple[Since, str] | None:
    """A tool's own touch-off dates what came from it."""
    if dependent.tool is None:
        return None
    touch = case.tools[dependent.tool].touch_off
    if touch is None or touch.date is None or event.date is None:
        return None
    pointer = f"{touch.pointer}/date"
    if touch.date == event.date:
        return Since.SAME_DAY, pointer
    return (Since.SET_ANEW if touch.date > event.date else Since.BEFORE), pointer


def _measured_later(source: Source | None, event: Event) -> bool:
    """Whether a tool's size was measured after the event by other means than touching it off."""
    if source is None or source.date is None or event.date is None:
        return False
    return source.how == "measured" and source.date > event.date


def _finding(rule: Rule, case: Case, found: Invalidation) -> Finding:
    name, event = place(found.pointer), found.event
    what = _event_words(event)
    verdict = _verdict(found)
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=verdict,
        subject=found.pointer,
        sentence=f"{name}: {what} on {event.date}; the value was {_SINCE[found.since]}.",
        source=rule.source,
        settings=tuple(p for p in (found.pointer, event.pointer, found.evidence) if p),
        value=_value(case, found.pointer),
        mend="" if verdict is Verdict.CLEAR else _mend(found, name),
        missing=(_dated_by(case, found.pointer),) if found.since is Since.UNDATED else (),
    )


def _verdict(found: Invalidation) -> Verdict:
    if found.holds:
        return Verdict.CLEAR
    if found.since is Since.SAME_DAY and found.event.kind == "tool replaced":
        # A new tool is touched off the day it is fitted (common practice, no source); worth a look all the same.
        return Verdict.TIGHT
    if found.is_certain and found.since in (Since.BEFORE, Since.CARRIED_OVER):
        return Verdict.FAILS
    return Verdict.UNKNOWN


def _mend(found: Invalidation, name: str) -> str:
    if found.since is Since.SAME_DAY:
        return f"say which came first: note {name} with a later day or hour meter if it was set after it"
    if found.since is Since.ONLY_READ:
        return f"check {name} at the machine; if it was set anew, note that with `how: measured` and the day"
    if found.is_certain:
        return f"establish {name} anew at the machine; do not key the old value back"
    return f"check {name} at the machine before it is used or keyed back"


def _event_words(event: Event) -> str:
    about = [
        f"{word} {name}"
        for word, name in (
            ("axis", event.axis),
            ("table", event.table),
            ("spindle", event.spindle),
            ("tool", event.tool),
        )
        if name
    ]
    return f"{event.kind} ({', '.join(about)})" if about else event.kind


def _value(case: Case, pointer: str) -> str | None:
    value = case.profile.value(pointer)
    return None if value is None else case.said(value)


def _dated_by(case: Case, pointer: str) -> str:
    source = case.sources.of(pointer)
    return f"{source.pointer}/date" if source else "/sources"


_SINCE = {
    Since.SET_ANEW: "set anew since",
    Since.SAME_DAY: "set on the same day",
    Since.ONLY_READ: "only read since, with the rest of the screen",
    Since.CARRIED_OVER: "taken over since from elsewhere, neither read nor set at the machine",
    Since.BEFORE: "set before that",
    Since.UNDATED: "set on a day that is not recorded",
}
