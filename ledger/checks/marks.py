"""Marks can be read, are borne by the animal they are taken from, and tell animals apart.

Finds a transponder number that no chip can bear (ISO 11784, see `ledger.transponder`) and one set aside for tests;
a mark taken off an animal that does not bear it on that day; and a transponder that another animal bears. A number
read again on the same animal, or on another after it was taken off the first, is no finding. Asked of markings and
unmarkings. Of other schemes only what is taken off is asked: rings and names do occur twice.
Source: as named in `ledger.transponder`; the rest common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger import transponder
from ledger.checks.base import Batch, subject_of
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.lookup import Key, mark_key

CODES = ("bad-mark", "mark-not-borne", "mark-on-two", "test-transponder")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on markings and unmarkings."""
    for draft in batch.drafts:
        kind = draft.standing.kind
        if kind == "unmarking":
            yield from _not_borne(batch.index, draft)
        elif kind == "marking" and getattr(draft.standing.payload, "scheme", "") == "transponder":
            yield from _transponder(batch.index, draft)


def _transponder(index: Index, draft: Draft) -> Iterator[Finding]:
    event = draft.standing
    read = transponder.read(getattr(event.payload, "value", ""))
    if read.refused is not None:
        yield draft.at.finding("bad-mark", *read.refused, "value")
        return
    if read.warned is not None:
        yield draft.at.finding("test-transponder", *read.warned, "value")
    mine, told = subject_of(event.payload), set[str]()
    for other in index.naming(*_key(event)):
        bearer = subject_of(other.payload)
        if bearer == mine or bearer in told or not _borne(index, bearer, _key(event), None):
            continue
        told.add(bearer)
        yield draft.at.finding(
            "mark-on-two",
            f"transponder {read.number} is borne by {index.name(bearer)} too",
            "a number that is on one animal",
            f"Read both tags again; if it was taken off {index.name(bearer)}, enter that.",
            "value",
            other.seq,
        )


def _not_borne(index: Index, draft: Draft) -> Iterator[Finding]:
    event, payload = draft.standing, draft.standing.payload
    subject = subject_of(payload)
    if _borne(index, subject, _key(event), event):
        return
    scheme, value = getattr(payload, "scheme", ""), getattr(payload, "value", "")
    marks = {_key(m): m for m in index.naming("marks", subject) if m.kind == "marking"}
    borne = [
        f"{_word(k)} {getattr(m.payload, 'value', '')}" for k, m in marks.items() if _borne(index, subject, k, event)
    ]
    yield draft.at.finding(
        "mark-not-borne",
        f"{index.name(subject)} does not bear {scheme.replace('_', ' ')} {value} on that day",
        f"one of its marks: {', '.join(borne)}" if borne else "a mark that it bears; none is on record",
        "Mend the mark, the animal or the date; or enter the marking first.",
        "value",
    )


def _key(event: Standing) -> Key:
    return mark_key(getattr(event.payload, "scheme", ""), getattr(event.payload, "value", ""))


def _word(key: Key) -> str:
    return str(key[1]).replace("_", " ")


def _borne(index: Index, subject: str, key: Key, before: Standing | None) -> bool:
    """The last that happened to the mark, before an event or up to now, is that it was put on."""
    days = [(e.last, e.root, e.kind == "marking") for e in index.naming("marks", subject) if _key(e) == key]
    if before is not None:
        days = [d for d in days if d[:2] < (before.last, before.root)]
    return max(days)[2] if days else False
