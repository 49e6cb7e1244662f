"""What people type at the command, turned into an entry: `field=value`, days by name, numbers in a row.

Nothing here knows the book: values are handed on as typed, and the book says what is wrong with them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import date
from typing import Any

from ledger.dates import DateRefused, typed_day

DAY_FIELDS = frozenset(
    (
        *("occurred", "hatched_on", "born", "arrived", "holds_since", "since", "until", "started", "counted_on"),
        *("first_young", "last_young"),
    )
)
ENVELOPE = ("occurred", "observed_by", "source", "event_id")  # beside the payload, named as in a loaded file
MOST_AT_ONCE = 999
_NAME = re.compile(r"[a-z][a-z_]*(\.[A-Za-z0-9_-]+)*")
_M_F_U = re.compile(r"(\d+)\.(\d+)\.(\d+)")
_HOW_MANY = re.compile(r"\d+|\d+\.\d+\.\d+(\s*\+\s*\d+\s*h?)?", re.ASCII)
COUNT_FIELDS = frozenset({"how_many", "taken_as", "dead_on_arrival", "arrived_alive", "sent"})
_LAST_DIGITS = re.compile(r"(.*\D|)(\d+)(\D*)", re.ASCII | re.DOTALL)


class Mistyped(Exception):
    """Something typed that cannot be understood; the text is one sentence with the way out (exit 2)."""


def day(text: str, today: date) -> str:
    """`today`, `yesterday` and names of weekdays to ISO (`ledger.dates.typed_day`); all else as it is, for the book."""
    try:
        return typed_day(text.strip(), today)
    except DateRefused as refused:
        raise Mistyped(f"{refused.found[:1].upper()}{refused.found[1:]}. {refused.way_out}") from refused


def how_many(text: str) -> str:
    """A number of animals as typed: `5` (sexes not told), `2.3.1` (males.females.unknown), `2.3.1+4h`."""
    if not _HOW_MANY.fullmatch(text.strip()):
        raise Mistyped(
            f"“{text}” is no number of animals; write 5 (sexes not told), 2.3.1 (males.females.unknown) or 2.3.1+4h "
            "(and four hermaphrodites)."
        )
    return text.strip()


def spoken(iso: str) -> str:
    """A day with its weekday, so that a slip of a week is seen: `2026-11-23 (Monday)`; other dates as they are."""
    try:
        return f"{iso} ({date.fromisoformat(iso):%A})" if len(iso) == len("2026-11-23") else iso
    except ValueError:
        return iso


def pairs(typed: Iterable[str], lists: frozenset[str] = frozenset()) -> dict[str, Any]:
    """`field=value …` to a map. `how_many.m=2` goes one level down, a field given twice makes a list.

    `lists` are the fields that are lists even with one value. A value that opens with a bracket is JSON.
    """
    out: dict[str, Any] = {}
    for text in typed:
        name, sign, value = text.partition("=")
        name = name.strip()
        if not sign:
            raise Mistyped(f"“{text}” is not field=value; write for example cause=not_determined.")
        if not _NAME.fullmatch(name):
            raise Mistyped(f"“{name}” is not the name of a field; `tidemark schema KIND` lists them.")
        if not value.strip():
            raise Mistyped(f"“{name}” has no value; leave the field out, or quote a text: {name}='…'.")
        whole = name.startswith("how_many.") and value.strip().isdecimal()
        _put(out, name.split("."), int(value) if whole else _value(name, value.strip()), name in lists)
    return out


def _value(name: str, text: str) -> Any:
    if text[:1] not in ("[", "{"):
        return how_many(text) if name in COUNT_FIELDS else text
    try:
        return json.loads(text)
    except ValueError as error:
        raise Mistyped(
            f"“{name}” opens a bracket but is not JSON; for several give the field again, {name}=A {name}=B, "
            f'or quote the list: {name}=\'["A","B"]\'.'
        ) from error


def _put(out: dict[str, Any], path: list[str], value: Any, many: bool) -> None:
    for step in path[:-1]:
        inner = out.setdefault(step, {})
        if not isinstance(inner, dict):
            raise Mistyped(f"“{path[0]}” is given whole and in parts; keep one of the two.")
        out = inner
    name = path[-1]
    if name not in out:
        out[name] = [value] if many and not isinstance(value, list) else value
    elif isinstance(out[name], list):
        out[name].append(value)
    elif isinstance(out[name], dict):
        raise Mistyped(f"“{name}” is given whole and in parts; keep one of the two.")
    else:
        out[name] = [out[name], value]


def entry(kind: str, fields: dict[str, Any], today: date) -> dict[str, Any]:
    """The entry of one event: envelope fields beside the payload, days by name made ISO."""
    out: dict[str, Any] = {"kind": kind}
    payload: dict[str, Any] = {}
    for name, typed in fields.items():
        value = day(typed, today) if name in DAY_FIELDS and isinstance(typed, str) else typed
        (out if name in ENVELOPE else payload)[name] = value
    if isinstance(out.get("observed_by"), str):
        out["observed_by"] = [out["observed_by"]]
    if isinstance(out.get("source"), str):
        sort, _, ref = out["source"].partition(":")
        out["source"] = {"kind": sort.strip(), **({"ref": ref.strip()} if ref.strip() else {})}
    for name in ("occurred", "event_id"):
        if isinstance(out.get(name), list):
            raise Mistyped(f"“{name}” is given twice; keep one of the two.")
    return {**out, "payload": payload}


def in_a_row(first: str, count: int) -> list[str]:
    """`count` numbers from `first` on, the last run of digits counted up in its own width: MS-2026-0098 … 0109."""
    parts = _LAST_DIGITS.fullmatch(first)
    if parts is None:
        raise Mistyped(f"“{first}” has no digits to count up from; give a first number such as MS-2026-0101.")
    head, digits, tail = parts.groups()
    return [f"{head}{int(digits) + i:0{len(digits)}}{tail}" for i in range(count)]


def several(one: dict[str, Any], count: int) -> list[dict[str, Any]]:
    """One entry of an animal made into `count`, with numbers in a row; a sex of m.f.u is dealt out in order.

    What belongs to one animal only (a call name, an event id) cannot be given to several.
    """
    if not 1 <= count <= MOST_AT_ONCE:
        raise Mistyped(f"count is between 1 and {MOST_AT_ONCE}; more animals than that are a lot: lot=… how_many=….")
    payload = one["payload"]
    if count == 1:
        return [one]
    if "animal" not in payload:
        raise Mistyped("count= makes several animals and needs the first number, animal=…; a lot takes how_many=.")
    for name, holder in (("name", payload), ("event_id", one)):
        if name in holder:
            raise Mistyped(f"“{name}” belongs to one animal and count= makes {count}; leave it out.")
    sexes = _dealt(payload.get("sex"), count)
    out = []
    for i, number in enumerate(in_a_row(str(payload["animal"]), count)):
        fields = {**payload, "animal": number}
        if sexes:
            fields["sex"] = sexes[i]
        out.append({**one, "payload": fields})
    return out


def _dealt(sex: Any, count: int) -> list[str]:
    match = _M_F_U.fullmatch(sex) if isinstance(sex, str) else None
    if not match:
        return []
    dealt = [letter for letter, n in zip("mfu", match.groups(), strict=True) for _ in range(int(n))]
    if len(dealt) != count:
        raise Mistyped(f"sex={sex} makes {len(dealt)} animals and count={count} another number; make them agree.")
    return dealt


def next_number(pattern: str, year: int, taken: Iterable[str]) -> str:
    """The next accession number of a house by its pattern, such as `MS-{year}-{n:04}`: one above the highest taken.

    `taken` are the numbers ever used in the house; those of other years or other patterns do not count.
    """
    mark = "\x00"
    width = re.search(r"\{n(?::0?(\d+))?\}", pattern)
    if width is None:
        return ""
    shape = pattern.replace("{year}", str(year)).replace(width[0], mark)
    known = re.compile(re.escape(shape).replace(re.escape(mark), r"(\d+)"))
    highest = max((int(m[1]) for number in taken if (m := known.fullmatch(number))), default=0)
    return shape.replace(mark, f"{highest + 1:0{int(width[1] or 1)}}")


def event_ref(text: str) -> int | str:
    """`#812`, `812` or a UUID, as it names an event."""
    word = text.strip().removeprefix("#")
    if word.isascii() and word.isdigit():
        return int(word[:12])
    if re.fullmatch(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}", word):
        return word.lower()
    raise Mistyped(f"“{text}” is no event; write #812, 812 or its UUID.")
