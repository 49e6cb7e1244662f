"""Something worth keeping that moves nobody.

What happened
    Somebody saw or asked something about an animal, a lot, an enclosure or the house.

When it counts
    It counts nothing; it is shown at its day.

What it changes
    No figure. A question stays open until a later note closes it.

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
from ledger.kinds.base import Animal, CannotFill, Carried, Code, Enclosure, Look, Lot, Text

NAME = "note"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Carried):
    """Without animal, lot and enclosure it is about the house. `closes` names an open question (`#n` or its id)."""

    animal: Animal | None = None
    lot: Lot | None = None
    enclosure: Enclosure | None = None
    topic: Literal["behaviour", "diet", "surroundings", "safety", "question"]
    text: Text

    closes: Code | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _one(self) -> Self:
        if self.animal is not None and self.lot is not None:
            refuse("animal", "both an animal and a lot", "one of them at most", "Write a note for each.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but what it closes must be a question that stands."""
    if p.closes is not None:
        asked = look.event(p.closes)
        if asked is None or asked.kind != "note" or getattr(asked.payload, "topic", "") != "question":
            found = f"{p.closes!r} is no question that stands"
            raise CannotFill("closes", found, "a note of topic question", "Name it as #n.", "unknown-event")
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
