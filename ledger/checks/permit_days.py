"""A permit is used while it is valid.

Finds an entry that names a permit of the register for a day before its first day or after its last, as it stands with
all its extensions: the first day is `from`, else the day of its entry; the last is `until`, or the day on which it
was closed if that is earlier; a permit without a last day does not run out. An entry with a range is held to days all
outside. Permits that are named by their number alone are not known to the book.
Whether a permit suffices, local law and the licensing authority decide.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import REGISTER, Batch, refs
from ledger.findings import Finding
from ledger.index import Standing, Thing

CODES = ("permit-expired",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a permit and entry."""
    for draft in batch.drafts:
        if draft.standing.kind in REGISTER:
            continue
        for field, id_ in refs(draft.standing.payload):
            permit = batch.index.things.get(id_)
            wrong = _invalid(permit, draft.standing) if permit is not None and permit.sort == "permit" else ""
            if permit is not None and wrong:
                yield draft.at.finding(
                    "permit-expired",
                    f"permit {permit.code} {wrong}",
                    "a permit that is valid on that day",
                    "Mend the date or name another; if it was extended, enter that as permit_changed; else accept it "
                    "with the reason. Local law and the licensing authority decide.",
                    field,
                    batch.index.made_by.get(id_, 0),
                )


def _invalid(permit: Thing, event: Standing) -> str:
    """Why it is not valid on any day of the event; "" where it is."""
    begins, ends = permit.fields.get("from_"), permit.fields.get("until")
    first = date.fromisoformat(begins).toordinal() if begins else permit.since
    if event.last < first:
        return f"is valid from {date.fromordinal(first)} only"
    days = [date.fromisoformat(ends).toordinal()] if ends else []
    days += [permit.until] if permit.until is not None else []
    if days and event.first > min(days):
        return f"was valid until {date.fromordinal(min(days))}"
    return ""
