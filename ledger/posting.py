"""The dated line, the open row, and the difference of two histories.

A history of one subject folds to a bag of lines and a bag of open rows. What a batch posts is the bag
with it less the bag without it: for an entry in order its own lines, for a late one exactly what changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from ledger.acts import Cell


class Line(NamedTuple):
    """One change of one cell by `delta` animals. Days are ordinals (`date.toordinal`).

    `effect`: position of the event whose effect it is; `counts_on`: the day it changes figures;
    `could_from`: the first day it could have, earlier only where the date is uncertain.
    """

    effect: int
    subject: str
    cell: Cell
    delta: int
    reason: str
    counts_on: int
    could_from: int


class OpenRow(NamedTuple):
    """From `from_day` to before `to_day` (ordinals) more than one state is possible; this is one cell of one of them.

    `choice` is what is open (the position of an event), `part` which of its independent parts (0: the
    whole subject), `state` 0 what the book says. `n` animals stand in `cell` in that state (of part 0), or
    so many more than in state 0 (of another part). `cell` None: nobody stands anywhere in that state.
    """

    subject: str
    choice: int
    part: int
    from_day: int
    to_day: int
    state: int
    cell: Cell | None
    n: int


class Posting(NamedTuple):
    """A line in the journal: known from the end of a batch, because of an event of that batch."""

    known_from: int
    because: int
    line: Line


class Weighted(NamedTuple):
    """An open row put in (`weight` above 0) or taken back (below): those whose weights sum above 0 stand."""

    known_from: int
    row: OpenRow
    weight: int


def difference(new: Iterable[Line], old: Iterable[Line]) -> list[Line]:
    """What to post so that `old` becomes `new`: lines alike but for delta are summed, zeros dropped; sorted."""
    total: Counter[Line] = Counter()
    for line in new:
        total[line._replace(delta=0)] += line.delta
    for line in old:
        total[line._replace(delta=0)] -= line.delta
    return sorted(line._replace(delta=delta) for line, delta in total.items() if delta)


def row_difference(new: Iterable[OpenRow], old: Iterable[OpenRow]) -> list[tuple[OpenRow, int]]:
    """Rows to put in and take back so that `old` becomes `new`, each with its weight; sorted."""
    total = Counter(new)
    total.subtract(Counter(old))
    # a row without a cell cannot be compared with one that has one
    found = [(row, weight) for row, weight in total.items() if weight]
    return sorted(found, key=lambda each: (*each[0][:6], each[0].cell or (), each[0].n))


def standing_rows(weighted: Iterable[Weighted], known: int) -> list[OpenRow]:
    """The open rows that stand at a position: those put in by then and not taken back by then."""
    total: Counter[OpenRow] = Counter()
    for known_from, row, weight in weighted:
        if known_from <= known:
            total[row] += weight
    return [row for row, weight in total.items() if weight > 0]


def unbalanced(lines: Iterable[Line]) -> dict[tuple[str, int], int]:
    """(taxon, day) → sum over all accounts, where it is not zero. Empty is the law: nobody comes from nowhere."""
    total: dict[tuple[str, int], int] = {}
    for line in lines:
        key = (line.cell.taxon, line.counts_on)
        total[key] = total.get(key, 0) + line.delta
    return {key: summed for key, summed in total.items() if summed}


@lru_cache(maxsize=65_536)
def day_text(ordinal: int) -> str:
    """An ordinal as an ISO day."""
    return date.fromordinal(ordinal).isoformat()


@lru_cache(maxsize=65_536)
def day_number(text: str) -> int:
    """An ISO day as an ordinal."""
    return date.fromisoformat(text).toordinal()
