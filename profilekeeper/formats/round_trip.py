"""The second way to edit a YAML text: read it whole with its comments, change it, write it whole.

Some thirty times slower than an edit by marks, and it may touch blank space elsewhere; used where an
edit by marks does not give exactly the wanted data. Only for text the strict reader has taken.

Every unquoted value that is no text is carried as the characters it was written with, so that no
number, date or `010` as a name is ever understood, and respelt, on the way.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from io import StringIO
from typing import Any

from profilekeeper.errors import FormatError
from profilekeeper.formats.changed_data import REMOVED, Change, in_order
from profilekeeper.formats.yaml_patch import line_end_of
from profilekeeper.formats.yaml_write import scalar_text
from profilekeeper.model import pointer as pointers

__all__ = ["round_trip"]

_TAG = "tag:yaml.org,2002:"
_CARRIED = ("int", "float", "bool", "null", "timestamp")
_LIST_BESIDE_NAME = re.compile(r"^(?P<indent>[ ]*)[^\s#-][^\r\n]*:[ ]*(?:#[^\r\n]*)?\r?\n(?P=indent)- ", re.MULTILINE)


# What the library is known to raise, beside its own errors, on comments in places it does not expect.
_FAILURES = (NotImplementedError, LookupError, ValueError, TypeError, AttributeError, AssertionError)


class _Written(str):
    """A value as it was written, with the kind that YAML gives it."""

    __slots__ = ("tag",)

    tag: str


def round_trip(text: str, data: object, changes: Mapping[str, Change]) -> str:
    """The text with its changes made; `data` is what the strict reader read from the text.

    Raises:  FormatError, where the text cannot be carried through; UnknownName, UsageError as `changed`.
    """
    from ruamel.yaml.error import YAMLError

    yaml = _yaml(text)
    stream = StringIO()
    try:
        document = yaml.load(text.replace("\r\n", "\n"))
        for pointer, change in in_order(data, changes):
            _apply(document, pointers.parse(pointer), change)
        yaml.dump(document, stream)
    except (YAMLError, *_FAILURES) as error:
        reason = str(getattr(error, "problem", "") or type(error).__name__)
        raise FormatError(f"this file cannot be edited ({reason})", mend="make the change in an editor") from None
    return stream.getvalue().replace("\n", line_end_of(text))


def _yaml(text: str) -> Any:
    """A round-trip reader and writer set to leave a text as it is."""
    from ruamel.yaml import YAML
    from ruamel.yaml.constructor import RoundTripConstructor
    from ruamel.yaml.representer import RoundTripRepresenter

    class Constructor(RoundTripConstructor):
        pass

    class Representer(RoundTripRepresenter):
        pass

    for kind in _CARRIED:
        Constructor.add_constructor(_TAG + kind, _carry(_TAG + kind))
    Representer.add_representer(_Written, lambda self, value: self.represent_scalar(value.tag, str(value)))
    yaml = YAML(typ="rt")
    yaml.Constructor, yaml.Representer = Constructor, Representer
    yaml.preserve_quotes = True
    yaml.width = 1 << 20
    yaml.line_break = None
    yaml.explicit_start = text.startswith("---") or None
    if _LIST_BESIDE_NAME.search(text):
        yaml.indent(mapping=2, sequence=2, offset=0)
    else:
        yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml


def _carry(tag: str) -> Any:
    def construct(_: Any, node: Any) -> _Written:
        return _written(node.value, tag)

    return construct


def _written(text: str, tag: str) -> _Written:
    value = _Written(text)
    value.tag = tag
    return value


def _apply(document: Any, tokens: tuple[str, ...], change: Change) -> None:
    for token in tokens[:-1]:
        document = document[int(token)] if isinstance(document, list) else document[token]
    last: Any = tokens[-1]
    if isinstance(document, list):
        last = len(document) if last == "-" else int(last)
        if last >= len(document):
            document.append(None)
    if change is REMOVED:
        del document[last]
    else:
        document[last] = _carried(change)


def _carried(value: object) -> Any:
    """New data as the round trip writes it: the same spellings as everywhere."""
    from ruamel.yaml.comments import CommentedMap, CommentedSeq
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    if isinstance(value, dict):
        return CommentedMap({key: _carried(inner) for key, inner in value.items()})
    if isinstance(value, list | tuple):
        return CommentedSeq(map(_carried, value))
    text = scalar_text(value, flow=True)
    if isinstance(value, str):
        return DoubleQuotedScalarString(value) if text.startswith('"') else value
    kind = "null" if value is None else "bool" if isinstance(value, bool) else "float" if "." in text else "int"
    return _written(text, _TAG + kind)
