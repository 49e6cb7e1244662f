"""Nothing is known before it was.

Finds a day in an entry of life together (eggs counted on, first and last young, the end of an association or of a
carer's spell) that begins after the day on which the entry was recorded. Loans and permits may run on; what was seen
cannot have been.
Source: arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from ledger.checks.base import Batch
from ledger.dates import Day, parse
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.kinds.base import Carried

CODES = ("not-yet-seen",)

SEEN: Final = ("counted_on", "first_young", "last_young", "until")
KINDS: Final = ("association", "brood", "brood_check")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a field."""
    for draft in batch.drafts:
        if draft.standing.kind in KINDS:
            payload = draft.standing.payload
            for part in (payload, *(getattr(payload, "carers", None) or ())):
                yield from _ahead(draft, part)


def _ahead(draft: Draft, part: Carried) -> Iterator[Finding]:
    # a time zone moves the day of recording by one at most
    recorded = date.fromisoformat(draft.standing.recorded[:10])
    latest = recorded + timedelta(days=1)
    for field in SEEN:
        text = getattr(part, field, None)
        first = parse(text).first if isinstance(text, str) else None
        if isinstance(first, Day) and first > Day(latest.year, latest.month, latest.day):
            yield draft.at.finding(
                "not-yet-seen",
                f"{field} is {text}, and the entry is recorded on {recorded}",
                "a day by the day of recording",
                "Mend the date, or enter it when it has come.",
                field,
            )
