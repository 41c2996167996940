"""Valid machine records of every shape, and versions of them such as people make: the stuff that laws are tried on.

A record comes from a seed and a size, so that thousands are cheap; a smaller size is a simpler counterexample.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from profilekeeper.model.profile import Profile, read_profile

Data = dict[str, Any]
_PLACES = {"mm": Decimal("0.001"), "in": Decimal("0.0001")}


class Maker:
    """Makes records and edits them, the same ones for the same seed."""

    def __init__(self, seed: int, size: int = 3) -> None:
        self.random = random.Random(seed)
        self.size = size
        self.unit = "mm"

    def chance(self, share: float = 0.5) -> bool:
        return self.random.random() < share

    def count(self, least: int = 0) -> int:
        return self.random.randint(least, max(least, self.size))

    def length(self) -> Any:
        number = (Decimal(self.random.randint(-400_000, 400_000)) * _PLACES[self.unit]).normalize()
        number = Decimal(f"{number:f}")
        style = self.random.random()
        if style < 0.1:
            return f"{number:f} {self.random.choice(('mm', 'in', 'cm'))}"
        if style < 0.3:
            return int(number)
        return number.quantize(_PLACES[self.unit]) if style < 0.6 else number

    def angle(self) -> Any:
        number = Decimal(self.random.randint(-18_000, 18_000)) / 100
        return f"{number:f} deg" if self.chance(0.1) else number

    def word(self) -> str:
        return self.random.choice(("oak", "fern", "moss", "reed", "ash", "sedge", "a/b", "m~n", "Länge", "7"))

    def date(self) -> str:
        return f"2026-{self.random.randint(1, 12):02d}-{self.random.randint(1, 28):02d}"

    def new_id(self) -> str:
        return "".join(self.random.choice("bcdfgh2345") for _ in range(8))

    def some(self, **makers: Callable[[], Any]) -> Data:
        return {key: make() for key, make in makers.items() if self.chance(0.6)}

    def record(self, unit: str | None = None) -> Data:
        """A whole valid record."""
        self.unit = unit or self.random.choice(("mm", "in"))
        data: Data = {
            "profile": 2,
            "machine": {"name": "saw-1", "shop": "quayside", "id": "q8d3m5wz", **self.some(model=self.word)},
            "units": {"length": self.unit},
        }
        if self.chance(0.7):
            data["resolution"] = {"length": _PLACES[self.unit], "angle": Decimal("0.01")}
        parts: dict[str, Callable[[], Any]] = {
            "axes": self.axes, "head": self.head, "tables": self.tables, "no_go_zones": self.zones,
            "work_offsets": self.positions, "tool_changes": self.tool_changes, "tools": self.tools,
            "events": self.events, "control_pages": self.pages, "control_backups": self.backups,
            "sources": lambda: self.sources(data), "notes": lambda: {"water": self.word()},
            "spindles": lambda: {"main": {"mounted": self.number(data), "max_speed": 6000}},
            "x-own": self.free, "rules": self.rules, "jet": lambda: {}, "routines": self.routines,
        }  # fmt: skip
        for key, make in parts.items():
            if self.chance(0.7):
                data[key] = make()
        return data

    def number(self, data: Data) -> str:
        return self.random.choice([*data.get("tools", {}), "4"])

    def axes(self) -> Data:
        linear = {"kind": "linear", "travel": [self.length(), self.length()], **self.some(backlash=self.length)}
        tilt = {"kind": "tilt", "travel": [self.angle(), self.angle()]}
        return {"X": linear, "Z": self.some(soft_limits=lambda: [self.length(), self.length()]), "A": tilt}

    def head(self) -> Data:
        return self.some(
            pivot_to_gauge_line=self.length, body=self.sections, note=self.word, spindle_level_at=self.angle
        )

    def tables(self) -> Data:
        return {"main": self.some(surface=self.length, outline=self.outline, taken_with=lambda: "nose")}

    def outline(self) -> list[Any]:
        return [[self.length(), self.length()] for _ in range(3 + self.count())]

    def sections(self) -> list[Data]:
        return [{"from": self.length(), "to": self.length(), "radius": self.length()} for _ in range(self.count())]

    def zones(self) -> Data:
        names = self.random.sample(("fence", "bin", "post", "guard"), min(self.count(), 4))
        return {name: self.zone() for name in names}

    def zone(self) -> Data:
        named = {"id": self.new_id()} if self.chance() else {}
        return {**named, "frame": "floor", **self.some(outline=self.outline, to=self.length)}

    def position(self) -> Data:
        return {
            "frame": self.random.choice(("machine", "G54")), "tool_length_active": self.chance(),
            **self.some(X=self.length, Z=self.length, A=self.angle, note=self.word),
        }  # fmt: skip

    def positions(self) -> Data:
        return {name: self.position() for name in ("G54", "G55")[: self.count()]}

    def tool_changes(self) -> Data:
        named = {"tools": [str(self.random.randint(1, 9)) for _ in range(self.count())]}
        return {"default": self.position(), "big": {**self.position(), **named}}

    def tools(self) -> Data:
        numbers = self.random.sample(range(1, 12), min(self.count(), 11))
        return {str(number): self.tool() for number in numbers}

    def tool(self) -> Data:
        named = {"id": self.new_id()} if self.chance(0.7) else {}
        return {**named, **self.some(
            name=self.word, length=self.length, sections=self.sections, speed=lambda: 1200, note=self.word,
            diameter=lambda: self.some(new=self.length, now=self.length),
            touch_off=lambda: {"Z": self.length(), "thickness": self.length(), "date": self.date()},
            joints=lambda: [self.some(thread=lambda: "M30") for _ in range(self.count())],
        )}  # fmt: skip

    def events(self) -> list[Data]:
        return [self.event() for _ in range(self.count())]

    def event(self) -> Data:
        named = {"id": self.new_id()} if self.chance() else {}
        kind = self.random.choice(("table milled", "crash", "reference moved"))
        return {**named, "kind": kind, "date": self.date(), **self.some(by_how_much=self.length, note=self.word)}

    def backups(self) -> list[Data]:
        return [{"date": self.date(), **self.some(where=self.word)} for _ in range(self.count())]

    def pages(self) -> Data:
        page: Data = {"path": ["Service", self.word()], "settings": self.page_values()}
        if self.chance():
            page["grids"] = {"G": self.grid()}
        return {"axes X": page, "spare": {}}

    def page_values(self) -> Data:
        return {self.word(): self.page_value() for _ in range(self.count())}

    def page_value(self) -> Data:
        if self.chance(0.2):
            return {"state": "blank"}
        if self.chance(0.2):
            return {"value": "00110101", "type": "bits"}
        bounds = self.some(at_least=lambda: -400, note=self.word)
        return {"value": self.plain(), "unit": self.random.choice(("mm", "in", "bar", "deg")), **bounds}

    def plain(self) -> Any:
        return Decimal(self.random.randint(-9999, 9999)) / 100

    def grid(self) -> Data:
        columns = self.random.sample(("L", "D", "n"), self.random.randint(1, 3))
        cells = lambda: [self.plain() if self.chance(0.8) else None for _ in columns]  # noqa: E731
        return {
            "columns": {c: ({"unit": "mm"} if self.chance() else {}) for c in columns},
            "rows": {str(row): cells() for row in range(1, 1 + self.count(1))},
        }

    def sources(self, data: Data) -> Data:
        found: Data = {"": {"how": "read", "date": self.date()}}
        for number in data.get("tools", {}):
            if self.chance():
                found[f"/tools/{number}/length"] = {"how": "measured", "plus_minus": self.length()}
        return found

    def rules(self) -> Data:
        rule = {"kind": "limit", "setting": "/tables/main/surface", "at_least": Decimal(self.random.randint(-500, 0))}
        return {"table life": rule}

    def routines(self) -> Data:
        return {"homing": {"order": [["Z"], ["A", "X"]], "ends": self.position()}}

    def free(self) -> Any:
        return self.random.choice((self.word(), [1, [2, {"k": self.word()}]], {"a": {"b": self.plain()}, "c": []}, {}))

    def edited(self, data: Data, count: int | None = None) -> Data:
        """Another version of a record: some edits such as people make; always valid again."""
        result: Data = copy.deepcopy(data)
        self.unit = result["units"]["length"]
        kinds = (
            self.change_leaf, self.change_leaf, self.change_leaf, self.rewrite, self.remove_part, self.add_part,
            self.add_tool, self.remove_tool, self.renumber, self.swap, self.rename_zone, self.insert_event,
            self.drop_event, self.shuffle_events, self.switch_unit, self.blank_page, self.relabel, self.regrid,
            self.move_from_page, self.empty_part,
        )  # fmt: skip
        for _ in range(self.random.randint(0, 2 * self.size) if count is None else count):
            self.random.choice(kinds)(result)
        return result

    def change_leaf(self, data: Data) -> None:
        group = self.random.choice([data.get("tools"), data.get("axes"), data.get("work_offsets"), data.get("head")])
        places = [(holder, key) for holder, key, value in _numbers(group) if not isinstance(value, bool)]
        if places:
            holder, key = self.random.choice(places)
            is_angle = key in ("A", "spindle_level_at", 0, 1)
            holder[key] = Decimal(self.random.randint(0, 90)) if is_angle else self.length()

    def rewrite(self, data: Data) -> None:
        """The same value with other zeros, or with its unit."""
        places = [(h, k) for h, k, v in _numbers(data.get("tools")) if isinstance(v, Decimal)]
        if places:
            holder, key = self.random.choice(places)
            holder[key] = holder[key] + Decimal("0.00000") if self.chance() else f"{holder[key]:f} {self.unit}"

    def remove_part(self, data: Data) -> None:
        keys = [key for key in data if key not in ("profile", "machine", "units")]
        if keys:
            del data[self.random.choice(keys)]

    def empty_part(self, data: Data) -> None:
        for key in ("tools", "jet", "notes", "routines", "head", "no_go_zones"):
            if key in data and self.chance(0.3):
                data[key] = {}

    def add_part(self, data: Data) -> None:
        fresh = self.record(self.unit)
        for key in self.random.sample(sorted(fresh), min(3, len(fresh))):
            data.setdefault(key, fresh[key])

    def add_tool(self, data: Data) -> None:
        data.setdefault("tools", {}).setdefault(str(self.random.randint(1, 14)), self.tool())

    def remove_tool(self, data: Data) -> None:
        if data.get("tools"):
            del data["tools"][self.random.choice(list(data["tools"]))]

    def renumber(self, data: Data) -> None:
        tools = data.get("tools")
        if tools:
            old, new = self.random.choice(list(tools)), str(self.random.randint(15, 20))
            if new not in tools:
                tools[new] = tools.pop(old)
                follow = data.get("sources", {})
                if f"/tools/{old}/length" in follow:
                    follow[f"/tools/{new}/length"] = follow.pop(f"/tools/{old}/length")

    def swap(self, data: Data) -> None:
        tools = data.get("tools", {})
        if len(tools) > 1:
            one, other = self.random.sample(list(tools), 2)
            tools[one], tools[other] = tools[other], tools[one]

    def rename_zone(self, data: Data) -> None:
        zones = data.get("no_go_zones")
        if zones and "wall" not in zones:
            zones["wall"] = zones.pop(self.random.choice(list(zones)))

    def insert_event(self, data: Data) -> None:
        events = data.setdefault("events", [])
        events.insert(self.random.randint(0, len(events)), self.event())

    def drop_event(self, data: Data) -> None:
        if data.get("events"):
            data["events"].pop(self.random.randrange(len(data["events"])))

    def shuffle_events(self, data: Data) -> None:
        self.random.shuffle(data.get("events", []))

    def switch_unit(self, data: Data) -> None:
        switched(data)
        self.unit = data["units"]["length"]

    def blank_page(self, data: Data) -> None:
        values = data.get("control_pages", {}).get("axes X", {}).get("settings")
        if values:
            key = self.random.choice(list(values))
            values[key] = {"state": "not fitted"} if "value" in values[key] else self.page_value()

    def relabel(self, data: Data) -> None:
        values = data.get("control_pages", {}).get("axes X", {}).get("settings")
        if values and "new label" not in values:
            old = self.random.choice(list(values))
            values["new label"] = {**values.pop(old), "aliases": [old]}

    def regrid(self, data: Data) -> None:
        grids = data.get("control_pages", {}).get("axes X", {}).get("grids")
        if grids:
            grid = grids["G"]
            if self.chance():
                grids["G"] = self.grid()
            elif len(grid["columns"]) > 1:
                grid["columns"] = dict(reversed(grid["columns"].items()))
                grid["rows"] = {key: list(reversed(row)) for key, row in grid["rows"].items()}

    def move_from_page(self, data: Data) -> None:
        values = data.get("control_pages", {}).get("axes X", {}).get("settings", {})
        lengths = [key for key, value in values.items() if value.get("unit") in ("mm", "in")]
        if lengths and "Y" not in data.get("axes", {}):
            value = values.pop(lengths[0])
            data.setdefault("axes", {})["Y"] = {"backlash": f"{value['value']:f} {value['unit']}"}
            old = "/control_pages/axes X/settings/" + lengths[0].replace("~", "~0").replace("/", "~1") + "/value"
            data["moved"] = {"/axes/Y/backlash": old}


def _numbers(data: Any) -> list[tuple[Any, Any, Any]]:
    """Every bare number and length text below some data, with what holds it."""
    found = []
    pairs = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in list(pairs):
        if isinstance(value, (dict, list)):
            found += _numbers(value)
        elif isinstance(value, (int, Decimal)) and key not in ("speed", "marked_speed"):
            found.append((data, key, value))
    return found


def switched(data: Data) -> None:
    """The record as its control shows it after a switch between millimetres and inches: exact, nothing rounded."""
    profile = read_profile(copy.deepcopy(data))
    new = "in" if data["units"]["length"] == "mm" else "mm"
    if any(_switched(profile, p, new) is None for p in _bare_lengths(profile)):
        return
    for pointer in _bare_lengths(profile):
        _place(data, pointer, _switched(profile, pointer, new))
    for rule in data.get("rules", {}).values():
        bound = rule["at_least"]
        if isinstance(bound, Decimal):
            rule["at_least"] = f"{bound:f} mm" if new == "in" else bound * Decimal("25.4")
    data["units"]["length"] = new


def _bare_lengths(profile: Profile) -> list[str]:
    from profilekeeper.quantities import Length

    return [
        p for p, s in profile.settings.items()
        if isinstance(s.value, Length) and s.kind.quantity in ("length", "by axis") and s.value.notation is None
    ]  # fmt: skip


def _switched(profile: Profile, pointer: str, new: str) -> Any:
    """The bare number in the other unit; as a text with its unit where it has no exact decimal there."""
    from profilekeeper.errors import InvalidQuantity
    from profilekeeper.quantities import Length, LengthUnit

    value = profile.settings[pointer].value
    assert isinstance(value, Length)
    try:
        return value.to(LengthUnit(new)).number
    except InvalidQuantity:
        return str(value)


def _place(data: Any, pointer: str, raw: Any) -> None:
    from profilekeeper.model import pointer as json_pointer

    *above, last = json_pointer.parse(pointer)
    here = json_pointer.resolve(data, json_pointer.format(above))
    here[int(last) if isinstance(here, list) else last] = raw  # type: ignore[index]


quick = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
"""The default run of a law of this room."""

seeds = st.integers(0, 2**32)
sizes = st.integers(0, 4)


@st.composite
def records(draw: st.DrawFn) -> Data:
    """One valid record."""
    return Maker(draw(seeds), draw(sizes)).record()


@st.composite
def versions(draw: st.DrawFn, count: int = 2) -> tuple[Data, ...]:
    """A record and other versions of it, each edited by itself from the first."""
    maker = Maker(draw(seeds), draw(sizes))
    first = maker.record()
    return (first, *(maker.edited(first) for _ in range(count - 1)))


def machine(data: Data) -> Profile:
    """The record, read."""
    return read_profile(copy.deepcopy(data))
