"""reference: a name that leads nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from profilekeeper.model import pointer as json_pointer
from profilekeeper.model.position import MACHINE
from profilekeeper.model.profile import Branch
from profilekeeper.model.ruleset import Rule
from profilekeeper.model.settings import pointers_like
from profilekeeper.rules.case import Case
from profilekeeper.rules.finding import Finding, Verdict
from profilekeeper.rules.say import listed, place

__all__ = ["judge_reference"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Name:
    """A name that stands somewhere and what it is a name of (a chapter of the profile)."""

    pointer: str
    name: str
    of: str


_WHAT = {
    "tools": "tool", "tables": "table", "spindles": "spindle", "supports": "support", "routines": "routine",
    "setups": "set-up", "work_offsets": "work zero", "axes": "axis", "changer/pockets": "pocket",
}  # fmt: skip


def judge_reference(rule: Rule, case: Case) -> Iterator[Finding]:
    """A finding for every name that leads nowhere, and one that tells how many lead somewhere."""
    root = case.profile.root
    names = list(_names(case, root))
    known = {of: _keys(root, of) for of in {name.of for name in names}}
    bad = [_nowhere(rule, name, known[name.of]) for name in names if name.name not in known[name.of]]
    bad += [*_wrong_pointers(rule, case), *_two_places(rule, root), *_other_tool(rule, root)]
    yield from bad
    if names and not bad:
        yield Finding(
            rule=rule.name,
            kind=rule.kind,
            verdict=Verdict.CLEAR,
            subject="",
            sentence=f"All {len(names)} names of tools, tables, zeros and the like lead somewhere.",
            source=rule.source,
            settings=tuple(name.pointer for name in names),
        )


def _keys(root: Branch, chapter: str) -> frozenset[str]:
    here = root
    for step in chapter.split("/"):
        here = here.at(step)
    return frozenset(str(key) for key in here.data) if isinstance(here.data, dict) else frozenset()


def _names(case: Case, root: Branch) -> Iterator[_Name]:
    yield from _names_at_positions(case)
    yield from _names_at_tools(case)
    for _, spindle in root.each("spindles"):
        yield from _text(spindle, "mounted", "tools")
        yield from _text(spindle, "control_believes", "tools")
    for _, pocket in root.at("changer").each("pockets"):
        yield from _text(pocket, "tool", "tools")
    for _, support in root.each("supports"):
        yield from _text(support, "table", "tables")
    yield from _text(root.at("slab").at("largest"), "support", "supports")
    yield from _text(root, "setup_in_control", "setups")
    yield from _text(root.at("conventions"), "master_tool", "tools")
    yield from _frame_names(root.at("safe_z"))
    for _, instrument in root.each("instruments"):
        yield from _frame_names(instrument)
    yield from _axis_names(root)
    for _, event in root.each("events"):  # tools and spindles of past events may be gone by now
        yield from _text(event, "axis", "axes")
        yield from _text(event, "table", "tables")


def _names_at_positions(case: Case) -> Iterator[_Name]:
    for position in case.positions:
        if position.frame is not None and position.frame != MACHINE:
            yield _Name(pointer=f"{position.pointer}/frame", name=position.frame, of="work_offsets")
        if position.table is not None:
            yield _Name(pointer=f"{position.pointer}/table", name=position.table, of="tables")
        if position.routine is not None:
            yield _Name(pointer=f"{position.pointer}/routine", name=position.routine, of="routines")
        for index, number in enumerate(position.tools):
            yield _Name(pointer=f"{position.pointer}/tools/{index}", name=number, of="tools")


def _names_at_tools(case: Case) -> Iterator[_Name]:
    for tool in case.tools.values():
        if tool.spindle is not None:
            yield _Name(pointer=f"{tool.pointer}/spindle", name=tool.spindle, of="spindles")
        if tool.pocket is not None:
            yield _Name(pointer=f"{tool.pointer}/pocket", name=tool.pocket, of="changer/pockets")
        if tool.touch_off is not None and tool.touch_off.table is not None:
            yield _Name(pointer=f"{tool.touch_off.pointer}/table", name=tool.touch_off.table, of="tables")


def _frame_names(branch: Branch) -> Iterator[_Name]:
    frame = branch.text("frame")
    if frame is not None and frame != MACHINE:
        yield _Name(pointer=f"{branch.pointer}/frame", name=frame, of="work_offsets")


def _axis_names(root: Branch) -> Iterator[_Name]:
    for branch in (root.at("motion"), *(routine for _, routine in root.each("routines"))):
        for _, group in branch.each("order"):
            for index, name in enumerate(group.data if isinstance(group.data, list) else ()):
                yield _Name(pointer=f"{group.pointer}/{index}", name=str(name), of="axes")
        for name, _ in branch.each("directions"):
            yield _Name(pointer=json_pointer.join(branch.pointer, "directions", name), name=name, of="axes")


def _text(branch: Branch, key: str, of: str) -> Iterator[_Name]:
    name = branch.text(key)
    if name is not None:
        yield _Name(pointer=f"{branch.pointer}/{key}", name=name, of=of)


def _nowhere(rule: Rule, name: _Name, known: frozenset[str]) -> Finding:
    what = _WHAT[name.of]
    there = f"recorded: {listed(sorted(known))}" if 0 < len(known) <= 12 else "see the record"
    return _fails(
        rule,
        name.pointer,
        f"{place(name.pointer)} names {what} {name.name}, which is not recorded.",
        f"record {what} {name.name}, or name another ({there})" if known else f"record {what} {name.name}",
        missing=(json_pointer.join("/" + name.of, name.name),),
    )


def _wrong_pointers(rule: Rule, case: Case) -> Iterator[Finding]:
    """Sources, moves and agreements that speak of settings which are not there."""
    profile = case.profile
    for chapter in ("sources", "moved", "agreement"):
        for covers, branch in profile.root.each(chapter):
            there = pointers_like(profile.settings, covers) if "*" in covers else profile.branch(covers)
            if not there and covers:
                sentence = f"{chapter.replace('_', ' ')} speaks of {covers}, where nothing stands."
                mend = f"name what is meant, or take the entry out of {chapter}"
                yield _fails(rule, branch.pointer, sentence, mend, missing=(covers,))


def _two_places(rule: Rule, root: Branch) -> Iterator[Finding]:
    """One tool in two changer pockets: one of them is wrong."""
    first: dict[str, str] = {}
    for number, pocket in root.at("changer").each("pockets"):
        tool = pocket.text("tool")
        if tool is None:
            continue
        if tool in first:
            sentence = f"Tool {tool} stands in pocket {first[tool]} and in pocket {number}."
            yield _fails(rule, f"{pocket.pointer}/tool", sentence, "look into both pockets and correct the record")
        first.setdefault(tool, number)


def _other_tool(rule: Rule, root: Branch) -> Iterator[Finding]:
    """What is really in a spindle against what the control believes, and a tool's pocket against the pocket's."""
    for name, spindle in root.each("spindles"):
        real, believed = spindle.text("mounted"), spindle.text("control_believes")
        if real is not None and believed is not None and real != believed:
            sentence = f"Spindle {name} carries tool {real}; the control believes it is tool {believed}."
            mend = f"call tool {real} at the control, or fit tool {believed}, before anything moves"
            yield _fails(rule, f"{spindle.pointer}/control_believes", sentence, mend)


def _fails(rule: Rule, pointer: str, sentence: str, mend: str, missing: tuple[str, ...] = ()) -> Finding:
    return Finding(
        rule=rule.name,
        kind=rule.kind,
        verdict=Verdict.FAILS,
        subject=pointer,
        sentence=sentence,
        source=rule.source,
        settings=(pointer,),
        mend=mend,
        missing=missing,
    )
