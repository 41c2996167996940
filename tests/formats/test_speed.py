"""Speed as a ratio to general-purpose libraries, on the profile of 40 tools; absolute times are only printed."""

from __future__ import annotations

import io
import statistics
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from ruamel.yaml import YAML
from ruamel.yaml.constructor import RoundTripConstructor
from ruamel.yaml.representer import RoundTripRepresenter

from profilekeeper.formats import edit, loads, splice
from profilekeeper.formats.plain_scalar import _kept

pytestmark = pytest.mark.soak

GOOD = Path(__file__).resolve().parents[1] / "examples" / "formats" / "good"


def _ratio(ours: Callable[[], object], theirs: Callable[[], object], rounds: int) -> float:
    """The median of our time over theirs, taken turn by turn, so that a busy machine slows both."""
    pairs = [(_seconds(ours), _seconds(theirs)) for _ in range(rounds)]
    for name, times in zip(("ours", "theirs"), zip(*pairs, strict=True), strict=True):
        print(f"{name}: {statistics.median(times) * 1000:.2f} ms")
    return statistics.median(one / other for one, other in pairs)


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _cold(text: str) -> object:
    _kept.cache_clear()
    return loads(text)


@pytest.mark.parametrize("name", ["forty_tools_flow.yaml", "forty_tools_block.yaml"])
@pytest.mark.parametrize("read", [loads, _cold], ids=["warm", "cold"])
def test_reading_costs_no_more_than_the_usual_c_loader(name: str, read: Callable[[str], object]) -> None:
    text = (GOOD / name).read_text(encoding="utf-8")

    ratio = _ratio(lambda: read(text), lambda: yaml.load(text, Loader=yaml.CSafeLoader), 100)

    assert ratio <= 0.7


@pytest.mark.parametrize(
    "change",
    [
        lambda text: splice(text, "/tools/7/length", Decimal("18.250")),
        lambda text: edit(text, {"/tools/41": {"name": "new", "length": Decimal("18.250")}}),
    ],
    ids=["splice", "edit"],
)
def test_a_change_costs_a_fifth_of_a_round_trip(change: Callable[[str], str]) -> None:
    text = (GOOD / "forty_tools_flow.yaml").read_text(encoding="utf-8")

    ratio = _ratio(lambda: change(text), lambda: _round_trip(text), 15)

    assert ratio <= 0.2


def _round_trip(text: str) -> str:
    """The general-purpose way: read all with exact decimals, change one value, write all."""

    class Constructor(RoundTripConstructor):
        pass

    class Representer(RoundTripRepresenter):
        pass

    float_tag = "tag:yaml.org,2002:float"
    Constructor.add_constructor(float_tag, lambda _, node: Decimal(node.value))
    Representer.add_representer(Decimal, lambda self, value: self.represent_scalar(float_tag, format(value, "f")))
    library = YAML()
    library.Constructor, library.Representer = Constructor, Representer
    library.width, library.preserve_quotes = 4096, True
    library.indent(mapping=2, sequence=4, offset=2)
    data: Any = library.load(text)
    data["tools"][7]["length"] = Decimal("18.250")
    stream = io.StringIO()
    library.dump(data, stream)
    return stream.getvalue()
