"""Columns of the store's tables, and journal rows flat and typed.

Days stand as ISO text, an absent cell as empty text.
"""

from __future__ import annotations

from typing import Any, Final

from ledger.acts import Cell
from ledger.posting import Line, OpenRow, Posting, Weighted, day_number, day_text

CELL: Final = ("taxon", "sex", "place", "holder", "owner", "standing")
EVENT: Final = (
    *("seq", "event_id", "kind", "first", "last", "recorded", "supersedes", "row_key", "batch_end", "prev"),
    *("leaf", "bytes"),
)
BATCH: Final = ("known_from", "first_seq", "batch_id", "journal")
# the flat rows that readers get, the reading copy's columns
POSTING: Final = (
    *("known_from", "because", "effect", "subject", "counts_on", "could_from"),
    *CELL,
    *("reason", "delta"),
)
OPEN_ROW: Final = (
    *("known_from", "subject", "choice", "part", "from_day", "to_day", "state"),
    *CELL,
    *("n", "weight"),
)
NO_CELL: Final = ("",) * 6


def flat_posting(posting: Posting) -> tuple[Any, ...]:
    """A posting in the order of `POSTING`."""
    known_from, because, line = posting
    effect, subject, cell, delta, reason, counts_on, could_from = line
    return (known_from, because, effect, subject, day_text(counts_on), day_text(could_from), *cell, reason, delta)


def typed_posting(row: tuple[Any, ...]) -> Posting:
    """The other way."""
    line = Line(row[2], row[3], Cell(*row[6:12]), row[13], row[12], day_number(row[4]), day_number(row[5]))
    return Posting(row[0], row[1], line)


def flat_open_row(weighted: Weighted) -> tuple[Any, ...]:
    """An open row in the order of `OPEN_ROW`."""
    known_from, row, weight = weighted
    days = (day_text(row.from_day), day_text(row.to_day))
    return (known_from, row.subject, row.choice, row.part, *days, row.state, *(row.cell or NO_CELL), row.n, weight)


def typed_open_row(row: tuple[Any, ...]) -> Weighted:
    """The other way."""
    cell = Cell(*row[7:13]) if row[7] else None
    days = (day_number(row[4]), day_number(row[5]))
    return Weighted(row[0], OpenRow(row[1], row[2], row[3], *days, row[6], cell, row[13]), row[14])


def typed_postings(rows: list[tuple[Any, ...]]) -> list[Posting]:
    """Many at once."""
    return [typed_posting(row) for row in rows]


def typed_open_rows(rows: list[tuple[Any, ...]]) -> list[Weighted]:
    """Many at once."""
    return [typed_open_row(row) for row in rows]
