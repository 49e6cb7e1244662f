"""A brood is over.

What happened
    All that was to hatch or be born has, or it was lost or given up; what is left is counted.

When it counts
    On its day.

What it changes
    No figure of a census. Figures of the brood: eggs left unhatched, infertile or lost, young born dead.

What it does not mean
    The death of young that were born alive: they are in the book, and die as any animal does. A brood all of whose
    eggs are accounted for is over without this entry.

Example
    {"kind": "brood_end", "occurred": "2025-06-04", "payload": {"brood": "B-2025-07", "infertile": 1,
    "stillborn": 3, "cause": "not_determined"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import Number, Positive, refuse
from ledger.kinds.base import Brood, Carried, Counts, Text, Word

NAME = "brood_end"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("brood",)


class Payload(Carried):
    """`unhatched`: eggs that did not hatch, of which it was not found out whether they were fertile.

    `stillborn` may be told by sex; `remains` is a word for what became of them; `lost` and `how` as in a brood check.
    """

    brood: Brood
    unhatched: Number | None = None
    infertile: Number | None = None
    stillborn: Counts | None = None
    lost: Positive | None = None
    how: Literal["eaten", "fungus", "broken", "abandoned", "washed_out", "carrier_died", "not_known"] | None = None
    cause: (
        Literal[
            "infertile",
            "died_in_egg",
            "carrier_died",
            "carrier_ill",
            "abandoned",
            "predation",
            "husbandry",
            "equipment_failure",
            "congenital",
            "other",
            "not_determined",
        ]
        | None
    ) = None
    cause_text: Text | None = None
    remains: Word | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _lost(self) -> Self:
        if self.how is not None and self.lost is None:
            refuse("lost", "how eggs were lost, and no number", "how many were lost", "Say lost=…, or leave how out.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
