"""A numbered animal went into a lot and is no longer told apart.

What happened
    An animal that had a number of its own was put to a lot.

When it counts
    On this one day.

What it changes
    The animal's own history ends, the lot has one more of its sex. No figure of the house.

What it does not mean
    A death or a departure. Its number is not used again.

Example
    {"kind": "join", "occurred": "2025-05-20", "payload": {"animal": "MS-2025-0017", "into": "MS-2024-0040"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._passing import Passing, fill_source, fill_target, passing_acts, standing_there
from ledger.kinds._subject import with_
from ledger.kinds.base import Animal, Look, Lot, Sex

NAME = "join"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "into")


class Payload(Passing):
    """`to` is where it stands afterwards, by default where the lot stands; `sex` is filled in."""

    animal: Animal
    into: Lot
    sex: Sex | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Sex, to, and what both sides must agree on. Where the animal comes from its own history says, today and later."""
    filled = fill_source(p, p.animal, look)
    cell = next(iter(standing_there(filled, p.animal, look)))
    filled = fill_target(with_(filled, sex=p.sex or cell.sex), p.into, look)
    return filled.model_copy(update={"from_": p.from_})


def acts(p: Payload) -> tuple[Act, ...]:
    """The animal's end, into *passed*, and from there into the lot."""
    return passing_acts(p, p.animal, p.into, ((p.sex or "unknown", 1),), animal_goes=True)
