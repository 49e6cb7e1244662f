"""Somebody else owns an animal now; nobody moves.

What happened
    Title passed by sale, gift, exchange or bequest, while the animal stayed where it is.

When it counts
    On the day title passed; of a range, on its last possible day.

What it changes
    The owned basis: columns *title in* and *title out*. An animal given to its borrower while on loan leaves
    the book by it.

What it does not mean
    A transfer. What is delivered afterwards goes on the terms *delivery after title passed*.

Example
    {"kind": "title_change", "occurred": "2024-12-01", "payload": {"animal": "MS-2024-0071", "owner": "MS",
    "terms": "donation"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import LIVE, PAPER, Act, Shift, Step
from ledger.kinds._subject import Part, away, fill_from, ident, in_house
from ledger.kinds.base import Agreement, Look, Party

NAME = "title_change"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Part):
    """`owner` is the new owner; of part of a lot, `from` is where they stand and `owned_by` whose they were."""

    owner: Party
    terms: Literal["sale", "donation", "exchange", "bequest", "other"] | None = None
    agreement: Agreement | None = None

    LATER: ClassVar[dict[str, str]] = {
        "shares": "Shares come with a later version; name one owner.",
    }


def fill(p: Payload, look: Look) -> Payload:
    """Of part of a lot: where they stand, if in one place."""
    return fill_from(p, look, in_house, away)


def acts(p: Payload) -> tuple[Act, ...]:
    """The owner is set; place and holder stay."""
    amount, at, owner = p.taken()
    one, whole = p.animal is not None, p.animal is None and amount is None
    op = Shift(amount, LIVE, at, owner, (("owner", ident(p.owner)),))
    return (
        Act(
            ident(p.subject()),
            Step.CHANGE,
            op,
            "title_out",
            "title_in",
            individual=one,
            axes="o" if one or whole else "",
            needs=PAPER,
            whole=whole,
        ),
    )
