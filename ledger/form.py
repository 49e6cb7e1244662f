"""The form of an envelope, key by key: what `verify` holds every stored event to besides its bytes and hashes."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any, Final

from ledger.event import KEYS, BadValue, instant_us
from ledger.words import CROCKFORD, ENVELOPE

Test = Callable[[Any], bool]


def _like(pattern: str) -> Test:
    compiled = re.compile(pattern, re.ASCII)
    return lambda value: isinstance(value, str) and compiled.fullmatch(value) is not None


_HEX = _like("[0-9a-f]{64}")
_UUID = _like("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_UUID7 = _like("[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_PERSON = _like(f"p-[{CROCKFORD}]{{10}}")
_WORD = _like("[a-z][a-z0-9_]*")
_SOME = _like(r"(?s:.+)")


def _instant(value: Any) -> bool:
    try:
        instant_us(value)
    except (BadValue, TypeError):
        return False
    return True


def _day(value: Any) -> bool:
    try:
        return bool(date.fromisoformat(value).isoformat() == value)
    except (ValueError, TypeError):
        return False


def _number(value: Any) -> bool:
    return type(value) is int and value >= 1


def _empty_or(test: Test) -> Test:
    return lambda value: value is None or test(value)


def _each(test: Test) -> Test:
    return lambda value: isinstance(value, list) and all(map(test, value))


def _keys(needed: dict[str, Test], further: dict[str, Test] | None = None) -> Test:
    known = {**needed, **(further or {})}

    def test(value: Any) -> bool:
        if not isinstance(value, dict) or not needed.keys() <= value.keys() <= known.keys():
            return False
        return all(known[key](inner) for key, inner in value.items())

    return test


def _full(value: Any) -> bool:
    """No null and nothing empty, at any depth."""
    if isinstance(value, dict):
        return bool(value) and all(map(_full, value.values()))
    if isinstance(value, list):
        return bool(value) and all(map(_full, value))
    return value is not None and value != ""


_COMMIT = _keys({"commit": _HEX})
_CODED = _keys({"code": _SOME}, {"text": _COMMIT})

FORMS: Final[dict[str, Test]] = {
    "accepted": _each(_CODED),
    "actor": _PERSON,
    "basis": lambda value: value in ("os", "login", "database", "stated"),
    "batch": _keys({"id": _UUID7, "no": _number, "of": _number}),
    "client": _SOME,
    "clock": _instant,
    "envelope": lambda value: value == ENVELOPE,
    "event_id": _UUID,  # any UUID: a loaded file may have brought its own
    "journal": _HEX,
    "kind": _WORD,
    "observed_by": _each(_PERSON),
    "occurred": _keys({"edtf": _SOME, "first": _empty_or(_day), "last": _day}),
    "payload": lambda value: isinstance(value, dict) and all(map(_full, value.values())),
    "prev": _HEX,
    "reason": _empty_or(_CODED),
    "recorded": _instant,
    "row_key": _empty_or(_HEX),
    "seq": _number,
    "source": _empty_or(_keys({"kind": _SOME}, {"ref": _COMMIT, "sha256": _HEX})),
    "supersedes": _empty_or(_UUID),
    "version": _number,
}


def form_faults(event: dict[str, Any]) -> Iterator[str]:
    """What is not of the form of envelope 1, in words; nothing where all is."""
    if tuple(sorted(event)) != KEYS:
        yield "does not have the 21 keys of an envelope"
        return
    well = True
    for key, test in FORMS.items():
        if not test(event[key]):
            well = False
            yield f"holds in `{key}` what cannot stand there"
    if well:
        yield from _together(event)


def _together(event: dict[str, Any]) -> Iterator[str]:
    mark, days = event["batch"], event["occurred"]
    if mark["no"] > mark["of"] or event["seq"] < mark["no"]:
        yield "has no such place in its batch"
    if days["first"] is not None and days["first"] > days["last"]:
        yield "has its days in the wrong order"
    if (event["kind"] == "book") != (event["seq"] == 1):
        yield "is `book` and not the first, or the first and not `book`"


def commits(value: Any) -> Iterator[str]:
    """Every commitment to a detached text inside a value, in hex."""
    if isinstance(value, dict):
        if _COMMIT(value):
            yield value["commit"]
        for inner in value.values():
            yield from commits(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from commits(inner)
