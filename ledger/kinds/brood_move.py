"""Eggs or young of a brood went to another carer, nest, enclosure or house.

What happened
    They were fostered, moved, sent to or received from somebody outside, or the nest was rebuilt elsewhere.

When it counts
    On its day.

What it changes
    No figure of a census: eggs are figures of the brood. Those sent leave its figures, those received enter them,
    those `lost` in the move are its losses.

What it does not mean
    A move of young that are in the book: their lot or number is moved. The parents stay the parents, whoever tends
    them.

Example
    {"kind": "brood_move", "occurred": "2025-05-20", "payload": {"brood": "B-2025-07", "how_many": 1,
    "from_carer": "MS-2022-0031", "to_carer": "MS-2022-0040", "nest": "N-14"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._bonds import all_different
from ledger.kinds._fields import Positive, refuse
from ledger.kinds.base import Animal, Brood, Carried, Enclosure, Look, Party, Text, Word

NAME = "brood_move"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("brood",)


class Payload(Carried):
    """`what`: eggs, if not said; `how_many`: all, if not said. `to_party`: sent away; `from_party`: received."""

    brood: Brood
    what: Literal["eggs", "young"] = "eggs"
    how_many: Positive | None = None
    from_carer: Animal | None = None
    to_carer: Animal | None = None
    to: Enclosure | None = None
    nest: Word | None = None
    to_party: Party | None = None
    from_party: Party | None = None
    lost: Positive | None = None
    how: Literal["eaten", "fungus", "broken", "abandoned", "washed_out", "carrier_died", "not_known"] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _where(self) -> Self:
        whither = (self.to_carer, self.from_carer, self.to, self.nest, self.to_party, self.from_party)
        if not any(place is not None for place in whither):
            way = "Say to_carer=…, to=…, nest=…, to_party=… or from_party=…."
            refuse("to", "nowhere to go", "another carer, nest, enclosure or house", way)
        if self.to_party is not None and self.from_party is not None:
            refuse("to_party", "sent away and received", "one of the two", "Enter what came and what went apart.")
        if self.from_party is not None and self.how_many is None:
            refuse("how_many", "no number", "how many were received", "Say how_many=….")
        if self.how is not None and self.lost is None:
            refuse("lost", "how eggs were lost, and no number", "how many were lost", "Say lost=…, or leave how out.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but two carers are two."""
    del look
    if p.from_carer is not None and p.to_carer is not None:
        all_different("to_carer", (p.from_carer, p.to_carer))
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
