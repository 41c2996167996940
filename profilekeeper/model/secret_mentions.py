"""Where words for secrets stand in a text: each word is looked at once, so that long texts take no long time."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from profilekeeper.model import secret_words as table

__all__ = ["mentions", "plain"]


def plain(text: str) -> str:
    """The text without accents and underscores, its letters' case kept."""
    if not text.isascii():
        text = text.translate(_BARRED)
        text = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return text.replace("_", " ")


# Letters whose stroke is no accent to Unicode.
_BARRED = str.maketrans("łŁøØđĐı", "lLoOdDi")
_WORD = re.compile(r"[a-z]+")
_SPACE = r"[\s./-]{0,2}"


def mentions(text: str) -> Iterator[tuple[str, int, int]]:
    """Where words for secrets stand in a `plain` text: kind, start and end, in the order of the text.

    The kinds are `secret`, `pin`, `login` and `opener` (a combination or code that opens something).
    """
    small = text.lower()
    first_words, phrases = _tables()
    past = 0
    for match in _WORD.finditer(small):
        word, start = match.group(), match.start()
        if start < past or not (word in first_words or len(word) > 7):
            continue
        phrase = phrases.match(small, start) if word in first_words else _GROWN.fullmatch(word)
        if phrase:
            past = start + len(phrase.group())
            yield phrase.lastgroup or "secret", start, past
    if not text.isascii():
        yield from (("secret", match.start(), match.end()) for match in _scripts().finditer(small))


@lru_cache(maxsize=1)
def _tables() -> tuple[frozenset[str], re.Pattern[str]]:
    """The first words of all phrases, and the phrases: the kind as the group's name, longest first."""
    phrases = re.compile(
        rf"(?:(?P<secret>(?:{_either(table.SECRET_WORDS)}|level {{0,2}}[0-9]{{1,2}} {{0,2}}code)"
        rf"(?:s|es|e|er|en|n)?)"
        rf"|(?P<pin>pin)|(?P<login>{_either(table.LOGIN)})|(?P<opener>{_either(table.OPENERS)}))(?![a-z])"
    )
    words = {"pin", "level"}
    for phrase in (*table.SECRET_WORDS, *table.LOGIN, *table.OPENERS):
        first = re.split(r"[^a-z]", phrase, maxsplit=1)[0]
        words.update(first + ending for ending in ("", "s", "es", "e", "er", "en", "n"))
        # "wi fi key" may be written in one word, or in two of three.
        parts = phrase.split()
        words.update("".join(parts[:count]) for count in range(2, len(parts) + 1))
        words.update("".join(parts) + ending for ending in ("s", "e", "n"))
    return frozenset(words), phrases


@lru_cache(maxsize=1)
def _scripts() -> re.Pattern[str]:
    return re.compile(_either(table.SCRIPTS))


def _either(phrases: tuple[str, ...]) -> str:
    ordered = sorted({plain(phrase).lower() for phrase in phrases}, key=len, reverse=True)
    return "|".join(_SPACE.join(re.escape(part) for part in phrase.split()) for phrase in ordered)


_GROWN = re.compile(rf"[a-z]{{0,40}}?(?P<secret>{_either(table.GROWN)})(?:s|e|er|en|n)?")
