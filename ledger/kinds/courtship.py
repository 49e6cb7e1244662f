"""Courtship was seen between animals, whether they are a pair or not.

What happened
    One or several courted others: greeted, displayed, practised, tried to pass eggs, passed them, mated, spawned, or
    guarded a mate.

When it counts
    It counts nothing; it is shown at its day, or over the days of its range. `seen` days of `watched` days say how
    often somebody looked.

What it changes
    No figure. A brood may name the courtship it came of.

What it does not mean
    A bond: that is a pairing. Nor a brood, nor who its parents are.

Example
    {"kind": "courtship", "occurred": "2025-03-30", "payload": {"by": ["MS-2024-0118"], "with": ["MS-2024-0071"],
    "mutual": true, "act": "greeting", "seen": 6, "watched": 7, "enclosure": "R2"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._bonds import Some, all_different
from ledger.kinds._fields import Number, Positive, refuse
from ledger.kinds.base import Carried, Enclosure, Look, Text

NAME = "courtship"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("by", "with")


class Payload(Carried):
    """`by` courts `with`; a lot means one of it. `mutual`: both sides. `seen`: days seen, of `watched` days.

    Two may also be written as `who`: the one that courts, then the one that is courted.
    """

    by: Some
    with_: Some = Field(alias="with")
    mutual: bool | None = None
    act: Literal[
        "greeting", "display", "practice", "egg_transfer_tried", "egg_transfer", "mating", "spawning", "guarding"
    ]
    outcome: Literal["accepted", "refused", "broken_off", "not_known"] | None = None
    seen: Number | None = None
    watched: Positive | None = None
    enclosure: Enclosure | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _who(cls, value: Any) -> Any:
        if isinstance(value, dict) and "who" in value and "by" not in value and "with" not in value:
            who = value["who"]
            if not isinstance(who, list) or len(who) != 2:
                refuse("who", "not two", "the one that courts, the one that is courted", "Of several say by=… with=….")
            value = {k: v for k, v in value.items() if k != "who"} | {"by": [who[0]], "with": [who[1]]}
        return value

    @model_validator(mode="after")
    def _days(self) -> Self:
        if self.seen is not None and self.watched is not None and self.seen > self.watched:
            way = "Say seen=days seen, watched=days on which somebody looked."
            refuse("seen", f"{self.seen} of {self.watched} days", "no more days seen than watched", way)
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but each animal stands on one side. A lot may stand on both."""
    del look
    animals = [ref for ref in (*p.by, *p.with_) if not (ref.id or "").startswith("g-")]
    all_different("with", animals)
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
