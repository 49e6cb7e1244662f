"""An animal got a mark by which it can be known.

What happened
    A transponder, ring, tag or other mark was put on or read for the first time, or a name was given.

When it counts
    From this day it bears the mark.

What it changes
    No figure. The animal can be found by the mark.

What it does not mean
    The house's own number: that is given when it arrives. Whether an animal may be marked in a given way, local
    law and licensed people decide.

Example
    {"kind": "marking", "occurred": "2024-10-09", "payload": {"animal": "MS-2024-0117",
    "scheme": "elastomer", "value": "L2", "colour": "orange", "side": "left", "place": "tail base"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._subject import OneSubject
from ledger.kinds.base import Code, Party, Text, Word

NAME = "marking"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")

Scheme = Literal[
    "transponder",
    "ring",
    "band",
    "elastomer",
    "tag",
    "notch",
    "photo_pattern",
    "call_name",
    "party_number",
]


class Payload(OneSubject):
    """`value` is what can be read; `place` where on the body; `party` whose number it is, for party_number."""

    scheme: Scheme
    value: Word
    colour: Code | None = None
    side: Literal["left", "right", "both", "middle"] | None = None
    place: Word | None = None
    party: Party | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _party(self) -> Self:
        if self.party is not None and self.scheme != "party_number":
            refuse("party", f"a party for a {self.scheme}", "a party with party_number only", "Leave party out.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
