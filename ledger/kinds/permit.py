"""A paper of an authority by which something may be done.

What happened
    A permit, licence or certificate was issued to the house, or came with animals.

When it counts
    From this day entries can name it by its number.

What it changes
    No figure. An entry that names it outside the days for which it is valid is warned of.

What it does not mean
    That it suffices for what is done under it: that is for local law and the licensing authority. A permit that is
    not entered here can still be named by its number.

Example
    {"kind": "permit", "occurred": "2024-01-10", "payload": {"permit": "LCNA-2024-0117", "authority": "CWO",
    "house": "MS", "allows": ["import"], "from": "2024-01-10", "until": "2024-07-09"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import Day, in_turn
from ledger.kinds.base import Carried, House, NewPermit, Party, Taxon, Text, Word

NAME = "permit"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("permit",)

Allowed = Literal[
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


class Payload(Carried):
    """`permit` is its number; `from` and `until` the first and last day on which it is valid."""

    permit: NewPermit
    name: Word | None = None
    authority: Party | None = None
    house: House | None = None
    allows: list[Allowed] | None = None
    taxa: list[Taxon] | None = None
    from_: Day | None = Field(default=None, alias="from")
    until: Day | None = None
    conditions: Text | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _days(self) -> Self:
        in_turn("until", self.from_, self.until)
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
