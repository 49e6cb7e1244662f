"""A live birth in the house.

What happened
    One animal, several under one lot, or more into a standing lot, were born alive. A pouch brood is born
    from its father.

When it counts
    On this day; of a range, on its last possible day, or earlier where later entries prove it.

What it changes
    Census and closing; column *hatched and born*. The 30 days of young run from here, or from `hatched_on`
    where they entered the book later.

    Of a range the number it is `taken_as` is posted. Young that were not counted (`counted: false`) are as many as
    the first count of their lot finds, and what went before it. Young of a journey (`in_transit`) are the sender's.

What it does not mean
    Stillborn young: they are figures of a brood. `dam` is the parent of the egg, `sire` of the sperm,
    whoever carried. Who owns the young follows from the parents only where they are wholly the house's; else from
    the `agreement` that is named, or a person says so, or that it is `not_settled`.

Example
    {"kind": "birth", "occurred": "2025-06-11", "payload": {"animal": "MS-2025-0102", "sex": "m",
    "taxon": "Phoca vitulina", "enclosure": "P1", "dam": "MS-2014-0003"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._arrival import Young, arrival_acts, fill_young
from ledger.kinds._fields import Edtf
from ledger.kinds.base import Look, Word

NAME = "birth"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot", "into")
FOLLOWS = {"owner": ("owner_settled",), "agreement": ("owner", "owner_settled")}


class Payload(Young):
    """`stage` is the life stage at entry; `hatched_on` the day of birth where entry into the book is later."""

    hatched_on: Edtf | None = None
    stage: Word | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner, standing; taxon of a standing lot."""
    return fill_young(p, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *born* into the cell."""
    return arrival_acts(p, "born", "born")
