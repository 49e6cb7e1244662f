"""A brood was looked at.

What happened
    Eggs or young of a brood were counted, candled or examined, and what was seen is kept: how many, how many fertile,
    at what stage, what was lost, when the first and the last young came.

When it counts
    On its day; `counted_on`, `first_young` and `last_young` where those were other days.

What it changes
    No figure of a census. Figures of the brood: a later check stands over an earlier one where both say the same
    thing; losses add up.

What it does not mean
    A hatching or a birth: young enter the book by those. `young` are those that have not entered it, as larvae in
    a taxon that enters the book when it settles.

Example
    {"kind": "brood_check", "occurred": "2025-05-12", "payload": {"brood": "B-2025-07", "eggs": 4,
    "eggs_are": "exact", "clutch_complete": true, "fertile": 3, "infertile": 1}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._bonds import in_order
from ledger.kinds._fields import Decimal, Edtf, Number, Positive, refuse
from ledger.kinds.base import Brood, Carried, Text, Word

NAME = "brood_check"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("brood",)


class Payload(Carried):
    """Only what was looked at. `lost` are eggs lost since the last entry about them, `how` if it was seen.

    `independent`: no longer cared for. `temperature` in °C.
    """

    brood: Brood
    eggs: Number | None = None
    eggs_are: Literal["exact", "at_least"] | None = None
    counted_on: Edtf | None = None
    clutch_complete: bool | None = None
    fertile: Number | None = None
    infertile: Number | None = None
    lost: Positive | None = None
    how: Literal["eaten", "fungus", "broken", "abandoned", "washed_out", "carrier_died", "not_known"] | None = None
    young: Number | None = None
    stage: Word | None = None
    independent: bool | None = None
    first_young: Edtf | None = None
    last_young: Edtf | None = None
    temperature: Decimal | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _says(self) -> Self:
        if not self.model_dump(exclude_none=True, exclude={"brood"}):
            refuse("brood", "nothing that was seen", "what was seen", "Say eggs=…, fertile=…, stage=…, or a note.")
        if self.eggs is None and (self.eggs_are is not None or self.counted_on is not None):
            refuse("eggs", "no number of eggs", "a number, with what it is", "Say eggs=…, or leave the rest out.")
        if self.how is not None and self.lost is None:
            refuse("lost", "how eggs were lost, and no number", "how many were lost", "Say lost=…, or leave how out.")
        tested = (self.fertile or 0) + (self.infertile or 0)
        if self.eggs is not None and self.eggs_are == "exact" and tested > self.eggs:
            refuse("fertile", f"{tested} of {self.eggs} eggs", "no more than were counted", "Mend the numbers.")
        in_order("last_young", self.first_young, self.last_young)
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
