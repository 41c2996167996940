"""Refusing secrets: no password, PIN or access code may enter a record, a note, a reason or a caption.

A secret is judged by its label AND its shape: "PIN: 4711" is refused, "drive pin 9 mm" is not, and
"option code kept in the office safe" is welcome: where a code is kept belongs into a record, the
code never. Digits alone are never judged. Every refusal can be cleared by saying it otherwise, and
says how; none repeats the secret.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from profilekeeper.errors import SecretRefused
from profilekeeper.model import pointer as pointers
from profilekeeper.model import secret_words as table
from profilekeeper.model.secret_mentions import mentions, plain

__all__ = ["Refusal", "find_secret", "find_secrets", "refuse_secrets"]

# How far behind its label a secret is looked for.
_WINDOW = 120
# How far before it the word that makes it honest may stand: "drive pin".
_BEFORE = 40
_MOST = 1000
_SHORT = 80
_Labels = tuple[str, ...]
_Found = tuple[tuple[str, ...], str]
_LABELS = ("label", "name", "title", "caption")
# Random ids and hashes: nobody writes them, and by chance they spell anything.
_RANDOM = ("id", "sha256", "snapshot", "plate_photo", "pictured")
_ID = re.compile(r"[0-9A-Za-z]{1,64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A secret found: the `word` that gave it away, and `where` (a label or a JSON Pointer)."""

    word: str
    where: str

    @property
    def what(self) -> str:
        """What was found, without the secret itself."""
        return f'"{self.word}" stands here with what looks like the secret itself'

    @property
    def mend(self) -> str:
        """How to say it otherwise."""
        return (
            f'write where it is kept, e.g. "{self.word} kept in the office safe"; '
            "if it is no secret, use another word or add the unit"
        )

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        return f"{place}{self.what}; nothing was stored; {self.mend}"


def find_secret(label: str, value: str) -> Refusal | None:
    """The secret that a text holds, judged with the label it stands under; None for an honest text.

    >>> find_secret("note", "service code 8842").word
    'service code'
    >>> find_secret("note", "drive pin 9 mm") is None
    True
    """
    word = _found(f"{_label(label)}: {value}" if label else value)
    return Refusal(word=word, where=label) if word else None


def find_secrets(data: object) -> tuple[Refusal, ...]:
    """Every secret in plain data, by JSON Pointer in file order: names, texts and numbers under a name.

    >>> [found.where for found in find_secrets({"notes": ["PIN 4711"], "tools": {"21": {"pin": 9}}})]
    ['/notes/0']
    """
    return tuple(Refusal(word=word, where=pointers.format(steps)) for steps, word in _walk(data, (), (), ""))


def refuse_secrets(data: object, *, source: str = "") -> None:
    """Refuse data that hold a secret.

    Raises:  SecretRefused, naming the first one's place and word.
    """
    for found in find_secrets(data):
        what = f"{found.where or 'the text'}: {found.what}; nothing was stored"
        raise SecretRefused(what, source=source, mend=found.mend)


def _walk(data: object, above: _Labels, own: _Labels, unit: str) -> list[_Found]:
    """Secrets in and below `data`, each with the steps that lead to it.

    `above` are the names above that name a secret, `own` the labels it stands directly under,
    `unit` what stands beside it as the unit of its value.
    """
    if isinstance(data, dict):
        return _walk_group(data, above, own)
    if isinstance(data, list):
        found: list[_Found] = []
        for index, value in enumerate(data):
            found.extend(((str(index), *steps), word) for steps, word in _walk(value, above, own, unit))
        return found
    if data is None or isinstance(data, bool):
        return []
    word = _under(above, own, f"{data} {unit}" if unit else str(data), is_text=isinstance(data, str))
    return [((), word)] if word else []


def _walk_group(data: dict[str, object], above: _Labels, own: _Labels) -> list[_Found]:
    # A setting kept under the label by which a screen shows it: the label is a value beside it.
    shown = tuple(str(data[key]) for key in _LABELS if isinstance(data.get(key), str))
    unit = str(data["unit"]) if isinstance(data.get("unit"), str) else ""
    over = (*above, *(label for label in own if "secret" in _names(label)))
    found: list[_Found] = []
    for key, value in data.items():
        if key in _RANDOM and _is_random(value):
            continue
        word = _of_name(key)
        if word:
            found.append(((key,), word))
            continue
        if key in table.ABOUT or key in _LABELS:
            inner = _walk(value, (), (), "")
        elif key in table.VALUE_KEYS:
            inner = _walk(value, over, (*shown, *own, key), unit)
        else:
            inner = _walk(value, over, (key,), unit)
        found.extend(((key, *steps), word) for steps, word in inner)
    return found


