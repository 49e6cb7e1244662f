"""On hand when the book begins.

What happened
    The house takes over an animal or a lot from its earlier records, with what is known of its past.

When it counts
    On this day it is brought forward. Of a range: the last possible day.

What it changes
    Census and closing; column *brought forward* of the roll-forward, never *acquired* or *born*.

What it does not mean
    An acquisition of that day. Where it came from stands in `origin`, `earlier_house`, `earlier_numbers`,
    `born` and `arrived`.

Example
    {"kind": "opening", "occurred": "2023-01-02", "payload": {"animal": "MS-2019-0004",
    "taxon": "Hippocampus kuda", "sex": "f", "enclosure": "T3", "born": "2019-06~", "origin": "bred",
    "earlier_numbers": ["OSC-311"]}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds._arrival import Arrival, arrival_acts, fill_arrival
from ledger.kinds._fields import Edtf
from ledger.kinds.base import Animal, Code, Look, Text

NAME = "opening"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Arrival):
    """`born` and `arrived` are dates as known, in EDTF; `earlier_house` is free text."""

    born: Edtf | None = None
    origin: Literal["wild", "bred", "unknown"] | None = None
    earlier_house: Text | None = None
    earlier_numbers: list[Code] | None = None
    arrived: Edtf | None = None
    dam: Animal | None = None
    sire: Animal | None = None

    LATER: ClassVar[dict[str, str]] = {
        "into": "An opening is the first of its lot; say how many stood there.",
    }


def fill(p: Payload, look: Look) -> Payload:
    """Holder, owner, standing."""
    return fill_arrival(p, look)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *brought forward* into the cell."""
    return arrival_acts(p, "brought_forward", "brought_forward")
