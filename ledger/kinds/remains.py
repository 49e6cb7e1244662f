"""What became of a body.

What happened
    A carcass was examined, frozen, given to a museum or to its owner, or destroyed.

When it counts
    It counts nothing; it is shown at its day, after the death.

What it changes
    No figure: the animal is dead already. One body may have several such entries, one after another.

What it does not mean
    A cause of death: what an examination finds completes the entry of the death. Whether a body may be kept or given
    away, local law decides.

Example
    {"kind": "remains", "occurred": "2026-03-09", "payload": {"animal": "MS-2024-0117", "fate": "museum",
    "to": "OSC", "permit": "CWO-2026-14"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._subject import OneSubject, check_numbers
from ledger.kinds.base import Code, Counts, Party, PermitNumber, Text

NAME = "remains"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """`to`: who has it now; `number_there` what it bears there. Of a lot, `how_many` bodies."""

    how_many: Counts | None = None
    fate: Literal["examined", "frozen", "museum", "owner", "destroyed", "other"]
    to: Party | None = None
    number_there: Code | None = None
    permit: PermitNumber | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        check_numbers(self.animal, self.how_many)
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many bodies of the lot", "Say how_many=….", "no-number")
        if self.number_there is not None and self.to is None:
            refuse("to", "a number there, and nobody who has it", "who has it", "Say to=….")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
