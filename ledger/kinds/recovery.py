"""An escaped or missing animal is back.

What happened
    One animal, or part of a lot, was caught or found and stands in an enclosure again.

When it counts
    On the day it was back. An escape and a recovery on one day both count.

What it changes
    Census and closing; column *recovered*.

What it does not mean
    A new arrival: number, owner and history go on. An animal that is only seen outside is a note.

Example
    {"kind": "recovery", "occurred": "2024-07-02", "payload": {"animal": "MS-2023-0018", "enclosure": "P1"}}
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from ledger.acts import LOST, Act, Back, Step
from ledger.kinds._fields import Lost, refuse
from ledger.kinds._subject import OneSubject, check_numbers, ident, lost, the_place, with_
from ledger.kinds.base import Counts, Enclosure, House, Look, Text

NAME = "recovery"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """`from` is escaped or missing; filled in where the lot's lost animals are all one of them."""

    how_many: Counts | None = None
    from_: Annotated[Lost | None, Field(alias="from")] = None
    enclosure: Enclosure
    holder: House | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _numbers(self) -> Self:
        check_numbers(self.animal, self.how_many)
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many of the lot are back", "Say how_many=….")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Holder by the enclosure; of a lot, which account it comes back from."""
    place = the_place(look, p.lot, "from", lost) if p.lot is not None and p.from_ is None else ""
    return with_(p, holder=look.house_of(p.enclosure), from_=place)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *escaped* or *missing* into the enclosure."""
    one = p.animal is not None
    amount = p.how_many.told() if p.how_many is not None else None
    op = Back(amount, LOST, p.from_ or "", ident(p.enclosure), ident(p.holder), "", "")
    axes = "p" if one else ""
    return (Act(ident(p.subject()), Step.COME, op, "recovered", individual=one, axes=axes, needs=LOST),)
