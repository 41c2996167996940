"""What machines share: the rules of a class and the reading order of a control, recorded in the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from profilekeeper.actions.files import read_file
from profilekeeper.actions.opened import SHORT, Opened, Person
from profilekeeper.actions.recording import refuse_secret
from profilekeeper.errors import UsageError
from profilekeeper.formats import strict_yaml
from profilekeeper.model.reading_order import read_reading_order
from profilekeeper.model.ruleset import read_rules
from profilekeeper.model.secrets import refuse_secrets
from profilekeeper.store import Change
from profilekeeper.store.names import check_path

__all__ = ["Shared", "share"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """A shared file that was recorded: where it lies in the store, and what it is."""

    path: str
    what: str
    snapshot: str


def share(opened: Opened, file: Path, *, person: Person, why: str, at: datetime) -> Shared:
    """Record a rule set or a reading order for all machines it is meant for; what it is, its text says.

    Raises:  UsageError, if it is neither, or is in the store already; InvalidProfile, if it does not satisfy
             its schema; SecretRefused.
    """
    refuse_secret("why", why)
    text = read_file(file)
    data = strict_yaml.loads(text, source=str(file))
    folder, what = _told_apart(data, str(file))
    refuse_secrets(data, source=str(file))
    path = check_path(f"{folder}/{file.stem}.yaml")
    if opened.bytes_of(path) == text:
        raise UsageError(f"{path} holds that text already; nothing was recorded")
    change = Change(
        files={path: text},
        message=f"{path}" + (f": {why}" if why else ""),
        author=person.author,
        at=at,
        trailers={"Kind": "shared", "By": person.name, **({"Why": why} if why else {})},
    )
    return Shared(path=path, what=what, snapshot=opened.store.write(change)[:SHORT])


def _told_apart(data: object, source: str) -> tuple[str, str]:
    """The folder that such a file belongs into, and what it is."""
    if isinstance(data, Mapping) and "rules_version" in data:
        read_rules(data, source=source)
        return "rules", "rule set"
    if isinstance(data, Mapping) and "reading_order" in data:
        read_reading_order(data, source=source)
        return "reading_orders", "reading order"
    raise UsageError(f"{source}: neither a rule set (rules_version: 1) nor a reading order (reading_order: 1)")
