"""An animal that no lawful holder had before came into the house.

What happened
    It was collected in the wild, stranded, was rescued, seized or found, or settled by itself.

When it counts
    On the day it came in.

What it changes
    Census and closing; column *acquired*. Stranded and rescued animals stand as *rehabilitation* unless
    another standing is said; seized ones that another owns as *held for another*.

What it does not mean
    A purchase or a gift: with a lawful holder on both sides it is a transfer. Whether a permit suffices is
    for local law and the authority.

Example
    {"kind": "acquisition", "occurred": "2024-05-14", "payload": {"lot": "MS-2024-0040", "how_many": "0.0.25",
    "taxon": "Chromis viridis", "enclosure": "Q1", "manner": "wild_collection", "where": "outer reef, 12 m",
    "permit": "WC-2024-19", "source_code": "W"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds._arrival import ArrivalInto, arrival_acts, fill_arrival, holder_of
from ledger.kinds._fields import CitesSource, Edtf
from ledger.kinds._subject import ident
from ledger.kinds.base import Agreement, ArrivingAnimal, Look, PermitNumber, Text

NAME = "acquisition"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot", "into")


class Payload(ArrivalInto):
    """`where` is free text; `source_code` a CITES source code; `permit` one of the register, or its number."""

    animal: ArrivingAnimal | None = None
    manner: Literal["wild_collection", "stranding", "rescue", "seizure", "found", "natural_settlement"]
    where: Text | None = None
    permit: PermitNumber | None = None
    agreement: Agreement | None = None
    source_code: CitesSource | None = None
    born: Edtf | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner, and a standing by the manner."""
    standing = "rehabilitation" if p.manner in ("stranding", "rescue") else "collection"
    if p.manner == "seizure" and p.owner is not None and ident(p.owner) != ident(holder_of(p, look)):
        standing = "held_for_another"
    return fill_arrival(p, look, standing)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *wild* into the cell."""
    return arrival_acts(p, "wild", "acquired")
