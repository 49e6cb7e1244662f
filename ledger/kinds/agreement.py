"""What two or more parties have agreed about animals.

What happened
    A loan, a breeding loan, keeping for another, or an exchange was agreed.

When it counts
    From this day transfers and births can name it.

What it changes
    No figure. Of young whose parent is not wholly the house's, `young_go_to` is proposed as owner, and is filled in
    where the birth names the agreement.

What it does not mean
    That animals went: each goes by a transfer. The paper itself is kept elsewhere and rules over what stands here.

Example
    {"kind": "agreement", "occurred": "2024-09-20", "payload": {"agreement": "BL-2024-03",
    "terms": "breeding_loan", "parties": ["OSC", "MS"], "from": "2024-10-01", "ends": "2027-09-30",
    "young_go_to": "OSC"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import Day, in_turn, refuse
from ledger.kinds.base import Carried, NewAgreement, Party, Text, Word

NAME = "agreement"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("agreement",)


class Payload(Carried):
    """`from` and `ends` are its first and last day; `exchange_for` what is given in return, in free text.

    `young_go_to`: who owns young born under it, where it is one party for all; what is agreed beyond, in `young_terms`.
    """

    agreement: NewAgreement
    name: Word | None = None
    terms: Literal["loan", "breeding_loan", "held_for_another", "exchange", "other"]
    parties: list[Party]
    from_: Day | None = Field(default=None, alias="from")
    ends: Day | None = None
    young_go_to: Party | None = None
    young_terms: Text | None = None
    exchange_for: Text | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if len({(p.as_, p.id) for p in self.parties}) < 2:
            refuse("parties", "fewer than two parties", "all who agreed, each once", "Name them in parties.")
        in_turn("ends", self.from_, self.ends)
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
