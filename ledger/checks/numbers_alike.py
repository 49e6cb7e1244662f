"""Accession numbers can be told from one another.

Finds a new number that a reader takes for one already borne at that house: O for 0, I or l for 1, upper for lower
case, a hyphen or zeros left out; and a number of which two neighbouring digits are exchanged against one already
borne, where the number before it is not (0171 after 0116, with 0117 borne). Numbers that follow each other are no
finding, nor are other single digits: in a row of numbers nearly all differ by one. Of numbers taken over at an
opening the exchanged digits are not asked. Asked when a number is given or changed.
Source: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from ledger.checks.base import Batch
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.kinds.base import Carried
from ledger.lookup import skeletons
from ledger.refs import ref_fields
from ledger.things import SUBJECTS, introduced, numbers_given

CODES = ("number-very-like",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a number."""
    for draft in batch.drafts:
        event = draft.standing
        if not _gives_numbers(type(event.payload)):
            continue
        index = batch.index
        before = _given(index, draft.old) if draft.old is not None else set()
        for id_, number, house in sorted(_given(index, event) - before):
            other = _same_look(index, id_, number, house)
            if not other and event.kind != "opening":
                other = _exchanged(index, id_, number, house)
            made = index.made_by.get(index.names["subject", house, other], 0) if other else 0
            if other and made < event.root:
                yield draft.at.finding(
                    "number-very-like",
                    f"{number} is very like {other}, which is borne already",
                    "a number that cannot be taken for another",
                    "Mend the number; if it is right, accept it with the reason.",
                    "",
                    made,
                )


@cache
def _gives_numbers(model: type[Carried]) -> bool:
    return any(f.new != "never" and set(f.sorts) & set(SUBJECTS) for f in ref_fields(model))


def _given(index: Index, event: Standing) -> set[tuple[str, str, str]]:
    """(id, number, house) of the numbers that an event gives: to what it brings in, or as a further number."""
    ids = {ref.id for sort, ref, _ in introduced(event) if sort in SUBJECTS and ref.id}
    further = getattr(event.payload, "new_number", None)
    return {
        (id_, number, house)
        for id_ in ids
        for number, house in numbers_given(event, id_)
        if number == further or index.made_by.get(id_) == event.root
    }


def _same_look(index: Index, id_: str, number: str, house: str) -> str:
    for skeleton in skeletons(number):
        for other in index.alike.get((house, skeleton), ()):
            thing = index.things.get(other) if other != id_ else None
            for _, at, text in thing.fields["_keys"] if thing is not None else ():
                if at == house and text != number and skeleton in skeletons(text):
                    return str(text)
    return ""


def _exchanged(index: Index, id_: str, number: str, house: str) -> str:
    row = re.search(r"([0-9]+)([^0-9]*)$", number)
    if row is None or int(row[1]) <= 1:  # the first of a row has none before it
        return ""
    digits, head, tail = row[1], number[: row.start()], row[2]
    before = f"{head}{int(digits) - 1:0{len(digits)}}{tail}"
    if ("subject", house, before) in index.names:
        return ""
    for i in range(len(digits) - 1):
        swapped = f"{head}{digits[:i]}{digits[i + 1]}{digits[i]}{digits[i + 2 :]}{tail}"
        if swapped != number and index.names.get(("subject", house, swapped), id_) != id_:
            return swapped
    return ""
