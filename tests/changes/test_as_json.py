"""The JSON form of changes and decisions, against its own schema."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given
from jsonschema import Draft202012Validator

from profilekeeper.changes import changes_between, merged_to_json, to_json
from profilekeeper.resources import shipped

from .built import changed, merged, put, read, record
from .generated import Data, machine, quick, versions

SCHEMA: dict[str, Any] = json.loads(shipped("schemas/changes.schema.json").read_text(encoding="utf-8"))


def test_the_schema_satisfies_its_metaschema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@quick
@given(versions())
def test_changes_as_json_satisfy_their_schema_and_are_plain_json(pair: tuple[Data, Data]) -> None:
    data = to_json(changes_between(machine(pair[0]), machine(pair[1])))

    assert json.loads(json.dumps(data)) == data
    assert list(Draft202012Validator(SCHEMA).iter_errors(data)) == []


def test_a_line_keeps_the_digits_of_its_numbers() -> None:
    data = to_json(changes_between(read(record()), read(changed(record(), put("tools/4/length", "118.50 mm")))))

    line = data["lines"][0]
    assert line["before"] == {"text": "119.800 mm", "number": "119.800", "unit": "mm"}
    assert (line["delta"], line["geometry"]) == ("-1.300 mm", "yes")


def test_decisions_as_json_satisfy_their_schema() -> None:
    result = merged(record(), changed(record(), put("tools/4/length", 1)), changed(record(), put("tools/4/length", 2)))

    data = merged_to_json(result)

    part = {"$ref": "#/$defs/decisions", "$defs": SCHEMA["$defs"]}
    assert list(Draft202012Validator(part).iter_errors(data)) == []
    assert [c["value"] for c in data["disputed"]["/tools/@k7mq2fzd/length"]] == ["1 mm", "2 mm"]
