"""The stored event: its 21 keys, its canonical bytes, its leaf, and text held apart from the bytes.

Bytes are RFC 8785 over NFC text with whole numbers only, so one event has exactly one form. `canonical`
looks at every value and then encodes; `encode` only encodes, for a value whose parts `normalise` has
returned. Both give what the `rfc8785` package gives: tests and `verify` hold them to it.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Container
from datetime import UTC, datetime, timedelta
from typing import Any, Final, NamedTuple, NotRequired, TypedDict

import orjson

UNICODE: Final = unicodedata.unidata_version
ZERO: Final = bytes(32)
MOST_BYTES: Final = 65_536
MOST_LEVELS: Final = 8
MOST_NUMBER: Final = 10**9


class Commit(TypedDict):
    """Free text as the bytes hold it: `commit_text` of a salt and the text, 64 hex digits."""

    commit: str


class BatchMark(TypedDict):
    """Which batch (UUIDv7), which event of it from 1, of how many."""

    id: str
    no: int
    of: int


class Occurred(TypedDict):
    """As typed (EDTF), and the first and last possible day, ISO; only `first` may be open."""

    edtf: str
    first: str | None
    last: str


class Coded(TypedDict):
    """A code of a closed list, and words about it."""

    code: str
    text: NotRequired[Commit]


class Source(TypedDict):
    """What the entry was made from: sort of source, its reference, hash of the file."""

    kind: str
    ref: NotRequired[Commit]
    sha256: NotRequired[str]


class Event(TypedDict):
    """Envelope 1: these 21 keys, always present, None where empty. The form is frozen."""

    accepted: list[Coded]
    actor: str
    basis: str
    batch: BatchMark
    client: str
    clock: str
    envelope: int
    event_id: str
    journal: str
    kind: str
    observed_by: list[str]
    occurred: Occurred
    payload: dict[str, Any]
    prev: str
    reason: Coded | None
    recorded: str
    row_key: str | None
    seq: int
    source: Source | None
    supersedes: str | None
    version: int


KEYS: Final = tuple(sorted(Event.__annotations__))


class TextRow(NamedTuple):
    """A detached text: commitment (hex), salt (32 bytes), text in NFC."""

    commit: str
    salt: bytes
    text: str


class BadValue(ValueError):
    """A value the bytes cannot hold: where, what was `found`, what was `expected`; `code` names the finding."""

    def __init__(self, found: str, expected: str, code: str = "bad-field", where: str = "") -> None:
        super().__init__(f"{where or 'the value'}: {found}; expected {expected}")
        self.found, self.expected, self.code, self.where = found, expected, code, where

    def inside(self, key: str | int) -> BadValue:
        """The same, seen from one level further out."""
        step = f"[{key}]" if isinstance(key, int) else key
        joint = "" if not self.where or self.where.startswith("[") else "."
        return BadValue(self.found, self.expected, self.code, f"{step}{joint}{self.where}")


def normalise(value: Any, level: int = 2) -> Any:
    """The value in the one form that is stored: text in NFC, fresh containers. Done once, at admission.

    `level` is the depth it will stand at (2: a value right inside the event; the event itself is 1).
    Raises BadValue for floats and other types, numbers beyond ±10⁹, null or empty values, lone surrogates,
    characters unknown to this Unicode (their NFC is not settled), keys that meet after NFC, and depth over 8.
    """
    sort = type(value)
    if sort is str:
        if not value:
            raise BadValue("empty text", "a value, or the key left out")
        return value if value.isascii() else _nfc(value)
    if sort is dict or sort is list:
        if not value:
            raise BadValue("nothing in it", "a value, or the key left out")
        if level > MOST_LEVELS:
            raise BadValue("more than eight levels", "at most eight", "too-large")
        return _dict(value, level + 1) if sort is dict else _list(value, level + 1)
    if value is None:
        raise BadValue("null", "a value, or the key left out")
    _scalar(value)
    return value


def _dict(value: dict[Any, Any], level: int) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, inner in value.items():
        try:
            name = _key(key, out)
            out[name] = normalise(inner, level)
        except BadValue as bad:
            raise bad.inside(str(key)) from None
    return out


def _list(value: list[Any], level: int) -> list[Any]:
    out: list[Any] = []
    for place, inner in enumerate(value):
        try:
            out.append(normalise(inner, level))
        except BadValue as bad:
            raise bad.inside(place) from None
    return out


def _scalar(value: Any) -> None:
    if type(value) is bool:
        return
    if type(value) is not int:
        raise BadValue(f"{type(value).__name__} {value!r}", "text, a whole number, true or false")
    if not -MOST_NUMBER <= value <= MOST_NUMBER:
        raise BadValue(f"the number {value}", "at most 10⁹ either way")


def _key(key: Any, taken: Container[str] = (), *, nfc: bool = False) -> str:
    """The key in NFC; refused where it is `taken`, and where `nfc` says it has to be so already."""
    if type(key) is not str:
        raise BadValue(f"the key {key!r}", "keys that are text")
    name = key if key.isascii() else _nfc(key)
    if name in taken or (nfc and name != key):
        raise BadValue(f"the key {key!r}", "every key once, in NFC")
    # RFC 8785 sorts keys by UTF-16 units, the fast encoder by code points: equal only up to U+FFFF
    if not name.isascii() and max(name) > "\uffff":
        raise BadValue(f"the key {key!r}", "keys without characters beyond U+FFFF")
    return name


def _nfc(text: str) -> str:
    for char in text:
        if not char.isascii() and unicodedata.category(char) in ("Cs", "Cn"):
            raise BadValue(f"the character U+{ord(char):04X}", f"characters that Unicode {UNICODE} assigns")
    return unicodedata.normalize("NFC", text)


def check(value: Any, level: int = 1) -> None:
    """Raise BadValue where the bytes of `value` would not be those of envelope 1; None and empty values pass."""
    sort = type(value)
    if sort is dict or sort is list:
        if level > MOST_LEVELS:
            raise BadValue("more than eight levels", "at most eight", "too-large")
        for key, inner in value.items() if sort is dict else enumerate(value):
            try:
                if sort is dict:
                    _key(key, nfc=True)
                check(inner, level + 1)
            except BadValue as bad:
                raise bad.inside(key if sort is list else str(key)) from None
    elif sort is str:
        if not value.isascii() and _nfc(value) != value:
            raise BadValue(f"{value!r}", "text in NFC")
    elif value is not None:
        _scalar(value)


def encode(event: Any) -> bytes:
    """Bytes of an event whose parts are known to be in order: sorted keys, no white space, UTF-8."""
    out = orjson.dumps(event, option=orjson.OPT_SORT_KEYS)
    if len(out) > MOST_BYTES:
        raise BadValue(f"{len(out)} bytes", "an event of at most 65,536", "too-large")
    return out


def canonical(event: Any) -> bytes:
    """The bytes of an event, every value looked at first. Raises BadValue."""
    check(event)
    return encode(event)


def leaf(data: bytes) -> bytes:
    """sha256(0x00 ‖ bytes), 32 bytes: the event's place in the chain and in the tree."""
    return hashlib.sha256(b"\x00" + data).digest()


def commit_text(salt: bytes, text: str) -> str:
    """sha256(0x02 ‖ salt ‖ utf8(NFC(text))) in hex; the salt has 32 bytes and serves one value only."""
    if len(salt) != 32:
        raise BadValue(f"a salt of {len(salt)} bytes", "32 bytes")
    text = text if text.isascii() else unicodedata.normalize("NFC", text)
    return hashlib.sha256(b"\x02" + salt + text.encode()).hexdigest()


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)
_MICROSECOND = timedelta(microseconds=1)


def instant_text(microseconds: int) -> str:
    """Microseconds since 1970 (UTC) as the 27 characters `2026-03-05T09:14:03.120442Z`."""
    return (_EPOCH + timedelta(microseconds=microseconds)).isoformat(timespec="microseconds")[:26] + "Z"


def instant_us(text: str) -> int:
    """The other way; raises BadValue unless the text is exactly those 27 characters and names an instant."""
    if not _INSTANT.fullmatch(text):
        raise BadValue(repr(text), "an instant such as 2026-03-05T09:14:03.120442Z")
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise BadValue(repr(text), "an instant that exists") from None
    return (at - _EPOCH) // _MICROSECOND