def _is_random(value: object) -> bool:
    """Whether a value is nothing but ids or hashes; anything else under such a name is judged like all text."""
    values = value if isinstance(value, list) else [value]
    return all(isinstance(one, str) and _ID.fullmatch(one) for one in values)


def _under(above: tuple[str, ...], own: tuple[str, ...], text: str, *, is_text: bool) -> str | None:
    """The secret word for a value under its labels and the names above: `passwords: {operator: ...}`."""
    if not own:
        return _found(text)
    for label in own:
        if is_text or _names(label):
            word = _found(f"{_label(label)}: {text}")
            if word:
                return word
    for name in above:
        word = _found(f"{_label(name)} {_label(own[0])}: {text}")
        if word:
            return word
    return None


@lru_cache(maxsize=4096)
def _of_name(key: str) -> str | None:
    """The secret that a name itself gives away."""
    return _found(_label(key))


@lru_cache(maxsize=4096)
def _names(label: str) -> frozenset[str]:
    """The kinds of words that a label holds."""
    return frozenset(kind for kind, _, _ in mentions(plain(_label(label))))


@lru_cache(maxsize=4096)
def _label(label: str) -> str:
    """A name in separate words: `wifiKey` is `wifi Key`."""
    return _CAMEL.sub(" ", label)


def _found(text: str) -> str | None:
    """The word that gives a secret away, as a person knows it, or None; short texts recur and are remembered."""
    return _remembered(text) if len(text) <= _SHORT else _looked_for(text)


@lru_cache(maxsize=32768)
def _remembered(text: str) -> str | None:
    return _looked_for(text)


def _looked_for(text: str) -> str | None:
    shape = _SHAPES.search(text)
    if shape:
        return _SHAPE_WORDS.get(shape.group()[:3], "token")
    simple = plain(text)
    for count, (kind, start, end) in enumerate(mentions(simple)):
        # A text that says such words a thousand times is no honest note, and would take long to judge.
        if count == _MOST or _JUDGES[kind](simple[max(0, start - _BEFORE) : start], _behind(simple, end)):
            return " ".join(_as_written(text, start, end).split()).lower()
    return None


def _as_written(text: str, start: int, end: int) -> str:
    """What stands in the text at two places of its `plain` form: with its accents, for a person to find."""
    at, inside = 0, []
    for sign in text:
        if start <= at < end:
            inside.append(sign)
        at += len(plain(sign))
        if at >= end:
            break
    return "".join(inside)


# Texts that are secrets by their shape alone: a private key, a web address with a password, known tokens.
_SHAPES = re.compile(
    r"-----BEGIN [A-Z ]{0,30}PRIVATE KEY|://[^\s:/@]{1,64}:[^\s:/@]{1,64}@"
    r"|eyJ[A-Za-z0-9_-]{10,200}\.[A-Za-z0-9_-]{10}|AKIA[0-9A-Z]{16}|gh[pousr]_[A-Za-z0-9]{20}"
)
_SHAPE_WORDS = {"---": "private key", "://": "password in a web address"}
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True, slots=True)
class _Token:
    """One word behind a label: as written, bare and small, and whether a sign like `:` leads to it."""

    raw: str
    word: str
    led: bool


_SIGN = re.compile(r"=>?|->|→|\||(?<![0-9]):|:(?![0-9])")
_EDGES = "\"'`.,;:!?()[]{}<>«»“”„*"
_END = re.compile(r"[.;]\s|\n\s*\n")


def _behind(text: str, start: int) -> list[_Token]:
    """The words behind a label, to the end of the sentence, eight at most."""
    window = text[start : start + _WINDOW]
    end = _END.search(window)
    window = _SIGN.sub(" : ", window[: end.start()] if end else window)
    tokens: list[_Token] = []
    led = window[:1] == "\n"
    for part in window.split():
        raw = part.strip(_EDGES)
        if part in table.LEADS or part.lower() in table.LEADS:
            led = True
        elif raw.strip("-–") == "" and part.strip("-–"):
            # Stars or dots: a secret that somebody has covered.
            tokens.append(_Token("none", "none", led))
        elif raw.strip("-–"):
            tokens.append(_Token(raw, raw.lower(), led))
            led = False
        if len(tokens) == 8:
            break
    return tokens


def _is_secret(before: str, tokens: list[_Token]) -> bool:
    """Behind "password" or "service code": a word led by a sign, or one that no sentence would hold."""
    last, kept = "", False
    for index, token in enumerate(tokens):
        following = tokens[index + 1].word if index + 1 < len(tokens) else ""
        if token.led and (token.word in table.NOTHING or not token.word.strip("*•x")):
            return False
        if token.word in table.KEPT:
            kept = True
        elif token.word in table.FILLERS or token.word in table.PLACES:
            pass
        elif _is_given_away(token, following, last, kept):
            return True
        last = token.word
    return False


