"""What an entry says happened before it, happened before it.

Finds a day of birth, of hatching, of arrival, of a brood's start or of since when a bond stands, that begins after the
last day on which the entry itself can have occurred. A day that may be either is no finding.
Source: arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from ledger.checks.base import Batch
from ledger.edtf import Day, parse
from ledger.findings import Finding

CODES = ("before-then",)

EARLIER: Final = ("born", "hatched_on", "arrived", "started", "since")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a field."""
    book = batch.index.standing.get(1)
    south = book is not None and getattr(book.payload, "hemisphere", "north") == "south"
    for draft in batch.drafts:
        event = draft.standing
        for field in EARLIER:
            text = getattr(event.payload, field, None)
            if not isinstance(text, str):
                continue
            first = parse(text, hemisphere="south" if south else "north").first
            last = date.fromordinal(event.last)
            if isinstance(first, Day) and first > Day(last.year, last.month, last.day):
                yield draft.at.finding(
                    "before-then",
                    f"{field} is {text}, and the entry is of {last}",
                    "a day not after it",
                    "Mend one of the two dates.",
                    field,
                )
