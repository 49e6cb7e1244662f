"""Lines and open rows as a store hands them over, flat and with days as ordinals."""

from __future__ import annotations

from typing import Any, NamedTuple

Cell = tuple[str, ...]  # taxon, sex, place, holder, owner, standing


class Row(NamedTuple):
    """A line of the journal; days are ordinals."""

    known_from: int
    because: int
    effect: int
    subject: str
    counts_on: int
    could_from: int
    cell: Cell
    reason: str
    delta: int


class Open(NamedTuple):
    """An open row: one cell of one state of one choice, from a day to before another."""

    known_from: int
    subject: str
    choice: int
    part: int
    from_day: int
    to_day: int
    state: int
    cell: Cell
    n: int
    weight: int


def live(cell: Cell) -> bool:
    """Followed by the book: in an enclosure, lost, or away while a member house owns it."""
    place, owner = cell[2], cell[4]
    return (
        place.startswith("e-")
        or place in ("escaped", "missing", "in_transit")
        or (place[:2] == "o-" and owner[:2] == "h-")
    )


def postings(book: Any, after: int) -> list[Row]:
    out = []
    for posting in book.store.postings(after=after):
        known_from, because, line = posting
        out.append(
            Row(
                *(known_from, because, line.effect, line.subject, line.counts_on, line.could_from),
                *(tuple(line.cell), line.reason, line.delta),
            )
        )
    return out


def open_rows(book: Any, after: int) -> list[Open]:
    out = []
    for known_from, row, weight in book.store.open_rows(after=after):
        days = (row.from_day, row.to_day, row.state)
        cell = tuple(row.cell) if row.cell else ("",) * 6
        out.append(Open(known_from, row.subject, row.choice, row.part, *days, cell, row.n, weight))
    return out
