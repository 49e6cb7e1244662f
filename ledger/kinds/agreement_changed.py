"""Something about an agreement is different from this day on.

What happened
    It was extended, ended before its time, or its line about young was agreed anew.

When it counts
    From this day. Of young born before it, the line that stood then is proposed.

What it changes
    No figure.

What it does not mean
    That the animals went back: each goes by a transfer.

Example
    {"kind": "agreement_changed", "occurred": "2027-08-15", "payload": {"agreement": "BL-2024-03",
    "ends": "2029-09-30"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import Day, refuse
from ledger.kinds.base import Agreement, Carried, Code, Party, Text

NAME = "agreement_changed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("agreement",)


class Payload(Carried):
    """Only what changes is given. `closed`: it ended on this day, whatever `ends` said."""

    agreement: Agreement
    code: Code | None = None
    ends: Day | None = None
    young_go_to: Party | None = None
    young_terms: Text | None = None
    exchange_for: Text | None = None
    closed: Literal[True] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _something(self) -> Self:
        given = (self.code, self.ends, self.young_go_to, self.young_terms, self.exchange_for, self.closed)
        if not any(given):
            refuse("agreement", "no change", "at least one thing that is new", "Say what changes, as in ends=….")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
