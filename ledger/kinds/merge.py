"""Animals of one lot went into another standing lot.

What happened
    Two lots became one, or part of one was given to the other; how many of each sex pass is stated, by default all
    that stand there.

When it counts
    On this one day.

What it changes
    The receiving lot has as many more, the other as many fewer or none. No figure of the house.

What it does not mean
    That the numbers were one animal group before. Lots of two owners may be merged; their animals are still
    counted apart.

Example
    {"kind": "merge", "occurred": "2025-02-03", "payload": {"lot": "MS-2024-0088", "into": "MS-2024-0040"}}
"""

from __future__ import annotations

from typing import ClassVar, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._passing import Passing, fill_source, fill_target, passing_acts, standing_there
from ledger.kinds._subject import check_numbers, counts_of, with_
from ledger.kinds.base import Counts, Look, Lot

NAME = "merge"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("lot", "into")


class Payload(Passing):
    """`to` is where they stand afterwards, by default where the receiving lot stands."""

    lot: Lot
    into: Lot
    how_many: Counts | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _numbers(self) -> Self:
        check_numbers(None, self.how_many)
        if self.lot == self.into:
            refuse("into", "the lot itself", "another lot", "Name the lot they go into.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """From, to, how many, and what both sides must agree on."""
    p = fill_source(p, p.lot, look)
    if p.how_many is None:
        p = with_(p, how_many=counts_of(standing_there(p, p.lot, look)))
    return fill_target(p, p.into, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """Out of the lot into *passed*, and from there into the other."""
    return passing_acts(p, p.lot, p.into, p.how_many.amount() if p.how_many is not None else ())