def _is_given_away(token: _Token, following: str, last: str, kept: bool) -> bool:
    if _looks_secret(token.raw, following, kept):
        return last not in table.PLACES
    return token.led and not kept and not _is_measure(token.raw, following)


def _is_pin(before: str, tokens: list[_Token]) -> bool:
    """Behind "PIN": four to eight digits without a unit, no piece of metal named before it."""
    if _last_word(before) in table.MECHANICAL:
        return False
    for index, token in enumerate(tokens):
        if token.word in table.PIN_CONTEXT:
            continue
        following = tokens[index + 1].word if index + 1 < len(tokens) else ""
        return bool(_PIN.fullmatch(token.raw)) and following not in table.UNITS
    return False


def _is_login(before: str, tokens: list[_Token]) -> bool:
    """Behind "login" or "user": a name and what looks like its password."""
    if not tokens or tokens[0].word in table.HONEST_NEXT:
        return False
    words = [part for token in tokens[:4] for part in token.raw.split("/") if part]
    small = [word.lower() for word in words]
    for index, word in enumerate(small[:-1]):
        if word in ("pass", "pw", "password"):
            return small[index + 1] not in _HONEST
    if len(words) > 1 and small[0] not in _HONEST:
        paired = "/" in tokens[0].raw or (tokens[0].led and len(words) == 2)
        return (paired and small[0] == small[1]) or (_looks_secret(words[1], "", False) and small[1] not in table.KEPT)
    return False


def _opens(before: str, tokens: list[_Token]) -> bool:
    """Behind "combination" or "code": a row of numbers, where something that has a lock is named."""
    if _last_word(before) in table.HARMLESS_CODES or (tokens and tokens[0].word in table.HONEST_NEXT):
        return False
    around = {*re.findall(r"[a-z]+", before.lower())[-3:], *(token.word for token in tokens)}
    if not around & table.CONTEXT:
        return False
    rows = [
        token
        for token, following in zip(tokens, [*tokens[1:], None], strict=True)
        if _ROW.fullmatch(token.raw) and (following is None or following.word not in table.UNITS)
    ]
    return bool(rows)


_HONEST = table.KEPT | table.FILLERS | table.PLACES | table.NOTHING
_JUDGES = {"secret": _is_secret, "pin": _is_pin, "login": _is_login, "opener": _opens}

_PIN = re.compile(r"[0-9]{4,8}|[0-9](?:-[0-9]){3,7}|[0-9]{2}-[0-9]{2}(?:-[0-9]{2})?")
_ROW = re.compile(r"[0-9]{3,10}|[0-9]{1,3}(?:[-–/.][0-9]{1,3}){2,5}")
_DATE = re.compile(
    r"(?:19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}[./][0-9]{1,2}[./](?:[0-9]{2}){1,2}|[0-9]{1,2}:[0-9]{2}"
)
_YEAR = re.compile(r"(?:19|20)[0-9]{2}")
_MEASURE = re.compile(
    r"[-+]?[0-9]*[.,][0-9]+[a-z°%]{0,3}|[-+]?[0-9]+(?:mm|cm|m|h|s|v|a|kw|hz|rpm|bar|deg|°|%)", re.IGNORECASE
)
_ODD = re.compile(r"[A-Za-z0-9][!@$%^&*+=?~#][A-Za-z0-9]|[a-z][A-Z]")


def _looks_secret(raw: str, following: str, kept: bool) -> bool:
    """Whether a word is one that no sentence would hold: digits among letters, a row of digits, odd signs."""
    if len(raw) < 3 or _is_measure(raw, following) or (kept and _YEAR.fullmatch(raw)):
        return False
    if any(sign.isdigit() for sign in raw):
        return len(raw) > 3 or raw.isdigit()
    return len(raw) > 5 and bool(_ODD.search(raw))


def _is_measure(raw: str, following: str) -> bool:
    """A date, a decimal or a number with its unit: no secret has that shape."""
    if _DATE.fullmatch(raw) or _MEASURE.fullmatch(raw):
        return True
    return raw.isdigit() and following in table.UNITS


def _last_word(before: str) -> str:
    """The word right before, of the same sentence: the h of "500 h." says nothing of the code that follows."""
    words = re.findall(r"[A-Za-z]+", re.split(r"[.;:!?\n]", before)[-1])
    return words[-1].lower() if words else ""
