"""Walking a control once, in its own order: which fields come next, with the last value of each, and which jump."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from profilekeeper.actions.entered import Entered
from profilekeeper.actions.opened import Opened
from profilekeeper.changes import title
from profilekeeper.formats import strict_yaml
from profilekeeper.model.profile import Profile
from profilekeeper.model.reading_order import ReadingOrder, fields_of, read_reading_order, walked_order
from profilekeeper.model.settings import Value
from profilekeeper.quantities import Angle, Length, Quantity

__all__ = ["Step", "jump", "lacking_order", "reading_steps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One field to read: the page and label as the control shows them, what it fills, and its last value."""

    page: tuple[str, ...]
    label: str
    pointer: str
    title: str
    last: Value
    last_shown: str
    note: str


def reading_steps(opened: Opened, machine: str) -> Iterator[Step]:
    """The fields of a machine's control in the order in which its screens show them.

    Without a reading order of its control, the machine's own record is walked from top to bottom.
    """
    profile = opened.profile(opened.known(machine))
    for field in fields_of(_order(opened, profile), profile):
        setting = profile.settings.get(field.pointer)
        last = setting.value if setting else None
        yield Step(
            page=field.page,
            label=field.label,
            pointer=field.pointer,
            title=title(profile, field.pointer),
            last=last,
            last_shown=shown(last),
            note=field.note,
        )


def lacking_order(opened: Opened, machine: str) -> str:
    """A sentence where a machine's control has a reading order that is not in the store; else empty."""
    name = opened.profile(machine).root.text("machine/reading_order")
    if not name or opened.bytes_of(f"reading_orders/{name}.yaml") is not None:
        return ""
    return f"the reading order {name} is not in the store (`profilekeeper share FILE`); the record itself is walked"


def shown(value: Value) -> str:
    """A value as a person keys it, without its unit where that is the control's own."""
    if value is None:
        return ""
    if isinstance(value, (Length, Angle, Quantity)):
        return f"{value.number:f}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def jump(last: Value, now: Entered, profile: Profile) -> str:
    """Why a keyed value surprises beside the last one; empty where it does not.

    Asked about once: a sign turned round, a decimal point moved, inches for millimetres, or a length or
    angle that moved by more than a tenth of itself and more than five of the smallest steps.
    """
    if not isinstance(last, (Length, Angle, Quantity)) or isinstance(now.value, (str, bool)):
        return ""
    old, new = last.number, now.value
    if old == new or not old:
        return ""
    if new == -old:
        return "the sign is turned round"
    ratio = abs(new / old)
    for factor, word in _SLIPS:
        if abs(ratio - factor) < factor / 1000:
            return word
    if _is_transposed(f"{abs(old):f}", f"{abs(Decimal(new)):f}"):
        return f"two digits of {old:f} changed places?"
    steps = profile.resolution.number * 5 if profile.resolution else 0
    return f"it was {last}" if abs(new - old) > max(abs(old) / 10, steps) else ""


def _is_transposed(old: str, new: str) -> bool:
    """Whether two neighbouring digits changed places: 330.4 and 334.0."""
    one, other = old.replace(".", ""), new.replace(".", "")
    width = max(len(one), len(other))
    one, other = one.ljust(width, "0"), other.ljust(width, "0")
    differ = [i for i in range(width) if one[i] != other[i]]
    return (
        len(differ) == 2
        and differ[1] == differ[0] + 1
        and one[differ[0]] == other[differ[1]]
        and (one[differ[1]] == other[differ[0]])
    )


_SLIPS = (
    (Decimal(10), "ten times as much"),
    (Decimal("0.1"), "a tenth of it"),
    (Decimal(100), "a hundred times as much"),
    (Decimal("0.01"), "a hundredth of it"),
    (Decimal("25.4"), "25.4 times as much: inches for millimetres?"),
    (1 / Decimal("25.4"), "a 25.4th of it: millimetres for inches?"),
)


def _order(opened: Opened, profile: Profile) -> ReadingOrder:
    name = profile.root.text("machine/reading_order")
    if not name:
        return walked_order(profile)
    path = f"reading_orders/{name}.yaml"
    data = opened.bytes_of(path)
    if data is None:
        return walked_order(profile)
    return read_reading_order(strict_yaml.loads(data, source=path), source=path)
