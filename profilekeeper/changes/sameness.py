"""How two versions of one setting compare: the same, written otherwise, the same as the control rounds it, changed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum
from typing import Any

from profilekeeper.changes.tree import Group, Leaf, Node, Row
from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Angle, Length, Quantity, Sameness, sameness

__all__ = ["Grade", "Ruler", "grade_of", "leaf_grade"]


class Grade(IntEnum):
    """How far apart two values are, in rising order."""

    SAME = 0
    NOTATION = 1
    ROUNDED = 2
    CHANGED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """What a comparison of two versions needs to know of each: how finely its control shows lengths and angles."""

    lengths: tuple[Length | None, Length | None]
    angles: tuple[Angle | None, Angle | None]
    is_other_unit: bool

    @classmethod
    def between(cls, one: Profile, other: Profile) -> Ruler:
        """The ruler for two profiles; a resolution that is not above zero counts as not known."""
        return cls(
            lengths=(_sound(one.resolution), _sound(other.resolution)),
            angles=(_sound(one.angle_resolution), _sound(other.angle_resolution)),
            is_other_unit=one.unit is not other.unit,
        )


def leaf_grade(one: Leaf, other: Leaf, ruler: Ruler) -> Grade:
    """How two versions of one setting compare."""
    if one.refers != other.refers:
        return Grade.CHANGED  # another tool, or none at all, though the number may be the same
    if one.refers is not None:
        return Grade.SAME if one.raw == other.raw else Grade.NOTATION
    a, b = one.value, other.value
    if isinstance(a, (Length, Angle, Quantity)) and isinstance(b, (Length, Angle, Quantity)):
        return _measures(one, other, ruler)
    if type(a) is not type(b):
        return Grade.CHANGED
    if a == b:
        return Grade.SAME if _written(one.raw) == _written(other.raw) else Grade.NOTATION
    return Grade.NOTATION if one.kind.quantity == "notation" else Grade.CHANGED


def grade_of(one: Node | None, other: Node | None, ruler: Ruler) -> Grade:
    """The coarsest difference anywhere between two branches; CHANGED where something is there on one side only."""
    if isinstance(one, Leaf) and isinstance(other, Leaf):
        return leaf_grade(one, other, ruler)
    if isinstance(one, Row) and isinstance(other, Row):
        if len(one.items) != len(other.items):
            return Grade.CHANGED
        return max((grade_of(a, b, ruler) for a, b in zip(one.items, other.items, strict=True)), default=Grade.SAME)
    if isinstance(one, Group) and isinstance(other, Group):
        return _groups(one, other, ruler)
    return Grade.SAME if one is None and other is None else Grade.CHANGED


def _groups(one: Group, other: Group, ruler: Ruler) -> Grade:
    if one.items.keys() != other.items.keys():
        return Grade.CHANGED
    if one.at.endswith("/columns") and list(one.items) != list(other.items):
        return Grade.CHANGED  # the order of columns says which cell is which
    return max((grade_of(node, other.items[key], ruler) for key, node in one.items.items()), default=Grade.SAME)


def _measures(one: Leaf, other: Leaf, ruler: Ruler) -> Grade:
    a, b = one.value, other.value
    assert isinstance(a, (Length, Angle, Quantity))
    assert isinstance(b, (Length, Angle, Quantity))
    if a == b:
        return Grade.SAME if _written(one.raw) == _written(other.raw) else Grade.NOTATION
    if ruler.is_other_unit and one.at.startswith("/resolution/"):
        return Grade.NOTATION  # how finely a control shows belongs to the unit that it shows
    if not a.is_like(b):
        return Grade.CHANGED
    steps = _steps(one, other, ruler)
    same = sameness(a, b, *steps) is Sameness.SAME_AS_ROUNDED
    return Grade.ROUNDED if same else Grade.CHANGED


def _steps(one: Leaf, other: Leaf, ruler: Ruler) -> tuple[Any, Any]:
    """The smallest steps that the two were shown with.

    A page shows its values with decimals of its own: there only a change of unit can have rounded.
    """
    a, b = one.value, other.value
    if one.kind.quantity == "page value" or other.kind.quantity == "page value":
        return (_finer_place(a, b), None) if getattr(a, "unit", "") != getattr(b, "unit", "") else (None, None)
    if isinstance(a, Length) and isinstance(b, Length):
        return ruler.lengths
    return ruler.angles if isinstance(a, Angle) and isinstance(b, Angle) else (None, None)


def _finer_place(a: object, b: object) -> object:
    """The finer of the last decimal places that two values were written with: the coarser would hide changes."""
    assert isinstance(a, (Length, Angle, Quantity))
    assert isinstance(b, (Length, Angle, Quantity))
    places = [v.remade(Decimal((0, (1,), min(0, int(v.number.as_tuple().exponent)))), str(v.unit)) for v in (a, b)]
    return min(places, key=lambda place: place.base)


def _sound(step: Any) -> Any:
    return step if step is not None and step.base > 0 else None


def _written(raw: Any) -> tuple[bool, str]:
    """How a value is written, so that 25.40 is not 25.4, and a text is no number."""
    return isinstance(raw, str), f"{raw:f}" if isinstance(raw, Decimal) else str(raw)
