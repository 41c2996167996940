"""What a merge decided, setting by setting, and the text in which a disputed value is kept."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Any

from profilekeeper.changes.tree import Group, Leaf, Node
from profilekeeper.changes.values import json_text, value_text
from profilekeeper.model.disputes import Candidate, Disputes
from profilekeeper.model.kinds import SettingKind
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Angle, Length

__all__ = ["Choice", "Decision", "Merged", "Reading", "Side", "candidate_data", "candidate_text"]


class Choice(StrEnum):
    """Which side a merged setting came from. `both`: each side made the same change; `agreed`: disputed, so the
    value both once knew stands, or none."""

    OURS = "ours"
    THEIRS = "theirs"
    BOTH = "both"
    AGREED = "last agreed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Who recorded a value, when, and in which snapshot (its full id)."""

    snapshot: str
    by: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a merge: its snapshot, and optionally who recorded each setting (by pointer with ids)."""

    reading: Reading
    of: Callable[[str], Reading] | None = None

    def wrote(self, pointer: str) -> Reading:
        """Who recorded the setting at a pointer on this side."""
        return self.of(pointer) if self.of else self.reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One setting or thing that the two sides did not have alike, and what was done."""

    pointer: str
    choice: Choice
    value: str

    def mirrored(self) -> Decision:
        """The same decision seen from the other side."""
        swapped = {Choice.OURS: Choice.THEIRS, Choice.THEIRS: Choice.OURS}
        return Decision(pointer=self.pointer, choice=swapped.get(self.choice, self.choice), value=self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """Two versions made one: plain data and the profile in them, what was decided, and what is disputed."""

    data: Mapping[str, Any]
    profile: Profile
    decisions: tuple[Decision, ...]
    disputes: Disputes


def candidate_text(node: Node | None) -> str | None:
    """A value as a record of disputes keeps it: a single one with its unit, a thing as JSON; None for nothing."""
    if node is None:
        return None
    if isinstance(node, Leaf):
        return "null" if node.value is None else value_text(node.value)
    return json_text(spelled(node))


def spelled(node: Node) -> Any:
    """Plain data of a branch in which every length carries its unit, so that it means the same anywhere."""
    if isinstance(node, Leaf):
        is_bare = isinstance(node.value, (Length, Angle)) and node.kind.quantity in ("length", "angle", "by axis")
        return str(node.value) if is_bare and not isinstance(node.raw, str) else node.raw
    if isinstance(node, Group) and not node.is_listed:
        keys = node.raw if len(node.raw) == len(node.items) else node.items
        return {key: spelled(inner) for key, inner in zip(keys, node.items.values(), strict=True)}
    inner_nodes = node.items.values() if isinstance(node, Group) else node.items
    return [spelled(inner) for inner in inner_nodes]


def candidate_data(candidate: Candidate, kind: SettingKind) -> Any:
    """Plain data of a disputed value, to be put into a profile; None for one that was taken out.

    `kind` is that of the setting: it says whether `350` is a text or a number, and that a branch is JSON.
    """
    text = candidate.value
    if text is None:
        return None
    if kind.quantity in ("length", "angle", "by axis", "text", "choice", "date", "identity"):
        return {"true": True, "false": False}.get(text, text) if kind.quantity == "choice" else text
    is_number = text[:1].isdigit() or text[:1] == "-"
    try:
        return json.loads(text.partition(" ")[0] if is_number else text, parse_float=Decimal)
    except ValueError:
        return text
