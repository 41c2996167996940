"""Reading and changing the text of a record, against PyYAML's C loader and a ruamel round trip."""

from __future__ import annotations

import io
from decimal import Decimal

import yaml
from ruamel.yaml import YAML
from sample import profile_text
from timing import Bars, medians

from profilekeeper.formats import strict_yaml
from profilekeeper.formats.edit_yaml import splice
from profilekeeper.model.profile import read_profile


def main() -> None:
    """Print the ratios and leave."""
    text, bars = profile_text(), Bars()
    assert len(read_profile(strict_yaml.loads(text)).settings) > 390
    plain, whole, c_loader = medians(
        60,
        lambda: strict_yaml.loads(text),
        lambda: read_profile(strict_yaml.loads(text)),
        lambda: yaml.load(text, Loader=yaml.CSafeLoader),
        warm=5,
    )
    bars.at_most("text of a 40-tool record to plain exact data / PyYAML CSafeLoader", plain, c_loader, 1.0)
    bars.at_most("with schema and model / PyYAML CSafeLoader", whole, c_loader, 4.0)
    ours, theirs = medians(
        8, lambda: splice(text, "/tools/21/length", Decimal("211.125")), lambda: _round_trip(text), warm=1
    )
    bars.at_most("one value spliced, checked before and after / ruamel load and dump", ours, theirs, 0.2)
    bars.leave()


def _round_trip(text: str) -> str:
    ruamel = YAML()
    ruamel.preserve_quotes = True
    ruamel.width = 4096
    data = ruamel.load(text)
    data["tools"][21]["length"] = 211.125
    out = io.StringIO()
    ruamel.dump(data, out)
    return out.getvalue()


if __name__ == "__main__":
    main()
