"""What is looked for is where it can be seen.

Finds a sighting (seen or not) of an animal that no house of the book held on that day: before it came, after it went
or died, while it is away, escaped or missing; and one in an enclosure of another house than the one that holds it. An
arrival or a departure of uncertain date is no reproach. What is seen in another enclosure of its house is none
either: it may have been moved, and a move is an entry of its own.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.acts import Cell
from ledger.checks.base import Batch, ident, spells, subject_of
from ledger.findings import Finding

CODES = ("not-to-be-seen",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one an entry."""
    index = batch.index
    for draft in batch.drafts:
        event = draft.standing
        if event.kind != "sighting":
            continue
        subject = subject_of(event.payload)
        enclosure = index.things.get(ident(getattr(event.payload, "enclosure", None)))
        house = enclosure.house if enclosure is not None else ""

        def held(cell: Cell, house: str = house) -> bool:
            return cell.place[:2] == "e-" and house in ("", cell.holder)

        if any(begun <= event.last and end >= event.first for begun, end in spells(index, subject, held)):
            continue
        where = f"by {index.name(house)}" if house else "by a house of this book"
        yield draft.at.finding(
            "not-to-be-seen",
            f"{index.name(subject)} is not held {where} on that day",
            "an animal of the house",
            "Mend the number or the day; what is back is a recovery or a transfer, what is only seen outside a note.",
            "animal" if subject[:2] == "a-" else "lot",
        )
