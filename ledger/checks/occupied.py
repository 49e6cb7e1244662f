"""An enclosure closes empty.

Finds animals that would still stand in an enclosure, or in a part of it, at the close of its last day. Asked when an
enclosure is closed, and when an entry, a correction or a striking out makes animals stay in one that is closed.
Those that leave on the last day itself have left.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import Batch, ident
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index

CODES = ("enclosure-occupied",)


def check(batch: Batch) -> Iterator[Finding]:
    """One finding for each entry and enclosure."""
    index = batch.index
    drafts = {draft.standing.seq: draft for draft in batch.drafts}
    concerned: dict[tuple[int, str], tuple[Draft, int, set[str]]] = {}
    for posting in batch.postings:
        place, draft = posting.line.cell.place, drafts.get(posting.because)
        thing = index.things.get(place) if place[:2] == "e-" else None
        if thing is not None and thing.until is not None and draft is not None:
            _, _, subjects = concerned.setdefault((draft.number, place), (draft, thing.until, set()))
            subjects.add(posting.line.subject)
    for draft in batch.drafts:
        if draft.standing.kind == "enclosure_closed":
            closed = ident(getattr(draft.standing.payload, "enclosure", None))
            for place in [closed, *_parts(index, closed)]:
                users = {s for e in index.naming("named", place) for s in e.subjects()}
                concerned[draft.number, place] = (draft, draft.standing.last, users)
    for (_, place), (draft, until, subjects) in concerned.items():
        there = sorted(index.name(s) for s in subjects if _stands(index, s, place, until))
        if there:
            more = f" and {len(there) - 5} more" if len(there) > 5 else ""
            yield draft.at.finding(
                "enclosure-occupied",
                f"{', '.join(there[:5])}{more} would stand in {index.name(place)} at the close of "
                f"{date.fromordinal(until)}, its last day",
                "an enclosure without animals",
                "Move them first, or close it later.",
            )


def _parts(index: Index, enclosure: str) -> list[str]:
    """Enclosures within it that are still open, at any depth."""
    out: list[str] = []
    for event in index.naming("named", enclosure):
        part = ident(getattr(event.payload, "enclosure", None))
        thing = index.things.get(part)
        inside = event.kind in ("enclosure", "enclosure_changed") and part != enclosure and part not in out
        if inside and thing is not None and thing.until is None and ident(thing.fields.get("parent")) == enclosure:
            out += [part, *(p for p in _parts(index, part) if p not in out)]
    return out


def _stands(index: Index, subject: str, place: str, day: int) -> bool:
    lines = index.tale(subject).lines
    return sum(line.delta for line in lines if line.cell.place == place and line.counts_on <= day) > 0
