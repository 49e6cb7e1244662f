"""A pair is two of one taxon that are free, and what is parted was a pair.

Finds a pairing of an animal that stands in another bond in a taxon of one mate, or of two that are a pair already; of
two of different taxa; and a parting of two that are no pair on that day. A bond stands from its start until its
parting, or until one of the two dies or leaves; an escape suspends it. Both ends of an uncertain date are read kindly:
a bond that may have ended is no reproach. Taxa of several mates, and those of which the register does not say, may have
as many as they do.
Source: common practice, no source; the end of a bond is defined in `reports/README.md`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import FAR, Batch, ident, of_taxon, say, spells, taxon_of
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.words import IN_TRANSIT, LOST

CODES = ("already-paired", "not-paired", "pair-of-two-taxa")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on pairings and partings; not asked of a correction that leaves the two and the day as they were."""
    for draft in batch.drafts:
        event = draft.standing
        unchanged = draft.old is not None and (_two(draft.old), draft.old.last) == (_two(event), event.last)
        if event.kind == "pairing" and not unchanged:
            yield from _already(batch.index, draft)
            yield from _two_taxa(batch.index, draft)
        elif event.kind == "parting" and not unchanged:
            yield from _not_paired(batch.index, draft)


def _already(index: Index, draft: Draft) -> Iterator[Finding]:
    event = draft.standing
    for animal in _two(event):
        one_mate = of_taxon(index, taxon_of(index, animal) or _said(index, animal), "mates") == "one"
        for other in index.naming("named", animal):
            same = _two(other) == _two(event)
            if other.kind != "pairing" or other.root == event.root or not (one_mate or same):
                continue
            day = max(event.last, _since(other))
            if _stands(index, other, day) and _stands(index, event, day):
                (mate,) = _two(other) - {animal}
                since = date.fromordinal(_since(other))
                yield draft.at.finding(
                    "already-paired",
                    f"{index.name(animal)} is paired with {index.name(mate)} since {since}",
                    "an animal without a mate, in a taxon of one mate" if not same else "two that are no pair yet",
                    f"Enter first how the pair of #{other.seq} ended; if both stand, accept it with the reason.",
                    "a" if ident(getattr(event.payload, "a", None)) == animal else "b",
                    other.seq,
                )
                return


def _two_taxa(index: Index, draft: Draft) -> Iterator[Finding]:
    of = {animal: taxon_of(index, animal) or _said(index, animal) for animal in sorted(_two(draft.standing))}
    if "" not in of.values() and len(set(of.values())) > 1:
        yield draft.at.finding(
            "pair-of-two-taxa",
            " and ".join(f"{index.name(animal)}, {index.name(taxon)}" for animal, taxon in of.items()),
            "two of one taxon",
            "Mend the number; if the two of different taxa did pair, accept it with the reason.",
            "b",
        )


def _not_paired(index: Index, draft: Draft) -> Iterator[Finding]:
    event = draft.standing
    two = _two(event)
    bonds = [e for e in index.naming("named", min(two)) if e.kind == "pairing" and _two(e) == two]
    if any(_stands(index, bond, event.first - 1, without=event.root) for bond in bonds):
        return
    if any(_since(bond) <= event.last and _stands(index, bond, event.last, without=event.root) for bond in bonds):
        return
    names = " and ".join(sorted(index.name(animal) for animal in two))
    yield draft.at.finding(
        "not-paired",
        f"{names} are no pair on {event.edtf}" + (f" ({say(index, bonds[-1])} has ended)" if bonds else ""),
        "two that are a pair",
        "Enter the pairing first, or mend the animals or the date.",
        "a",
        bonds[-1].seq if bonds else 0,
    )


def _two(event: Standing) -> frozenset[str]:
    """The two of a pairing or parting."""
    return frozenset(i for f in ("a", "b") if (i := ident(getattr(event.payload, f, None))))


def _since(bond: Standing) -> int:
    """The day on which a bond certainly stood: that of its entry."""
    return bond.last


def _stands(index: Index, bond: Standing, day: int, without: int = 0) -> bool:
    """Certainly stands at the close of a day, a parting of root `without` left out."""
    start, two = _since(bond), _two(bond)
    if day < start:
        return False
    partings = (e for e in index.naming("named", min(two)) if e.kind == "parting" and _two(e) == two)
    if any(start <= e.last and e.first <= day and e.root != without for e in partings):
        return False
    return all(_ended(index, animal, start) > day for animal in two)


def _ended(index: Index, animal: str, start: int) -> int:
    """The first day it may be gone for good after a day; an animal outside the book is always there."""
    if index.outside(animal):
        return FAR
    here = spells(index, animal, lambda c: c.place[:2] == "e-" or c.place == IN_TRANSIT or c.place in LOST)
    went = [end for begun, end in here if end > start]
    could = [line.could_from for line in index.tale(animal).lines if line.counts_on in went and line.delta < 0]
    return min([*went, *could], default=0)


def _said(index: Index, animal: str) -> str:
    """The taxon of an outside animal, as it was entered."""
    thing = index.things.get(animal)
    return ident(thing.fields.get("taxon")) if thing is not None else ""
