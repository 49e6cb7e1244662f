"""A thing of the register is used while it is in use.

Finds an enclosure, taxon, party, house, agreement, social unit or brood that an entry names for a day before it was
taken into use or after it was closed; and a change of the register (a later first day, an earlier closing, a striking
out) that would leave standing entries without it. An entry with a range is held to its last possible day. The first
house of the book is there from the beginning, since the book itself may be younger than what is entered in it. A party
that is closed takes no more animals, but what stands there can still be fetched; an agreement that has ended can
still be named, as by the return it provides for. Days of permits are a check of their own.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from ledger.checks.base import REGISTER, Batch, ident, refs, say
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing, Thing
from ledger.things import SUBJECTS, base_of

CODES = ("not-open",)

SORTS: Final = ("enclosure", "taxon", "party", "house", "agreement", "unit", "brood")
GENESIS: Final = 3  # book, first person, first house


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on entries, and on changes of the register."""
    for draft in batch.drafts:
        event = draft.standing
        told: set[str] = set()
        for field, id_ in refs(event.payload) if event.kind != "void" else ():
            thing = batch.index.things.get(id_)
            if thing is None or thing.sort not in SORTS or id_ in told or _owns(batch.index, event, thing):
                continue
            wrong = _outside(thing, event, field)
            if wrong:
                told.add(id_)
                yield draft.at.finding(
                    "not-open",
                    f"{thing.code} {wrong}; the entry is for {event.edtf}",
                    f"{_article(thing.sort)} in use on that day",
                    f"Mend the date or name another; or correct the entry of {thing.code}.",
                    field,
                    batch.index.made_by.get(id_, 0),
                )
        if event.kind == "enclosure_closed" or getattr(event.payload, "closed", None) or draft.old is not None:
            yield from _leaves(batch, draft)


def _owns(index: Index, event: Standing, thing: Thing) -> bool:
    """The event makes the thing, or closes it for the first time; or it is the first house."""
    made = index.made_by.get(thing.id, 0)
    if made == event.root or (thing.sort == "house" and made <= GENESIS):
        return True
    closing = event.kind == "enclosure_closed" and thing.sort == "enclosure"
    others = [r for r in thing.fields["_roots"] if r != event.root and r in index.standing]
    first = all(index.standing[r].kind != "enclosure_closed" for r in others)
    return closing and first and event.last >= thing.since


def _outside(thing: Thing, event: Standing, field: str) -> str:
    """Why an entry cannot name it in that field on its day; "" where it can."""
    if thing.sort in ("permit", *SUBJECTS):
        return ""
    if event.last < thing.since:
        return f"is in use only from {date.fromordinal(thing.since)}"
    if thing.sort != "enclosure" and (thing.sort != "party" or field != "to"):
        return ""
    if thing.until is not None and (event.last > thing.until or event.kind == "enclosure_closed"):
        return f"was closed on {date.fromordinal(thing.until)}"
    return ""


def _article(sort: str) -> str:
    return f"an {sort}" if sort[0] in "aeio" else f"a {sort}"  # a unit


def _leaves(batch: Batch, draft: Draft) -> Iterator[Finding]:
    """A standing entry that a change of the register would leave without what it names; the first such is told."""
    event = draft.old if draft.standing.kind == "void" else draft.standing
    if event is None or event.kind not in (*REGISTER, "brood") or event.kind in ("book", "person"):
        return
    index, base = batch.index, base_of(event.kind)
    id_ = ident(getattr(event.payload, base, None))
    thing = index.things.get(id_)
    if thing is not None and thing.sort == "house" and index.made_by.get(id_, 0) <= GENESIS:
        return
    for user in (*index.naming("named", id_), *index.naming("young", id_)):
        if user.root == event.root or (ident(getattr(user.payload, base, None)) == id_ and user.kind in REGISTER):
            continue
        fields = [field for field, named in refs(user.payload) if named == id_]
        found = (w for field in fields if (w := _outside(thing, user, field))) if thing is not None else ()
        wrong = "would no longer be in the book" if thing is None else next(iter(found), "")
        if wrong:
            name = thing.code if thing is not None else (getattr(event.payload, base).as_ or id_)
            yield draft.at.finding(
                "not-open",
                f"{name} {wrong}, and {say(index, user)} names it",
                f"{_article(base)} in use whenever an entry names it",
                "Correct those entries first, or in the same batch.",
                "",
                user.seq,
            )
            return
