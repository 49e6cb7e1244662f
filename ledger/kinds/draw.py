"""One animal of a lot got a number of its own.

What happened
    An animal could be told apart and was drawn from its lot.

When it counts
    On this one day.

What it changes
    The animal begins, the lot has one fewer of the sex stated. No figure of the house. It keeps the cohort of
    its source.

What it does not mean
    An arrival: it was counted before. `sex` is the sex it was counted with in the lot; what is found out about
    it afterwards is a sexing.

Example
    {"kind": "draw", "occurred": "2025-03-10", "payload": {"lot": "MS-2024-0040", "new": "MS-2025-0017",
    "sex": "u", "to": "R3"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._passing import Passing, fill_source, fill_target, passing_acts
from ledger.kinds.base import Look, Lot, NewAnimal, Sex, Word

NAME = "draw"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("lot", "new")


class Payload(Passing):
    """`to` is where it stands afterwards, by default where it was."""

    lot: Lot
    new: NewAnimal
    sex: Sex
    name: Word | None = None

    LATER: ClassVar[dict[str, str]] = {
        "how_many": "Several animals are as many entries in one batch, each with its number.",
    }


def fill(p: Payload, look: Look) -> Payload:
    """From, to, and what both sides must agree on."""
    return fill_target(fill_source(p, p.lot, look), None, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """Out of the lot into *passed*, and from there to be an animal of its own."""
    return passing_acts(p, p.lot, p.new, ((p.sex, 1),), opens=True, one=True)
