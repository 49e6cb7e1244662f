"""An animal passed from one lawful holder to another.

What happened
    One animal, a lot, or part of a lot went from a house or party to another, on stated terms: sold, given,
    exchanged, lent or returned, given in keeping for another.

When it counts
    On the day it arrived; of a range, on its last possible day.

What it changes
    Holder and place; owner too where the terms pass title. In or out follows from who asks: *in* for the
    receiving house, *out* for the giving one, neither in a whole-book roll-forward between members. What a
    house lends stays its own and is followed at the borrower's. The terms are held against who owns the animal
    on that day (the table stands in `_terms.py`).

What it does not mean
    A move within a house, or a change of owner where nobody moves. Whether papers suffice, the authority decides.

Example
    {"kind": "transfer", "occurred": "2024-10-02", "payload": {"animal": "MS-2024-0071", "from": "OSC",
    "to": "MS", "terms": "breeding_loan", "taxon": "Hippocampus kuda", "sex": "m", "enclosure": "Q1",
    "number_there": "OSC-882", "source_code": "C"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import CitesPurpose, CitesSource, Edtf, Place, Standing, refuse
from ledger.kinds._subject import check_numbers
from ledger.kinds._terms import coming, fill_transfer, going, passing_on
from ledger.kinds.base import (
    Carried,
    Code,
    Counts,
    Enclosure,
    House,
    Look,
    MaybeNewAnimal,
    MaybeNewLot,
    Party,
    Ref,
    Sex,
    Taxon,
    Text,
    Word,
)

NAME = "transfer"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")

Terms = Literal[
    "sale",
    "donation",
    "exchange",
    "loan",
    "loan_return",
    "breeding_loan",
    "breeding_loan_return",
    "held_for_another",
    "held_for_another_return",
    "delivery_after_title_passed",
    "return_to_owner",
]


class Payload(Carried):
    """`leaving`: the enclosure part of a lot leaves. `taxon` and `sex` only of a subject new to the book."""

    animal: MaybeNewAnimal | None = None
    lot: MaybeNewLot | None = None
    from_: Party = Field(alias="from")
    to: Party
    terms: Terms
    how_many: Counts | None = None
    leaving: Place | None = None
    owned_by: Party | None = None
    enclosure: Enclosure | None = None
    taxon: Taxon | None = None
    sex: Sex | None = None
    holder: House | None = None
    owner: Party | None = None
    standing: Standing | None = None
    addition: Literal[True] | None = None
    new_number: Code | None = None
    number_there: Code | None = None
    permits: list[Code] | None = None
    source_code: CitesSource | None = None
    purpose_code: CitesPurpose | None = None
    pre_convention: bool | None = None
    born: Edtf | None = None
    origin: Literal["wild", "bred", "unknown"] | None = None
    name: Word | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "left": "Days on the way come with a later version; give the day of arrival as `occurred`.",
        "arrived": "Days on the way come with a later version; give the day of arrival as `occurred`.",
        "sent": "Numbers sent and arrived come with a later version; give those that arrived alive as how_many.",
        "arrived_alive": "Numbers sent and arrived come with a later version; give those that arrived as how_many.",
        "dead_on_arrival": "Losses on the way come with a later version; say them in the note.",
        "agreement": "Agreements come with a later version; say it in the note.",
        "brood": "Eggs of a brood come with a later version.",
        "how_many.n": "Totals without sexes come with a later version; write the number, which means sex unknown.",
    }

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.animal is None) == (self.lot is None):
            found = "neither an animal nor a lot" if self.animal is None else "both an animal and a lot"
            refuse("animal", found, "exactly one of them", "Name the animal or the lot that passes.")
        check_numbers(self.animal, self.how_many)
        if self.lot is not None and self.sex is not None:
            refuse("sex", "a sex for a lot", "how many of each sex", "Say how_many=males.females.unknown.")
        if self.lot is None and (self.leaving or self.owned_by):
            refuse("leaving", "a place one animal leaves", "no place: it leaves where it is", "Leave it out.")
        return self

    def subject(self) -> Ref:
        """The animal or the lot."""
        one = self.animal or self.lot
        assert one is not None
        return one


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner and standing after, by the terms; where part of a lot leaves; what a standing lot is."""
    return fill_transfer(p, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """In, out, between members, or from one outside party to another."""
    inside = ((p.from_.id or "")[:2] == "h-", (p.to.id or "")[:2] == "h-")
    if inside == (False, True):
        return (coming(p),)
    if inside == (False, False):
        return (passing_on(p),)
    return (going(p),)
