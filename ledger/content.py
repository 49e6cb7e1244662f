"""The same content: what an entry and a stored event must share to be one and the same (envelope item 9)."""

from __future__ import annotations

from typing import Any

import orjson

from ledger.findings import Finding
from ledger.index import Index
from ledger.store.errors import NoSuch
from ledger.words import PREFIX

# fields the book fills in where nobody typed them; an entry that leaves them out says the same
FILLED = (
    *("holder", "owner", "standing", "from", "to", "taxon", "sex", "was", "enclosure", "how_many", "code"),
    *("leaving", "addition", "owned_by", "on_the_way", "sent", "arrived_alive", "count_day", "of"),
)


def open_text(value: Any, store: Any) -> Any:
    """A value with its detached texts opened, however deep; erased text stays a commitment."""
    if isinstance(value, list):
        return [open_text(v, store) for v in value]
    if not isinstance(value, dict):
        return value
    if set(value) != {"commit"}:
        return {k: open_text(v, store) for k, v in value.items()}
    try:
        return store.text(value["commit"])
    except NoSuch:
        return value


def content_of(store: Any, seq: int) -> dict[str, Any]:
    """What an event says, in typed form: names as typed, texts opened."""
    event = orjson.loads(store.event(seq).data)
    payload = {k: _as(open_text(v, store)) for k, v in event["payload"].items()}
    out = {k: event[k] for k in ("kind", "version", "supersedes", "observed_by")}
    out |= {"occurred": event["occurred"]["edtf"], "payload": payload}
    for key, part in (("reason", "text"), ("source", "ref")):
        value = dict(event[key]) if event[key] else None
        if value and part in value:
            value[part] = open_text(value[part], store)
        out[key] = value
    return out


def with_writer(finding: Finding, store: Any, index: Index) -> Finding:
    """Who came before, and when, where a correction finds another already there."""
    if finding.code not in ("not-the-newest", "struck-out") or not 0 < finding.event <= store.head().position:
        return finding
    other = orjson.loads(store.event(finding.event).data)
    when = f"{other['recorded'][:16].replace('T', ' ')} UTC"
    return finding._replace(found=f"{finding.found}, which {index.name(other['actor'])} wrote at {when}")


def _as(value: Any) -> Any:
    """A value as it was typed: names, texts, numbers without their zeros."""
    if isinstance(value, list):
        return [_as(v) for v in value]
    if not isinstance(value, dict):
        return value
    if value and set(value) <= {"as", "id"}:
        return value.get("as", value.get("id"))
    if set(value) == {"clear"}:
        return value["clear"]
    if value and set(value) <= {"m", "f", "u", "h", "n"}:
        return {k: n for k, n in value.items() if n} or {"u": 0}
    return {k: _as(v) for k, v in value.items()}


def same_content(entry: dict[str, Any], stored: dict[str, Any], index: Index) -> bool:
    """Tell whether an entry, as people write it, says what a stored event says."""
    from ledger import kinds

    if entry.get("kind") != stored["kind"] or str(entry.get("occurred")).strip() != stored["occurred"]:
        return False
    try:
        kind = kinds.KINDS[stored["kind"]]
        given = kind.Payload.model_validate(entry.get("payload", {})).model_dump(
            mode="json", by_alias=True, exclude_none=True
        )
    except ValueError:
        return False
    given = {k: _as(v) for k, v in given.items()}
    has = stored["payload"]
    if any(k not in given and k not in FILLED for k in has):
        return False
    if any(not _alike(v, has.get(k), index) for k, v in given.items()):
        return False
    reason = entry.get("reason")
    reason = {"code": reason} if isinstance(reason, str) else reason
    people = [_person(p, index) for p in entry.get("observed_by") or []]
    superseded = entry.get("supersedes")
    same_line = (superseded is None) == (stored["supersedes"] is None)
    return (
        same_line
        and (reason or None) == stored["reason"]
        and (entry.get("source") or None) == stored["source"]
        and people == stored["observed_by"]
    )


def _alike(given: Any, stored: Any, index: Index) -> bool:
    if given == stored:
        return True
    if not isinstance(given, str) or not isinstance(stored, str):
        return False
    if stored[1:2] == "-":
        return stored in index.find(tuple(PREFIX), given)
    seq = index.seq_of(given)  # an event named as #n stands by its id
    return seq is not None and index.by_id.get(stored) == seq


def _person(code: str, index: Index) -> str:
    return (index.find(("person",), str(code)) or [str(code)])[0]
