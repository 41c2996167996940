"""A touch-off: what it gives for a tool, how sure that is, the safe Z that follows; recorded only when asked to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from profilekeeper.actions.checking import worsened
from profilekeeper.actions.entered import Entered, entered
from profilekeeper.actions.opened import Opened, profile_path
from profilekeeper.actions.recording import Recorded, Request, record
from profilekeeper.actions.snapshot import Act, with_values
from profilekeeper.changes import Changes, changes_between
from profilekeeper.errors import UnknownName, UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import edit
from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.conventions import NOSE_TO_TIP, Z_AT_TOUCH
from profilekeeper.model.profile import Profile, read_profile
from profilekeeper.model.tool import Tool
from profilekeeper.quantities import Length, round_to, round_up
from profilekeeper.rules import Finding, case_of, closing_of, judge
from profilekeeper.rules.case import Case
from profilekeeper.rules.closing import Closing
from profilekeeper.rules.heights import doubt_of
from profilekeeper.rules.safe_z import Height, standing_at_safe_z, touch_height
from profilekeeper.rules.say import listed, place

__all__ = ["Reading", "Touched", "touch_off"]

_ON_STONE = "stone"
_UPRIGHT, _DOWN = "blade upright", "spindle down"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read and measured at the machine, as keyed; an empty text: not said.

    `thicknesses` are the stone gauged under the tool, once or at several points.
    """

    z: str
    thicknesses: tuple[str, ...] = ()
    shim: str = ""
    support: str = ""
    table: str = ""
    tilt: str = ""
    upright: bool = False
    touched: str = _ON_STONE
    how: str = ""
    plus_minus: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """What a touch-off gives. `word` is length or diameter, `pointer` the setting that holds it.

    `found` and `before` are as the control shows them, `known_to` the uncertainty of what was found. `spread` is
    that of several gauged thicknesses, of which `thickness`, the highest, governs. `touch` is the bare Z at which
    the tool as new meets the highest of stone and clamps, `safe_z` that plus `margin`; None with `lacking` where it
    cannot be told. `is_enough`: whether the recorded safe Z is that high, None where that cannot be told. `refused`
    are findings that the new values bring about or make worse.
    """

    machine: str
    tool: str
    word: str
    pointer: str
    found: Length
    before: Length | None
    known_to: Length
    surface: Length | None
    thickness: Length | None
    spread: Length | None
    touch: Length | None
    margin: Length | None
    safe_z: Length | None
    safe_z_before: Length | None
    is_enough: bool | None
    lacking: tuple[str, ...]
    notes: tuple[str, ...]
    changes: Changes
    refused: tuple[Finding, ...]
    recorded: Recorded | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """A profile with the touch-off in it: its text, what it says, and what was keyed for it."""

    text: str
    profile: Profile
    entries: tuple[Entered, ...]
    closing: Closing


def touch_off(opened: Opened, machine: str, tool: str, reading: Reading, act: Act, *, keep: bool = False) -> Touched:
    """Work a touch-off out, against the table height as it stands today; record it where `keep` says so.

    Raises:  UnknownName, for a machine or tool that is not there; UsageError, for a reading that lacks something;
             InvalidQuantity; what recording raises.
    """
    before = opened.profile(opened.known(machine))
    tried = _tried(before, opened.text_to_edit(machine), tool, reading, act)
    found = _found(tried)
    text = edit(tried.text, dict.fromkeys(_held_in(tried), found.number))
    after = read_profile(strict_yaml.loads(text, source=machine), source=machine)
    told = _told(opened, before, after, tried, found, act)
    if not keep:
        return told
    held = tuple(Entered(pointer=p, value=found.number, notice="") for p in _held_in(tried))
    whole = with_values(text, after, (*tried.entries, *held), (), replace(act, how="measured"))
    return replace(told, recorded=record(opened, _request(opened, machine, whole, tried, held, act)))


def _tried(before: Profile, text: str, tool: str, reading: Reading, act: Act) -> _Tried:
    case = case_of(before)
    if tool not in case.tools:
        raise UnknownName(f"{before.name} has no tool {tool}; it has {listed(case.tools) or 'none'}")
    at = json_pointer.format(("tools", tool, "touch_off"))
    entries = tuple(_entries(before, case, tool, reading, at, act))
    changed = edit(text, {at: _group(entries, at)})
    profile = read_profile(strict_yaml.loads(changed, source=before.source), source=before.source)
    after = case_of(profile, on=act.at.date())
    closing = closing_of(after.tools[tool], after)
    assert closing is not None  # it has just been given a touch-off
    return _Tried(text=changed, profile=profile, entries=entries, closing=closing)


