"""A lot was counted, in one place.

What happened
    Somebody counted all animals of a lot in an enclosure, by sex or in total; exactly, or as one number of a range.

When it counts
    At the close of this one day, after everything else of the day; `before` it where that is said. A count may stand
    for an earlier day (`stands_for`): what it found is posted on that day, the days between rolled back.

What it changes
    It sets the balance there. What the book had more or fewer is posted as what it *is*: unaccounted, unless
    said otherwise, and never as deaths. A death recorded later and dated before the count takes its share out of that
    difference. A range posts what it is taken as, and nothing where it is taken as nothing.

What it does not mean
    That the missing died. A sex that is not named was counted as none; a number alone tells no sexes.

Example
    {"kind": "count", "occurred": "2025-07-01", "payload": {"lot": "MS-2024-0040", "how_many": 80,
    "enclosure": "T3"}}
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import BEFORE_ALL, HELD, Act, Level, Step
from ledger.kinds._fields import Day, refuse
from ledger.kinds._range import Range
from ledger.kinds._subject import ident, in_house, the_place, with_
from ledger.kinds.base import CannotFill, Enclosure, Look, Lot, Party, Text

NAME = "count"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("lot",)

IS = {  # what a difference is -> the account it comes from or goes to, and its reason
    "unaccounted": ("unaccounted", "count_unaccounted"),
    "deaths_not_seen": ("dead", "count_deaths_unseen"),
    "miscount_of_estimate": ("unaccounted", "count_estimate"),
    "young_not_seen": ("born", "count_young_unseen"),
}


class Payload(Range):
    """`how_many` may be nobody. `owned_by`: whose animals, where several owners' stand there."""

    lot: Lot
    enclosure: Enclosure | None = None
    owned_by: Party | None = None
    before: Literal[True] | None = None
    stands_for: Day | None = None
    is_: Annotated[
        Literal["unaccounted", "deaths_not_seen", "miscount_of_estimate", "young_not_seen"] | None, Field(alias="is")
    ] = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _something(self) -> Self:
        if self.how_many is None and self.at_least is None:
            refuse("how_many", "no number", "how many were counted", "Say how_many=…, or at_least=… and at_most=….")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Where, if the lot stands in one enclosure. The day it stands for is an earlier one."""
    if p.stands_for and date.fromisoformat(p.stands_for).toordinal() >= look.last_day():
        way_out = "Say the earlier day, or leave stands_for out."
        raise CannotFill("stands_for", f"a count that stands for {p.stands_for}", "a day before the count", way_out)
    if p.enclosure is not None:
        return p
    place = the_place(look, p.lot, "enclosure", in_house)
    return with_(p, enclosure=look.ref(place) if place else None)


def acts(p: Payload) -> tuple[Act, ...]:
    """The balance of the lot in that place is set; of a range that is taken as nothing, none."""
    number = p.number()
    if number is None:
        return ()
    account, reason = IS[p.is_ or "unaccounted"]
    op = Level(number.told(), ident(p.enclosure), ident(p.owned_by), account)
    stands_for = date.fromisoformat(p.stands_for).toordinal() if p.stands_for else 0
    act = Act(ident(p.lot), Step.COUNT, op, reason, individual=False, needs=HELD)
    return (act._replace(rank=BEFORE_ALL if p.before else -1, likely=p.likely(), stands_for=stands_for),)
