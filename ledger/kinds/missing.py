"""Animals are not where they should be, and nobody knows where.

What happened
    One animal, or part of a lot, was looked for and not found.

When it counts
    On this day; of a range, on its last possible day.

What it changes
    Census and closing; column *escaped and missing*. It is in neither basis, held or owned, until it is back, and
    listed apart. The owner stays.

What it does not mean
    A count difference: a count that finds fewer of a lot says so by itself. Nor a death, until a body is found;
    then the death is entered from *missing*.

Example
    {"kind": "missing", "occurred": "2024-09-15/2024-09-22", "payload": {"animal": "MS-2023-0021"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._loss import loss_acts
from ledger.kinds._subject import Loss, fill_from, in_house
from ledger.kinds.base import Look

NAME = "missing"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Loss):
    """Of a lot: how many, and from which enclosure."""

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if it stands in one enclosure."""
    return fill_from(p, look, in_house)


def acts(p: Payload) -> tuple[Act, ...]:
    """From its enclosure to *missing*; the owner stays."""
    return loss_acts(p, "missing", "missing", gone=False)
