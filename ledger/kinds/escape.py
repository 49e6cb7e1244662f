"""Animals got out.

What happened
    One animal, or part of a lot, left its enclosure by itself and is not in the house's hands.

When it counts
    On this day; of a range, on its last possible day.

What it changes
    Census and closing; column *escaped and missing*. It is in neither basis, held or owned, until it is back, and
    listed apart. The owner stays.

What it does not mean
    That it is dead, or that it was let go. An escaped animal that is only seen is a note; one that is back is a
    recovery, also on the same day.

Example
    {"kind": "escape", "occurred": "2024-07-02", "payload": {"animal": "MS-2023-0018",
    "note": "Over the lip of the pool at feeding time."}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._loss import loss_acts
from ledger.kinds._subject import Loss, fill_from, in_house
from ledger.kinds.base import Look

NAME = "escape"
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
    """From its enclosure to *escaped*; the owner stays."""
    return loss_acts(p, "escaped", "escaped", gone=False)
