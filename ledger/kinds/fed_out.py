"""Animals were fed to others.

What happened
    One animal, or part of a lot, mostly of feeders, was given as food.

When it counts
    On the day it was fed out; of a range, on its last possible day.

What it changes
    Census and closing; column *fed out*, never *died*. The animal has left the book.

What it does not mean
    A death by predation: what was eaten unplanned is a death with that cause. Whether live feeding is allowed, local
    law decides.

Example
    {"kind": "fed_out", "occurred": "2024-03-11", "payload": {"lot": "MS-2024-0012", "how_many": 40,
    "fed_to": "T3"}}
"""

from __future__ import annotations

from typing import Annotated, ClassVar

from ledger.acts import Act
from ledger.kinds._loss import loss_acts
from ledger.kinds._subject import Loss, fill_from, in_house
from ledger.kinds.base import Look, Names, Ref

NAME = "fed_out"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Loss):
    """`fed_to`: the enclosure, the animal or the lot they were fed to."""

    fed_to: Annotated[Ref, Names(("enclosure", "animal", "lot"))] | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if it stands in one enclosure."""
    return fill_from(p, look, in_house)


def acts(p: Payload) -> tuple[Act, ...]:
    """From its enclosure into *fed out*."""
    return loss_acts(p, "fed_out", "fed_out", gone=True)
