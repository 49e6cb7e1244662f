"""Animals were let go into the wild, on purpose.

What happened
    One animal, or part of a lot, was released.

When it counts
    On the day it was let go.

What it changes
    Census and closing; column *released*. The animal has left the book.

What it does not mean
    An escape. Whether a release is allowed, local law and the authority decide.

Example
    {"kind": "release", "occurred": "2024-08-20", "payload": {"animal": "MS-2024-0051",
    "site": "river mouth, north bank", "permit": "RL-2024-3"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._loss import loss_acts
from ledger.kinds._subject import Loss, fill_from, in_house
from ledger.kinds.base import Look, PermitNumber, Text

NAME = "release"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Loss):
    """`site` is free text."""

    site: Text | None = None
    permit: PermitNumber | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if it stands in one enclosure."""
    return fill_from(p, look, in_house)


def acts(p: Payload) -> tuple[Act, ...]:
    """From its enclosure into *released*."""
    return loss_acts(p, "released", "released", gone=True)
