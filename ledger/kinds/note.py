"""Something worth keeping that moves nobody.

What happened
    Somebody saw or asked something about an animal, a lot, an enclosure or the house.

When it counts
    It counts nothing; it is shown at its day.

What it changes
    No figure.

What it does not mean
    A record of another kind: what moves animals or states a finding has its own. Diets, treatments and water
    values are kept elsewhere.

Example
    {"kind": "note", "occurred": "2024-10-03", "payload": {"animal": "MS-2024-0117", "topic": "behaviour",
    "text": "Feeds from the tongs since yesterday."}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds.base import Animal, Carried, Enclosure, Lot, Text

NAME = "note"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Carried):
    """Without animal, lot and enclosure it is about the house."""

    animal: Animal | None = None
    lot: Lot | None = None
    enclosure: Enclosure | None = None
    topic: Literal["behaviour", "diet", "surroundings", "safety", "question"]
    text: Text

    LATER: ClassVar[dict[str, str]] = {
        "closes": "Closing a question comes with a later version; answer it by a further note.",
    }

    @model_validator(mode="after")
    def _one(self) -> Self:
        if self.animal is not None and self.lot is not None:
            refuse("animal", "both an animal and a lot", "one of them at most", "Write a note for each.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
