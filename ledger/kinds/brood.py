"""One reproductive event: eggs or young of known or possible parents.

What happened
    Eggs were laid or passed to the animal that carries them, or young were found to be carried.

When it counts
    On the day it began. From then on a hatching or a birth can name it.

What it changes
    No figure: eggs are figures of the brood and never of a census. Young enter the book when they hatch or are born.

What it does not mean
    Who the parents of one animal are: what is found out about that is a finding of its own. The carrier need not be
    a parent.

Example
    {"kind": "brood", "occurred": "2025-04-02", "payload": {"brood": "B-2025-07", "taxon": "Hippocampus kuda",
    "dam": "MS-2024-0118", "sire": "MS-2024-0071", "carrier": "MS-2024-0071", "mode": "pouch", "enclosure": "T3"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds.base import Animal, Carried, Enclosure, NewBrood, Taxon, Text

NAME = "brood"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("brood",)


class Payload(Carried):
    """`brood` is the code it goes by; `eggs` a number, exact or the least there were (`eggs_are`)."""

    brood: NewBrood
    taxon: Taxon
    dam: Animal | None = None
    sire: Animal | None = None
    carrier: Animal | None = None
    mode: Literal["pouch", "tail", "mouth", "body", "nest", "substrate", "womb", "incubator"]
    enclosure: Enclosure | None = None
    eggs: int | None = Field(default=None, ge=0, le=10**9, strict=True)
    eggs_are: Literal["exact", "at_least"] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "parents": "Several pairs of parents come with a later version; name dam and sire where they are settled.",
    }

    @model_validator(mode="after")
    def _eggs(self) -> Self:
        if self.eggs_are is not None and self.eggs is None:
            refuse("eggs", "no number of eggs", "a number, with what it is", "Say eggs=…, or leave eggs_are out.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
