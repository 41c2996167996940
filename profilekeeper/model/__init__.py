"""What a profile is: its settings, their kinds and identities, and the frozen records that rules and geometry read.

Names are fetched when they are first used: start-up pays for none of them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from profilekeeper.model.axis import Axis, Range, Reading, axes_of
    from profilekeeper.model.conventions import Conventions, conventions_of
    from profilekeeper.model.event import Event, day, events_of
    from profilekeeper.model.head import Head, head_of
    from profilekeeper.model.identity import (
        Match,
        Matching,
        from_identity,
        match_over_time,
        match_sisters,
        to_identity,
    )
    from profilekeeper.model.kinds import AGREEMENTS, SettingKind, kind_of
    from profilekeeper.model.known import Known
    from profilekeeper.model.migrate import migrated, version_of
    from profilekeeper.model.moves import Move, Moves, keyed_move, keyed_readings, read_moves
    from profilekeeper.model.position import LETTERS, Position, positions_of
    from profilekeeper.model.profile import Branch, Profile, profile_problems, read_profile
    from profilekeeper.model.ruleset import (
        Amount,
        Rule,
        RuleSet,
        built_in_rules,
        combined,
        machine_rules,
        read_rules,
        rules_for,
    )
    from profilekeeper.model.schema import CURRENT_VERSION, Problem, is_valid, problems, refuse
    from profilekeeper.model.settings import Setting, Value, pointers_like, read_settings
    from profilekeeper.model.source import Source, SourceBook, sources_of
    from profilekeeper.model.table import Support, Table, supports_of, tables_of
    from profilekeeper.model.tool import Joint, Section, Tool, TouchOff, WearSize, nose_to_tip, tools_of

_HOME = {
    "axis": ("Axis", "Range", "Reading", "axes_of"),
    "conventions": ("Conventions", "conventions_of"),
    "event": ("Event", "day", "events_of"),
    "head": ("Head", "head_of"),
    "identity": ("Match", "Matching", "from_identity", "match_over_time", "match_sisters", "to_identity"),
    "kinds": ("AGREEMENTS", "SettingKind", "kind_of"),
    "known": ("Known",),
    "migrate": ("migrated", "version_of"),
    "moves": ("Move", "Moves", "keyed_move", "keyed_readings", "read_moves"),
    "position": ("LETTERS", "Position", "positions_of"),
    "profile": ("Branch", "Profile", "profile_problems", "read_profile"),
    "ruleset": (
        "Amount",
        "Rule",
        "RuleSet",
        "built_in_rules",
        "combined",
        "machine_rules",
        "read_rules",
        "rules_for",
    ),
    "schema": ("CURRENT_VERSION", "Problem", "is_valid", "problems", "refuse"),
    "settings": ("Setting", "Value", "pointers_like", "read_settings"),
    "source": ("Source", "SourceBook", "sources_of"),
    "table": ("Support", "Table", "supports_of", "tables_of"),
    "tool": ("Joint", "Section", "Tool", "TouchOff", "WearSize", "nose_to_tip", "tools_of"),
}
_MODULE_OF = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "AGREEMENTS",
    "CURRENT_VERSION",
    "LETTERS",
    "Amount",
    "Axis",
    "Branch",
    "Conventions",
    "Event",
    "Head",
    "Joint",
    "Known",
    "Match",
    "Matching",
    "Move",
    "Moves",
    "Position",
    "Problem",
    "Profile",
    "Range",
    "Reading",
    "Rule",
    "RuleSet",
    "Section",
    "Setting",
    "SettingKind",
    "Source",
    "SourceBook",
    "Support",
    "Table",
    "Tool",
    "TouchOff",
    "Value",
    "WearSize",
    "axes_of",
    "built_in_rules",
    "combined",
    "conventions_of",
    "day",
    "events_of",
    "from_identity",
    "head_of",
    "is_valid",
    "keyed_move",
    "keyed_readings",
    "kind_of",
    "machine_rules",
    "match_over_time",
    "match_sisters",
    "migrated",
    "nose_to_tip",
    "pointers_like",
    "positions_of",
    "problems",
    "profile_problems",
    "read_moves",
    "read_profile",
    "read_rules",
    "read_settings",
    "refuse",
    "rules_for",
    "sources_of",
    "supports_of",
    "tables_of",
    "to_identity",
    "tools_of",
    "version_of",
]


def __getattr__(name: str) -> object:
    """Fetch a name from its module when it is first used."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
