"""The key of a row of a loaded file: the same row, loaded again, is known by it and skipped.

row_key = sha256(profile ‖ 0x00 ‖ canonical row ‖ 0x00 ‖ which such row of the file), in hex (envelope 9). The
canonical row is the entry in RFC 8785 over NFC without its free texts and persons, which may be put right or
erased while the row stays the same row, and without its `batch` mark. A row that bears an event id of its own
is told apart by it.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable
from typing import Any, Final

from ledger.event import BadValue, encode, normalise
from ledger.kinds import KINDS, Kind
from ledger.refs import inner_texts, ref_fields, text_fields

JSONL: Final = "jsonl-1"  # profile: how a file's rows are read; stands in the key for ever
_APART: Final = ("observed_by", "batch")


def row_keys(entries: Iterable[dict[str, Any]], profile: str) -> list[str | None]:
    """The key of each row of one file, in order; None for a row that cannot stand in bytes (the book says why)."""
    seen: Counter[bytes] = Counter()
    out: list[str | None] = []
    for entry in entries:
        try:
            row = encode(normalise(_bare(entry), level=1))
        except BadValue:
            out.append(None)
            continue
        seen[row] += 1
        parts = (profile.encode(), row, str(seen[row]).encode())
        out.append(hashlib.sha256(b"\x00".join(parts)).hexdigest())
    return out


def _untexted(name: str, value: Any, kind: Kind) -> Any:
    """A field without the free texts inside the entries of its list (facts, listings)."""
    inside = inner_texts(kind.Payload, name)
    if not inside or not isinstance(value, list):
        return value
    return [{k: v for k, v in part.items() if k not in inside} if isinstance(part, dict) else part for part in value]


def _bare(entry: dict[str, Any]) -> dict[str, Any]:
    """The entry without free texts and persons."""
    row = {k: v for k, v in entry.items() if k not in _APART}
    for part, text in (("reason", "text"), ("source", "ref")):
        if isinstance(row.get(part), dict):
            row[part] = {k: v for k, v in row[part].items() if k != text}
    kind = KINDS.get(str(row.get("kind")))
    payload = row.get("payload")
    if kind is not None and isinstance(payload, dict):
        away = {name for name, _ in text_fields(kind.Payload)}
        away |= {f.name for f in ref_fields(kind.Payload) if "person" in f.sorts and f.new == "never"}
        row["payload"] = {k: _untexted(k, v, kind) for k, v in payload.items() if k not in away}
    return {k: v for k, v in row.items() if v not in ({}, [])}
