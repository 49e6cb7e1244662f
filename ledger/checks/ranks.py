"""An order of rank is of the animals of its unit.

Finds an order that names animals which are no members of the unit on that day, by association. They may well be: then
the association is what is missing, and the order is accepted until it is entered.
Source: derived.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import FAR, Batch, ident, refs
from ledger.dates import Day, parse
from ledger.findings import Finding
from ledger.index import Index

CODES = ("not-of-the-unit",)


def check(batch: Batch) -> Iterator[Finding]:
    """One finding an order, with all it names that are no members."""
    for draft in batch.drafts:
        event = draft.standing
        if event.kind != "hierarchy" or draft.old is not None:
            continue
        unit = ident(getattr(event.payload, "unit", None))
        members = _members(batch.index, unit, event.first, event.last)
        others = dict.fromkeys(i for field, i in refs(event.payload) if field != "unit" and i not in members)
        if others:
            names = ", ".join(batch.index.name(animal) for animal in others)
            yield draft.at.finding(
                "not-of-the-unit",
                f"{names} {'is' if len(others) == 1 else 'are'} no member of {batch.index.name(unit)} on {event.edtf}",
                "animals that are associated with the unit as its members",
                "Enter the association (relation=member) first, or mend the order.",
                "order",
            )


def _members(index: Index, unit: str, first: int, last: int) -> set[str]:
    """Animals and lots that may be members of a unit on one of these days."""
    out = set()
    for event in index.naming("named", unit):
        p = event.payload
        if event.kind == "association" and getattr(p, "relation", "") == "member":
            begun = min(event.first, _day(getattr(p, "since", None), first=True, other=event.first))
            until = _day(getattr(p, "until", None), first=False, other=FAR)
            if begun <= last and until >= first:
                out.add(ident(getattr(p, "animal", None)) or ident(getattr(p, "lot", None)))
    return out


def _day(edtf: str | None, *, first: bool, other: int) -> int:
    """The first or last possible day of a date, `other` where it has none."""
    if edtf is None:
        return other
    value = parse(edtf)
    day = value.first if first else value.last
    return date(*day).toordinal() if isinstance(day, Day) and day.year > 0 else other
