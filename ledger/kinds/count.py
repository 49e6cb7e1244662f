"""A lot was counted, in one place.

What happened
    Somebody counted all animals of a lot in an enclosure, by sex or as unknown.

When it counts
    At the close of this one day, after everything else of the day.

What it changes
    It sets the balance there. What the book had more or fewer is posted as *unaccounted*, in a column of its own,
    never as deaths. A death recorded later and dated before the count takes its share out of that difference.

What it does not mean
    A range or an estimate; nor that the missing died. A sex that is not named was counted as none.

Example
    {"kind": "count", "occurred": "2025-07-01", "payload": {"lot": "MS-2024-0040", "how_many": 80,
    "enclosure": "T3"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import HELD, Act, Level, Step
from ledger.kinds._subject import ident, in_house, the_place, with_
from ledger.kinds.base import Carried, Counts, Enclosure, Look, Lot, Party, Text

NAME = "count"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ("lot",)


class Payload(Carried):
    """`how_many` may be nobody. `owned_by`: whose animals, where several owners' stand there."""

    lot: Lot
    how_many: Counts
    enclosure: Enclosure | None = None
    owned_by: Party | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "before": "Counts before the day's other entries come with a later version; date it the day before.",
        "stands_for": "Counts that stand for another day come with a later version; enter the day of counting.",
        "taken_as": "Ranges come with a later version; enter the number that is to stand.",
        "is": "What a difference is comes with a later version; it is posted as unaccounted.",
        "at_least": "Ranges come with a later version; enter the number that is to stand.",
        "at_most": "Ranges come with a later version; enter the number that is to stand.",
        "how_many.n": "Counts without sexes come with a later version; write the number, which means sex unknown.",
    }


def fill(p: Payload, look: Look) -> Payload:
    """Where, if the lot stands in one enclosure."""
    if p.enclosure is not None:
        return p
    place = the_place(look, p.lot, "enclosure", in_house)
    return with_(p, enclosure=look.ref(place) if place else None)


def acts(p: Payload) -> tuple[Act, ...]:
    """The balance of the lot in that place is set."""
    op = Level(p.how_many.amount(), ident(p.enclosure), ident(p.owned_by))
    return (Act(ident(p.lot), Step.COUNT, op, "count_unaccounted", individual=False, needs=HELD),)
