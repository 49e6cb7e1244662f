"""An animal passed from one lawful holder to another.

What happened
    One animal, a lot, or part of a lot went from a house or party to another, on stated terms: sold, given,
    exchanged, lent or returned, given in keeping for another.

When it counts
    On the day it arrived; of a range, on its last possible day. Between the day it `left` and that day it is in
    transit, and the sender's.

What it changes
    Holder and place; owner too where the terms pass title. In or out follows from who asks: *in* for the
    receiving house, *out* for the giving one, neither in a whole-book roll-forward between members. What a
    house lends stays its own and is followed at the borrower's. Those dead on arrival died as the sender's. The
    terms are held against who owns the animal on that day (the table stands in `_terms.py`).

What it does not mean
    A move within a house, or a change of owner where nobody moves. Whether papers suffice, the authority decides.

Example
    {"kind": "transfer", "occurred": "2024-10-02", "payload": {"animal": "MS-2024-0071", "from": "OSC",
    "to": "MS", "terms": "breeding_loan", "taxon": "Hippocampus kuda", "sex": "m", "enclosure": "Q1",
    "number_there": "OSC-882", "source_code": "C"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds._fields import CitesPurpose, CitesSource, Edtf
from ledger.kinds._shipment import Shipment, fill_shipment, shipped
from ledger.kinds._terms import coming, passing_on
from ledger.kinds.base import Agreement, Code, Look, PermitNumber, Text, Word

NAME = "transfer"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")
FOLLOWS = {
    "terms": ("owner", "standing", "addition", "owned_by"),
    "from": ("owner", "leaving", "owned_by"),
    "to": ("owner", "standing"),
    "how_many": ("sent", "arrived_alive"),
    "sent": ("arrived_alive",),
    "dead_on_arrival": ("arrived_alive",),
}


class Payload(Shipment):
    """`leaving`: the enclosure part of a lot leaves. `taxon` and `sex` only of a subject new to the book.

    `permits`: of the register, or numbers of others.
    """

    number_there: Code | None = None
    permits: list[PermitNumber] | None = None
    agreement: Agreement | None = None
    source_code: CitesSource | None = None
    purpose_code: CitesPurpose | None = None
    pre_convention: bool | None = None
    born: Edtf | None = None
    origin: Literal["wild", "bred", "unknown"] | None = None
    name: Word | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "brood": "Eggs of a brood come with a later version.",
    }


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner and standing after, by the terms; where part of a lot leaves; what a standing lot is."""
    return fill_shipment(p, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """In, out, between members, or from one outside party to another."""
    inside = ((p.from_.id or "")[:2] == "h-", (p.to.id or "")[:2] == "h-")
    if inside == (False, True):
        return (coming(p),)
    if inside == (False, False):
        return (passing_on(p),)
    return shipped(p)
