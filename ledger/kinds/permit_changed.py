"""Something about a permit is different from this day on.

What happened
    It was extended, withdrawn or given back, got another number, or allows more or less than before.

When it counts
    From this day; `until` is its new last day.

What it changes
    No figure. Entries that name it are held to the days it has now.

What it does not mean
    That the earlier entry was wrong. A mistake is put right by a correction of the permit's own entry.

Example
    {"kind": "permit_changed", "occurred": "2024-07-01", "payload": {"permit": "LCNA-2024-0117",
    "until": "2024-12-31"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import Day, in_turn, refuse
from ledger.kinds.base import Carried, Code, Permit, Taxon, Text

NAME = "permit_changed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("permit",)


class Payload(Carried):
    """Only what changes is given. `closed`: withdrawn, given back or used up; its last day is the day of this entry."""

    permit: Permit
    code: Code | None = None
    allows: (
        list[
            Literal[
                "collect",
                "import",
                "export",
                "re_export",
                "hold",
                "display",
                "breed",
                "transport",
                "trade",
                "release",
                "research",
                "remains",
                "other",
            ]
        ]
        | None
    ) = None
    taxa: list[Taxon] | None = None
    from_: Day | None = Field(default=None, alias="from")
    until: Day | None = None
    conditions: Text | None = None
    closed: Literal[True] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not any((self.code, self.allows, self.taxa, self.from_, self.until, self.conditions, self.closed)):
            refuse("permit", "no change", "at least one thing that is new", "Say what changes, as in until=2024-12-31.")
        in_turn("until", self.from_, self.until)
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
