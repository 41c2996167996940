"""JSON Schema 2020-12: every shipped schema is one, and is written so that an editor can teach its reader.

Source: JSON Schema Core and Validation, draft 2020-12 (json-schema.org), by its metaschema as the `jsonschema`
library ships it; the examples keyword: Validation section 9.5 ("examples" SHOULD be valid against the schema).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from jsonschema.validators import validator_for

from profilekeeper.model.schema import schema

NAMES = ("profile", "profile-1", "rules", "reading-order", "disputes", "proven", "store", "moves")
DIALECT = "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", NAMES)
def test_the_schema_names_its_dialect_and_satisfies_its_metaschema(name: str) -> None:
    whole = _floats(schema(name))

    assert whole["$schema"] == DIALECT
    assert validator_for(whole) is Draft202012Validator
    Draft202012Validator.check_schema(whole)


@pytest.mark.parametrize("name", NAMES)
def test_every_reference_leads_somewhere(name: str) -> None:
    whole = schema(name)

    for at, part in _parts(whole):
        ref = part.get("$ref")
        assert ref is None or ref.removeprefix("#/$defs/") in whole["$defs"], at


@pytest.mark.parametrize("name", NAMES)
def test_every_key_has_a_description(name: str) -> None:
    silent = [at for at, key in _keys(schema(name)) if not _said(name, key, "description")]

    assert not silent


@pytest.mark.parametrize("name", NAMES)
def test_every_key_has_an_example(name: str) -> None:
    without = [at for at, key in _keys(schema(name)) if not _said(name, key, "examples") and "const" not in key]

    assert not without


@pytest.mark.parametrize("name", NAMES)
def test_every_example_satisfies_its_own_schema(name: str) -> None:
    whole = schema(name)
    wrong = []
    for at, part in _parts(whole):
        alone = Draft202012Validator({**part, "$defs": whole.get("$defs", {})})
        wrong += [(at, example) for example in part.get("examples", ()) if not alone.is_valid(example)]

    assert not wrong


@pytest.mark.parametrize("name", NAMES)
def test_every_mapping_is_closed_but_for_free_keys(name: str) -> None:
    """A slip of the pen in a key must not pass as a new key."""
    open_ones = [
        at
        for at, part in _parts(schema(name))
        if "properties" in part and "if" not in at.split("/") and part.get("additionalProperties") is None
    ]

    assert not open_ones


@pytest.mark.parametrize("name", ["profile", "rules"])
def test_a_free_key_begins_with_x(name: str) -> None:
    example = dict(schema(name)["examples"][0])
    valid = Draft202012Validator(schema(name)).is_valid

    assert valid({**example, "x-own": "kept"})
    assert not valid({**example, "own": "refused"})


def _parts(part: Any, at: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every place that is a schema, with where it stands."""
    if not isinstance(part, Mapping):
        return
    yield at, part
    for word in ("properties", "patternProperties", "$defs"):
        for name, inner in part.get(word, {}).items():
            yield from _parts(inner, f"{at}/{word}/{name}")
    for word in ("additionalProperties", "items", "propertyNames", "if", "then", "else", "not"):
        yield from _parts(part.get(word), f"{at}/{word}")
    for word in ("allOf", "anyOf", "oneOf", "prefixItems"):
        for index, inner in enumerate(part.get(word, ())):
            yield from _parts(inner, f"{at}/{word}/{index}")


def _keys(whole: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every key that a file may hold: what stands under `properties`, but for conditions."""
    for at, part in _parts(whole):
        if {"if", "then", "else"} & set(at.split("/")):
            continue
        for name, inner in part.get("properties", {}).items():
            yield f"{at}/{name}", inner


def _said(name: str, key: Mapping[str, Any], word: str) -> bool:
    """Whether a key says a thing itself or through what it refers to."""
    if key.get(word):
        return True
    ref = key.get("$ref")
    return ref is not None and bool(schema(name)["$defs"][ref.removeprefix("#/$defs/")].get(word))


def _floats(part: Any) -> Any:
    """The same with plain numbers: the metaschema's own numbers are floats."""
    if isinstance(part, Mapping):
        return {key: _floats(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_floats(value) for value in part]
    return float(part) if isinstance(part, Decimal) else part
