"""Animals went from one enclosure to another of the same house.

What happened
    One animal, a lot, or part of a lot was moved.

When it counts
    On the day of the move; of a range, on its last possible day.

What it changes
    Where a census shows them. No closing figure of the house.

What it does not mean
    A change of holder: to another house it is a transfer. Part of a lot keeps the lot's number wherever it stands.

Example
    {"kind": "move", "occurred": "2024-11-04", "payload": {"lot": "MS-2024-0040", "how_many": 5,
    "from": "T3", "to": "HOSP"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import HELD, Act, Shift, Step
from ledger.kinds._subject import Part, fill_all_there, fill_from, ident, in_house
from ledger.kinds.base import CannotFill, Enclosure, Look

NAME = "move"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Part):
    """Without `how_many` and `from` all of it moves; with `from` alone, all that stand there."""

    to: Enclosure

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if it stands in one enclosure; how many, if all of one enclosure go."""
    if p.lot is not None and p.how_many is None and p.from_ is None:
        houses = {c.holder for c in look.cells(p.lot) if in_house(c)}
        if len(houses) > 1:
            found = "the lot stands with several houses"
            raise CannotFill("from", found, "the enclosure they are moved from", "Say from=… and how_many=….")
    return fill_from(fill_all_there(p, look), look, in_house)


def acts(p: Payload) -> tuple[Act, ...]:
    """The place is set; the holder stays."""
    amount, at, owner = p.taken()
    one, whole = p.animal is not None, p.animal is None and amount is None
    op = Shift(amount, HELD, at, owner, (("place", ident(p.to)),))
    axes = "p" if one or whole else ""
    return (Act(ident(p.subject()), Step.CHANGE, op, "re_housed", individual=one, axes=axes, needs=HELD, whole=whole),)
