"""An animal left the egg in the house, and enters the book.

What happened
    One animal, several under one lot, or more into a standing lot, hatched.

When it counts
    On this day; of a range, on its last possible day, or earlier where later entries prove it.

What it changes
    Census and closing; column *hatched and born*. The 30 days of young run from here, or from `hatched_on`
    where they entered the book later.

    Of a range the number it is `taken_as` is posted. Young that were not counted (`counted: false`) are as many as
    the first count of their lot finds, and what went before it. Young of a journey (`in_transit`) are the sender's.

What it does not mean
    Eggs: they are figures of a brood and never of a census. Who owns the young follows from the parents only
    where they are wholly the house's; else from the `agreement` that is named, or a person says so, or that it is
    `not_settled`: then they stand as the house's until it is.

Example
    {"kind": "hatching", "occurred": "2025-03", "payload": {"lot": "MS-2025-0031", "how_many": 30,
    "taxon": "Amphiprion ocellaris", "enclosure": "N1", "stage": "larva"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._arrival import Young, arrival_acts, fill_young
from ledger.kinds._fields import Edtf
from ledger.kinds.base import Look, Word

NAME = "hatching"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot", "into")
FOLLOWS = {"owner": ("owner_settled",), "agreement": ("owner", "owner_settled")}


class Payload(Young):
    """`stage` is the life stage at entry; `hatched_on` the day of hatching where entry is later."""

    hatched_on: Edtf | None = None
    stage: Word | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner, standing; taxon of a standing lot."""
    return fill_young(p, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *born* into the cell."""
    return arrival_acts(p, "born", "hatched")
