"""A listed animal that changes hands has papers.

Finds a transfer, or a collection from the wild, of a taxon that stood in a CITES Appendix on that day, entered
without a permit. Listings are those of the taxon entry, from their own day on. Not asked where an authority gives or
takes the animal, nor of rescues, strandings, seizures and finds, which begin before there are papers.
Whether a permit is needed (a border is crossed, an exception holds), local law and the licensing authority decide;
the book knows no borders, so it asks and takes a reason for an answer.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import Batch, ident, of_taxon, subject_of, taxon_of
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("permit-missing",)

APPENDICES = ("I", "II", "III")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on transfers and acquisitions."""
    for draft in batch.drafts:
        event = draft.standing
        if not _asked(batch.index, event):
            continue
        subject = subject_of(event.payload)
        taxon = ident(getattr(event.payload, "taxon", None)) or taxon_of(batch.index, subject)
        listing = _listing(batch.index, taxon, event.last)
        if listing:
            field = "permits" if event.kind == "transfer" else "permit"
            yield draft.at.finding(
                "permit-missing",
                f"no permit is named, and {batch.index.name(taxon)} is in CITES Appendix {listing}",
                "the number of a permit or certificate",
                f"Say {field}=…; if none was needed, accept it with the reason. Local law and the licensing "
                "authority decide.",
                field,
            )


def _asked(index: Index, event: Standing) -> bool:
    payload = event.payload
    if event.kind == "acquisition":
        return getattr(payload, "manner", "") == "wild_collection" and not getattr(payload, "permit", None)
    if event.kind != "transfer" or getattr(payload, "permits", None):
        return False
    sides = (index.things.get(ident(getattr(payload, f, None))) for f in ("from_", "to"))
    return all(side is None or side.fields.get("sort") != "authority" for side in sides)


def _listing(index: Index, taxon: str, day: int) -> str:
    """The strictest Appendix in which it stood on a day; "" where it stood in none."""
    found = [
        listing.listing.upper().removeprefix("APPENDIX ").strip()
        for listing in of_taxon(index, taxon, "listings") or ()
        if listing.instrument.upper() == "CITES"
        and (listing.since is None or date.fromisoformat(listing.since).toordinal() <= day)
    ]
    return next((a for a in APPENDICES if a in found), "")
