"""Entries are recorded soon after what they say.

Finds an entry recorded more than 30 days after the last day on which it can have happened, counted in civil days of
the house. Not asked of corrections, nor of what is entered anew in the batch that strikes out the wrong entry; not
of openings and of the register, which are entered when a book begins. An entry without a last day worth the name (a
year, a season) is held to the end of its range.
Source: common practice, no source; daily logging is asked by accreditation standards (second-hand).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Final
from zoneinfo import ZoneInfo

from ledger.checks.base import REGISTER, Batch, refs, subject_of
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("late",)

LATE_AFTER: Final = 30  # days; since version 1, common practice, no source


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one an entry."""
    struck = [d.old for d in batch.drafts if d.standing.kind == "void" and d.old is not None]
    for draft in batch.drafts:
        event = draft.standing
        corrects = draft.supersedes is not None or event.seq != event.root
        if corrects or event.kind in REGISTER or event.kind == "opening" or _anew(event, struck):
            continue
        if date.fromisoformat(event.recorded[:10]).toordinal() - event.last < LATE_AFTER:
            continue  # a time zone moves it by one day at most
        days = _recorded(batch.index, draft) - event.last
        if days > LATE_AFTER:
            yield draft.at.finding(
                "late",
                f"recorded {days} days after {date.fromordinal(event.last)}",
                f"an entry within {LATE_AFTER} days",
                "Mend the date if it is wrong; else accept it with the reason.",
                "occurred",
            )


def _anew(event: Standing, struck: list[Standing]) -> bool:
    """Entered anew: the batch strikes out an entry of the same kind (another animal), or of the same animal."""
    about = subject_of(event.payload)
    return any(old.kind == event.kind or (about and subject_of(old.payload) == about) for old in struck)


def _recorded(index: Index, draft: Draft) -> int:
    """The civil day of recording at the house concerned, else at the house of the book."""
    zone = getattr(index.standing[1].payload, "time_zone", "UTC") if 1 in index.standing else "UTC"
    for _, id_ in refs(draft.standing.payload):
        place = index.things.get(id_)
        house = index.things.get(place.house) if place is not None and place.sort == "enclosure" else place
        if house is not None and house.sort == "house":
            zone = house.fields["time_zone"]
            break
    return datetime.fromisoformat(draft.standing.recorded).astimezone(ZoneInfo(zone)).date().toordinal()
