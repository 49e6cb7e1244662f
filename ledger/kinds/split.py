"""Part of a lot got a number of its own.

What happened
    A lot was parted into two; how many of each sex pass is stated.

When it counts
    On this one day.

What it changes
    The new lot begins, the old one has as many fewer. No figure of the house. The young among them keep the
    days of their source.

What it does not mean
    A need: part of a lot may move, be lent or die under the lot's number.

Example
    {"kind": "split", "occurred": "2024-12-09", "payload": {"lot": "MS-2024-0040", "new": "MS-2024-0088",
    "how_many": {"u": 12}, "to": "R2"}}
"""

from __future__ import annotations

from typing import ClassVar, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._passing import Passing, fill_source, fill_target, passing_acts
from ledger.kinds._subject import check_numbers
from ledger.kinds.base import Counts, Look, Lot, NewLot

NAME = "split"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("lot", "new")


class Payload(Passing):
    """`to` is where they stand afterwards, by default where they are."""

    lot: Lot
    new: NewLot
    how_many: Counts

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _numbers(self) -> Self:
        check_numbers(None, self.how_many)
        return self


def fill(p: Payload, look: Look) -> Payload:
    """From, to, and what both sides must agree on."""
    return fill_target(fill_source(p, p.lot, look), None, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """Out of the lot into *passed*, and from there into the new lot."""
    return passing_acts(p, p.lot, p.new, p.how_many.amount(), opens=True)