def _entries(profile: Profile, case: Case, tool: str, reading: Reading, at: str, act: Act) -> Iterator[Entered]:
    """Every circumstance of the touch-off as a value of the profile; Z is that of the bare nose."""
    table = case.table_named(reading.table or None)
    if table is None:
        raise UsageError(f"say which table with --table; {profile.name} has {listed(case.tables) or 'none'}")
    yield entered(profile, f"{at}/Z", reading.z)
    yield Entered(pointer=f"{at}/frame", value="machine", notice="")
    yield Entered(pointer=f"{at}/tool_length_active", value=False, notice="")
    yield Entered(pointer=f"{at}/table", value=table.name, notice="")
    if table.surface is not None:
        yield Entered(pointer=f"{at}/surface", value=table.surface.to(profile.unit).number, notice="")
    for key, said in _texts(reading, case, tool, act).items():
        if said:
            yield entered(profile, f"{at}/{key}", said)


def _texts(reading: Reading, case: Case, tool: str, act: Act) -> dict[str, str]:
    return {
        "support": _support(reading, case),
        **_thickness(reading),
        "shim": reading.shim,
        "tilt": reading.tilt,
        "attitude": _attitude(reading, case, tool),
        "touched": reading.touched,
        "how": reading.how,
        "plus_minus": reading.plus_minus,
        "by": act.person.name,
        "date": act.at.date().isoformat(),
    }


def _support(reading: Reading, case: Case) -> str:
    """What lay under the slab; nothing need be said where the stone can only lie on the table itself."""
    if reading.support or reading.touched != _ON_STONE:
        return reading.support
    kinds = {branch.text("kind") for _, branch in case.profile.root.each("supports")}
    if kinds == {"direct"}:
        return "0"
    raise UsageError("say what lay under the slab with --support LENGTH; 0 if it lay on the table itself")


def _thickness(reading: Reading) -> dict[str, str]:
    if reading.touched != _ON_STONE:
        return {}
    if not reading.thicknesses:
        raise UsageError("gauge the stone under the tool and say it with --thickness LENGTH, once or at several points")
    if len(reading.thicknesses) == 1:
        return {"thickness": reading.thicknesses[0]}
    return {f"thicknesses/{index}": text for index, text in enumerate(reading.thicknesses)}


def _attitude(reading: Reading, case: Case, tool: str) -> str:
    return _UPRIGHT if reading.upright or case.tools[tool].kind == "blade" else _DOWN


def _group(entries: tuple[Entered, ...], at: str) -> dict[str, object]:
    """The entries as one group, gauged thicknesses as a list."""
    group: dict[str, object] = {}
    gauged: list[object] = []
    for entry in entries:
        key = entry.pointer.removeprefix(f"{at}/")
        if key.startswith("thicknesses/"):
            gauged.append(entry.value)
            group["thicknesses"] = gauged
        else:
            group[key] = entry.value
    return group


def _found(tried: _Tried) -> Length:
    """The value to store, as the control shows it. Raises: UsageError, naming what is missing."""
    closing, profile = tried.closing, tried.profile
    given = closing.given.value
    if given is None:
        lacks = f"; {listed(place(p) for p in closing.missing)} not recorded" if closing.missing else ""
        why = f" ({' '.join(closing.notes)})" if closing.notes else ""
        raise UsageError(f"what this touch-off gives for {closing.tool.title} cannot be told{lacks}{why}")
    if closing.word == "length":
        given = case_of(profile).conventions.noted_as_shown(given)
    whole = given * closing.times
    finest = profile.resolution
    return (round_to(whole, finest).value if finest is not None else whole).to(profile.unit)


def _held_in(tried: _Tried) -> tuple[str, ...]:
    """The settings that hold what was found: as the control has it, and a blade's diameter as last measured."""
    closing = tried.closing
    now = f"{closing.tool.pointer}/diameter/now"
    is_also = closing.times == 2 and closing.pointer != now and tried.profile.value(now) is not None
    return (closing.pointer, now) if is_also else (closing.pointer,)


