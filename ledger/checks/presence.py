"""Who is seen together is there.

Finds an animal that an entry of life together (courtship, pairing, parting, order of rank, association, the carrier
and the carers of a brood) names for a day on which it was not in the book: before it came, or after it died or left.
Nothing is refused: such an entry moves nobody, and never stands in the way of a death that is entered late; what was
named after its end is listed by `tidemark check`. Escaped and missing animals, those on loan, and outside animals may
be named. A bond or an association may have begun, `since`, before the animal came.
Source: derived; facts that move nobody are cut at a departure.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ledger.acts import Cell
from ledger.checks.base import Batch, spells
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.refs import named
from ledger.words import IN_TRANSIT, LOST

CODES = ("names-absent",)

# kind -> the fields whose animals take part on the day of the entry
TAKE_PART: Final = {
    "courtship": ("by", "with"),
    "pairing": ("a", "b"),
    "parting": ("a", "b", "replaced_by"),
    "hierarchy": ("order", "unranked"),
    "association": ("animal", "lot", "with"),
    "brood": ("carrier",),
    "brood_move": ("to_carer",),
}


def check(batch: Batch) -> Iterator[Finding]:
    """One finding an entry, with all that are not there."""
    for draft in batch.drafts:
        if draft.standing.kind in TAKE_PART and not _unchanged(draft):
            gone = _absent(batch.index, draft.standing)
            if gone:
                names = ", ".join(batch.index.name(animal) for _, animal in gone)
                yield draft.at.finding(
                    "names-absent",
                    f"{names} {'was' if len(gone) == 1 else 'were'} not there on {draft.standing.edtf}",
                    "animals that were there on that day",
                    "Mend the date or the animal; if they were, correct how they came or went.",
                    gone[0][0],
                )


def _unchanged(draft: Draft) -> bool:
    old, event = draft.old, draft.standing
    return old is not None and (old.first, old.last, _named(old)) == (event.first, event.last, _named(event))


def _named(event: Standing) -> list[tuple[str, str]]:
    """(field, id) of those that take part."""
    fields = TAKE_PART[event.kind]
    return [(at, ref.id) for _, at, ref in named(event.payload) if at in fields and ref.id]


def _absent(index: Index, event: Standing) -> list[tuple[str, str]]:
    out = []
    for field, subject in dict.fromkeys(_named(event)):
        if subject[:2] not in ("a-", "g-") or index.outside(subject):
            continue
        held = spells(index, subject, _ours)
        if not any(begun <= event.last and end >= event.first for begun, end in held) and not _lent(
            index, subject, event
        ):
            out.append((field, subject))
    return out


def _ours(cell: Cell) -> bool:
    return cell.place[:2] == "e-" or cell.place == IN_TRANSIT or cell.place in LOST


def _lent(index: Index, subject: str, event: Standing) -> bool:
    """Ours, and with an outside party at the close of the first or the last day, or of the day before."""
    days = {event.first - 1, event.first, event.last}
    return any(cell.place[:2] == "o-" and cell.owner[:2] == "h-" for day in days for cell in index.cells(subject, day))
