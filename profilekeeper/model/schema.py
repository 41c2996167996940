"""Whether plain data satisfies a schema, and in which words it does not.

The compiled validator answers yes or no in microseconds; only a "no" pays for the slower library
whose errors carry enough to word a sentence.
"""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from profilekeeper.errors import InvalidProfile
from profilekeeper.model import pointer as json_pointer
from profilekeeper.resources import shipped

__all__ = ["CURRENT_VERSION", "Problem", "is_valid", "problems", "schema"]

CURRENT_VERSION = 2
_FILES = {
    "profile": "profile.schema.json",
    "profile-1": "older/profile-1.schema.json",
    "rules": "rules.schema.json",
    "reading-order": "reading-order.schema.json",
    "disputes": "disputes.schema.json",
    "proven": "proven.schema.json",
    "store": "store.schema.json",
    "moves": "moves.schema.json",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One reason why data is not what it should be.

    `pointer` is the JSON Pointer of the value (or of the mapping that lacks a key), `message` says what is
    wrong and what to do, `unknown_key` is set where the reason is a key that the schema does not know.
    """

    pointer: str
    message: str
    unknown_key: str | None = None

    def __str__(self) -> str:
        return f"{self.pointer or 'the whole file'}: {self.message}"


@cache
def schema(name: str) -> dict[str, Any]:
    """A shipped schema by name, whole: what it borrows from other files is folded in.

    Names:  profile, profile-1, rules, reading-order, disputes, proven, store, moves.
    """
    text = shipped("schemas/" + _FILES[name]).read_text(encoding="utf-8")
    borrows = "rules.schema.json#" in text
    text = text.replace("../rules.schema.json#", "#").replace("rules.schema.json#", "#")
    data: dict[str, Any] = json.loads(text, parse_float=Decimal)
    if borrows:
        data["$defs"].update(schema("rules")["$defs"])
    return data


def is_valid(name: str, data: object) -> bool:
    """Whether the data satisfies the named schema."""
    return bool(_quick(name).is_valid(data))


def problems(name: str, data: object) -> tuple[Problem, ...]:
    """Every reason why the data does not satisfy the named schema, in file order; empty if it does."""
    if is_valid(name, data):
        return ()
    found = [p for error in _wordy(name).iter_errors(data) for p in _worded(error)]
    order = {place: rank for rank, place in enumerate(_places(data))}
    found.sort(key=lambda p: order.get(p.pointer, len(order)))
    return tuple(dict.fromkeys(found)) or (Problem(pointer="", message="does not satisfy the schema"),)


@cache
def _quick(name: str) -> Any:
    import jsonschema_rs

    return jsonschema_rs.validator_for(schema(name))


@cache
def _wordy(name: str) -> Any:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(schema(name))


def _places(data: object, at: str = "") -> Iterator[str]:
    yield at
    if isinstance(data, Mapping):
        for key, value in data.items():
            yield from _places(value, json_pointer.join(at, str(key)))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _places(value, json_pointer.join(at, str(index)))


def _worded(error: Any) -> Iterable[Problem]:
    """One library error as our problems (an `additionalProperties` error may name several keys)."""
    at = json_pointer.format([str(step) for step in error.absolute_path])
    kind = str(error.validator)
    if kind == "additionalProperties" and isinstance(error.instance, Mapping):
        return tuple(_unknown_keys(error, at))
    if kind in ("anyOf", "oneOf") and error.context:
        return tuple(_of_branch(error, at))
    if "propertyNames" in error.absolute_schema_path:
        return (Problem(pointer=at, message=f"{_shown(error.instance)} cannot be a name here: {_description(error)}"),)
    word = _WORDS.get(kind)
    message = word(error) if word else str(error.message)
    return (Problem(pointer=at, message=message),)


def _unknown_keys(error: Any, at: str) -> Iterator[Problem]:
    known = sorted(error.schema.get("properties", {}))
    for key in error.instance:
        if key in known or str(key).startswith("x-"):
            continue
        near = difflib.get_close_matches(str(key), known, n=1, cutoff=0.6)
        hint = f"did you mean {near[0]}?" if near else f"known here: {_listed(known)}; a key of your own begins with x-"
        yield Problem(
            pointer=json_pointer.join(at, str(key)),
            message=f"{key} is not a key of a profile; {hint}",
            unknown_key=str(key),
        )


def _of_branch(error: Any, at: str) -> Iterator[Problem]:
    """The words of the alternatives: which keys were wanted, else the errors of the nearest branch."""
    wanted = [e for e in error.context if e.validator == "required"]
    if wanted and len(wanted) == len(error.context):
        names = sorted({name for e in wanted for name in e.validator_value})
        yield Problem(pointer=at, message=f"one of {_listed(names)} is missing")
        return
    if not wanted and not error.context:
        yield Problem(pointer=at, message=str(error.message))
        return
    for inner in error.context:
        if inner.validator not in ("type", "required"):
            yield from _worded(inner)
            return
    yield from _worded(error.context[-1])


def _type_words(error: Any) -> str:
    wanted = error.validator_value if isinstance(error.validator_value, list) else [error.validator_value]
    kinds = " or ".join(_TYPES.get(str(w), str(w)) for w in wanted)
    return f"{_shown(error.instance)} is {_kind_of(error.instance)}, wanted {kinds}; {_description(error)}"


def _required_words(error: Any) -> str:
    missing = [name for name in error.validator_value if name not in error.instance]
    return f"{_listed(missing)} {'is' if len(missing) == 1 else 'are'} missing"


def _one_of_words(error: Any) -> str:
    return (
        f"{_shown(error.instance)} is none of the words known here: {_listed([str(v) for v in error.validator_value])}"
    )


_TYPES = {
    "object": "a mapping (key: value)", "array": "a list", "string": "a text", "number": "a number",
    "integer": "a whole number", "boolean": "true or false", "null": "null",
}  # fmt: skip
_WORDS: dict[str, Any] = {
    "type": _type_words,
    "required": _required_words,
    "enum": _one_of_words,
    "const": lambda e: f"{_shown(e.instance)} stands here, wanted {e.validator_value}",
    "pattern": lambda e: f"{_shown(e.instance)} has not the form wanted; {_description(e)}",
    "minimum": lambda e: f"{_shown(e.instance)} is below {e.validator_value}; {_description(e)}",
    "exclusiveMaximum": lambda e: f"{_shown(e.instance)} is not below {e.validator_value}; {_description(e)}",
    "maximum": lambda e: f"{_shown(e.instance)} is above {e.validator_value}; {_description(e)}",
    "minItems": lambda e: f"{len(e.instance)} given, at least {e.validator_value} wanted; {_description(e)}",
    "maxItems": lambda e: f"{len(e.instance)} given, at most {e.validator_value} wanted; {_description(e)}",
    "items": lambda e: f"more is given than wanted; {_description(e)}",
    "maxLength": lambda e: f"the text is {len(e.instance)} characters long, at most {e.validator_value} wanted",
}


def _kind_of(value: object) -> str:
    for kinds, word in (
        (bool, "true or false"), (type(None), "empty"), (str, "a text"),
        ((int, Decimal), "a number"), (Mapping, "a mapping"), (list, "a list"),
    ):  # fmt: skip
        if isinstance(value, kinds):
            return word
    return "something else"


def _description(error: Any) -> str:
    text = str(error.schema.get("description", "")) if isinstance(error.schema, Mapping) else ""
    return text.rstrip(".") or "see the schema"


def _shown(value: object) -> str:
    text = str(value) if not isinstance(value, (Mapping, list)) else f"{_kind_of(value)} of {len(value)}"
    return repr(text[:60]) if isinstance(value, str) else text[:60]


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)


def refuse(name: str, data: object, source: str) -> None:
    """Raise one sentence that tells the first problems, if there are any.

    Raises:  InvalidProfile, with every problem in `problems`.
    """
    found = problems(name, data)
    if found:
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        raise InvalidProfile(f"{source}: {found[0]}{more}", found)