def _told(opened: Opened, before: Profile, after: Profile, tried: _Tried, found: Length, act: Act) -> Touched:
    case = case_of(after, on=act.at.date())
    closing, tool = tried.closing, case.tools[tried.closing.tool.number]
    height, margin = touch_height(tool, case), after.root.at("safe_z").length("margin")
    touch = height.touch.value
    lacking = (*height.touch.missing, *(() if margin is not None else ("/safe_z/margin",)))
    rules = opened.ruleset(after)
    findings = [judge(p, rules, previous=before, on=act.at.date()) for p in (before, after)]
    touched = tuple(c.pointer for c in changes_between(before, after))
    return Touched(
        machine=before.name,
        tool=tool.title,
        word="diameter" if closing.times == 2 else closing.word,
        pointer=closing.pointer,
        found=found,
        before=_length(before.value(closing.pointer)),
        known_to=_up(_known_to(tried, case), after),
        surface=closing.touch.surface,
        thickness=closing.touch.governing_thickness,
        spread=_spread(closing),
        touch=None if touch is None else case.conventions.shown(_up(touch, after)),
        margin=margin,
        safe_z=None if touch is None or margin is None else case.conventions.shown(_up(touch + margin, after)),
        safe_z_before=tool.safe_z or after.root.at("safe_z").length("general"),
        is_enough=_is_enough(case, tool, touch, margin),
        lacking=lacking,
        notes=_notes(tried, case, height),
        changes=changes_between(before, after),
        refused=worsened(findings[0], findings[1], touched),
    )


def _is_enough(case: Case, tool: Tool, touch: Length | None, margin: Length | None) -> bool | None:
    """Whether the safe Z recorded for a tool is touch plus margin or higher."""
    stands = standing_at_safe_z(case, tool).value
    if touch is None or margin is None or not isinstance(stands, Length):
        return None
    return case.conventions.up(stands) >= touch + margin


def _up(length: Length, profile: Profile) -> Length:
    """A height or uncertainty in the unit of the screen, rounded up to what it shows: never below the true one."""
    finest = profile.resolution
    if finest is None:
        return length
    return round_up(length, finest).value.to(profile.unit)


def _length(value: object) -> Length | None:
    return value if isinstance(value, Length) else None


def _spread(closing: Closing) -> Length | None:
    gauged = closing.touch.thicknesses
    return max(gauged) - min(gauged) if len(gauged) > 1 else None


def _known_to(tried: _Tried, case: Case) -> Length:
    """How far what was found may be off: as said for the touch-off, else table, pivot and the spread of the stone."""
    closing = tried.closing
    if closing.touch.plus_minus is not None:
        return closing.touch.plus_minus * closing.times
    table = closing.table.pointer if closing.table else "/tables/main"
    measured = [f"{table}/surface"] if case.conventions.kind != Z_AT_TOUCH else []
    measured += [p for p in closing.given.used if p.startswith("/head/")]
    amount = doubt_of(case, measured).amount
    spread = _spread(closing)
    return (amount if spread is None else amount + spread) * closing.times


def _notes(tried: _Tried, case: Case, height: Height) -> tuple[str, ...]:
    closing = tried.closing
    found = [entry.notice for entry in tried.entries if entry.notice]
    table = closing.table.pointer if closing.table else ""
    asked = () if closing.touch.plus_minus is not None else doubt_of(case, (f"{table}/surface",)).asked
    if asked:
        found.append(f"How closely {place(asked[0])} is known is not recorded; 5 mm is reckoned.")
    if closing.too_long_by is not None and closing.too_long_by.base != 0:
        found.append(
            f"The tilt read {closing.touch.tilt} at touch: what was found is about "
            f"{case.said(abs(closing.too_long_by))} too {'big' if closing.too_long_by.base > 0 else 'small'}"
            f"{' in radius' if closing.times == 2 else ''}. Level it and touch off again."
        )
    return (*found, *_bigger_than_new(tried, case), *closing.notes, *height.touch.notes)


def _bigger_than_new(tried: _Tried, case: Case) -> Iterator[str]:
    """Tools only wear: one that comes out longer than as new was not touched as it was thought."""
    tool, given = tried.closing.tool, tried.closing.given.value
    is_blade = tried.closing.word == "radius"
    new = tool.diameter.new if is_blade else tool.length_size.new
    if new is None or given is None or (not is_blade and case.conventions.kind != NOSE_TO_TIP):
        return
    if given * (2 if is_blade else 1) > abs(new) + _known_to(tried, case):
        yield f"That is more than the tool had as new ({abs(new)}): look at Z, stone, support and table again."


def _request(opened: Opened, machine: str, text: str, tried: _Tried, held: tuple[Entered, ...], act: Act) -> Request:
    return Request(
        machine=machine,
        text=text,
        kind=act.kind,
        person=act.person,
        why=act.why or f"{tried.closing.tool.title} touched off",
        at=act.at,
        new_id=act.new_id,
        read=frozenset(e.pointer for e in (*tried.entries, *held)),
        expect=opened.store.blob_id(profile_path(machine)),
        notices=tuple(e.notice for e in tried.entries if e.notice),
    )
