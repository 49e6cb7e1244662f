"""One reproductive event: eggs or young of known or possible parents.

What happened
    Eggs were laid or passed to the animal that carries them, or young were found to be carried.

When it counts
    On the day it began; or on `started`, where it had begun before the day of the entry, as when a male arrives
    carrying. From the day of the entry a hatching or a birth can name it.

What it changes
    No figure: eggs are figures of the brood and never of a census. Young enter the book when they hatch or are born.

What it does not mean
    Who the parents of one animal are: what is found out about that is a parentage. The carrier need not be a parent;
    nor need the animals that tend it (`carers`).

Example
    {"kind": "brood", "occurred": "2025-04-02", "payload": {"brood": "B-2025-07", "taxon": "Hippocampus kuda",
    "dam": "MS-2024-0118", "sire": "MS-2024-0071", "carrier": "MS-2024-0071", "mode": "pouch", "enclosure": "T3"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._bonds import event_of, in_order
from ledger.kinds._fields import Edtf, Number, refuse
from ledger.kinds._parents import Parents
from ledger.kinds._subject import with_
from ledger.kinds.base import Animal, Carried, Code, Enclosure, Look, Lot, NewBrood, Taxon, Text, Word

NAME = "brood"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("brood",)


class Carer(Carried):
    """An animal that tends eggs or young, from when to when."""

    carer: Animal
    since: Edtf | None = None
    until: Edtf | None = None

    @model_validator(mode="after")
    def _spell(self) -> Self:
        in_order("carers", self.since, self.until)
        return self


class Payload(Parents):
    """`brood` is the code it goes by. `eggs`: a number, exact or the least there were (`eggs_are`), on `counted_on`.

    `social_mate`: the mate of the one that lays, who need not be the sire. `nest`: how the nest is called; `host` or
    `host_lot`: what the eggs lie on. `courtship` names the courtship it came of (`#n` or its id).
    """

    brood: NewBrood
    taxon: Taxon
    carrier: Animal | None = None
    social_mate: Animal | None = None
    started: Edtf | None = None
    start_basis: Literal["seen", "courtship", "first_seen_carrying", "counted_back", "other"] | None = None
    mode: Literal["pouch", "tail", "mouth", "body", "nest", "substrate", "womb", "incubator"]
    nest: Word | None = None
    host: Animal | None = None
    host_lot: Lot | None = None
    carers: list[Carer] | None = None
    enclosure: Enclosure | None = None
    eggs: Number | None = None
    eggs_are: Literal["exact", "at_least"] | None = None
    counted_on: Edtf | None = None
    clutch_complete: bool | None = None
    courtship: Code | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _eggs(self) -> Self:
        if self.eggs is None and (self.eggs_are is not None or self.counted_on is not None):
            refuse("eggs", "no number of eggs", "a number, with what it is", "Say eggs=…, or leave the rest out.")
        if self.host is not None and self.host_lot is not None:
            refuse("host", "two hosts", "one of host and host_lot", "Name the one they lie on.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """The id of the courtship it names."""
    came_of = event_of(look, "courtship", p.courtship, ("courtship",), "a courtship that stands")
    return with_(p, courtship=came_of.event_id if came_of else None)


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
