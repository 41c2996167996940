"""The reader against the published words of YAML: what the core schema of 1.2 says, and what 1.1 said otherwise.

Sources:
- YAML 1.2.2, section 10.3.2 "Tag Resolution" of the core schema and its example 10.9 (from memory).
- yaml.org/type/int.html, "Integer Language-Independent Type for YAML Version 1.1", 2005-02-11, example 1
  and the rules of resolution.
- yaml.org/type/float.html and yaml.org/type/bool.html of the same series (from memory).
- General-purpose libraries: PyYAML (1.1) and ruamel.yaml (1.2), as installed.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
import yaml
from ruamel.yaml import YAML

from profilekeeper.errors import FormatError
from profilekeeper.formats import loads

# YAML 1.2.2 example 10.9: plain scalars and their values; None in place of a value: refused here, on purpose.
CORE: list[tuple[str, Any, bool]] = [
    ("null", None, True),
    ("", None, True),
    ("true", True, True),
    ("True", True, True),
    ("false", False, True),
    ("FALSE", False, True),
    ("0", 0, True),
    ("-19", -19, True),
    ("-0.0", Decimal("-0.0"), True),
    (".5", Decimal("0.5"), True),
    ("0o7", 7, False),
    ("0x3A", 58, False),
    ("0.", Decimal("0."), False),
    ("+12e03", Decimal(12000), False),
    ("-2E+05", Decimal(-200000), False),
    (".inf", Decimal("Infinity"), False),
    ("-.Inf", Decimal("-Infinity"), False),
    ("+.INF", Decimal("Infinity"), False),
    (".NAN", Decimal("NaN"), False),
]

# yaml.org/type/int.html, float.html, bool.html: texts to which YAML 1.1 gives another value than 1.2, or its own.
ONLY_1_1 = [
    "+685_230", "02472256", "0x_0A_74_AE", "0b1010_0111_0100_1010_1110", "190:20:30",
    "6.8523015e+5", "685.230_15e+03", "685_230.15", "190:20:30.15", "-.inf", ".NaN",
    "y", "yes", "Yes", "YES", "n", "no", "No", "NO", "on", "On", "ON", "off", "Off", "OFF",
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "taken"), CORE)
def test_a_scalar_of_the_core_schema_has_its_value_or_is_refused(text: str, value: Any, taken: bool) -> None:
    if not taken:
        with pytest.raises(FormatError):
            loads(f"a: {text}")
        return

    found = loads(f"a: {text}")

    assert found == {"a": value}
    assert isinstance(found, dict)
    assert type(found["a"]) is type(value)


@pytest.mark.parametrize("text", ONLY_1_1)
def test_a_scalar_that_version_1_1_read_otherwise_is_refused(text: str) -> None:
    with pytest.raises(FormatError):
        loads(f"a: {text}")


@pytest.mark.parametrize("text", ONLY_1_1)
def test_in_quotes_it_is_text_to_everyone(text: str) -> None:
    written = f'a: "{text}"'

    assert loads(written) == {"a": text}
    assert yaml.safe_load(written) == {"a": text}
    assert YAML(typ="safe", pure=True).load(written) == {"a": text}


@pytest.mark.parametrize("text", ["02472256", "190:20:30", "no", "off"])
def test_the_two_libraries_do_differ_on_what_is_refused(text: str) -> None:
    # The reason for refusing: one file, two values.
    old, new = yaml.safe_load(f"a: {text}"), YAML(typ="safe", pure=True).load(f"a: {text}")

    assert old != new


@pytest.mark.parametrize("letter", ["Y", "N"])
def test_the_axis_y_is_text_to_both_libraries_whatever_the_old_page_says(letter: str) -> None:
    # yaml.org/type/bool.html lists Y and N; neither library takes them for true and false.
    written = f"rapids: [X, {letter}]"

    assert (
        loads(written)
        == yaml.safe_load(written)
        == YAML(typ="safe", pure=True).load(written)
        == {"rapids": ["X", letter]}
    )
