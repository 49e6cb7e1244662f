"""Something about an outside body or person is different from this day on.

What happened
    It got another name, code or address, was closed, or was succeeded by another; or the shares of a joint party
    passed.

When it counts
    From this day. What was entered before keeps the party; only what it is called is new.

What it changes
    No figure. A party that is closed takes no more animals; what stands there can still be fetched or die there.

What it does not mean
    That animals or titles passed to the successor: that is a transfer or a title change, one by one. A mistake is
    put right by a correction of the party's own entry.

Example
    {"kind": "party_changed", "occurred": "2024-07-01", "payload": {"party": "HQT", "closed": true,
    "succeeded_by": "OSC"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._joint import Share, add_up, parted
from ledger.kinds.base import Carried, Code, Look, OutsideParty, Party, Text, Word

NAME = "party_changed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("party",)


class Payload(Carried):
    """Only what changes is given. A new name of a person is kept apart, as the old one is."""

    party: OutsideParty
    code: Code | None = None
    name: Word | Text | None = None
    country: Word | None = None
    address: Text | None = None
    authority_numbers: dict[Code, Code] | None = None
    members: list[Party] | None = None
    shares: list[Share] | None = None
    closed: Literal[True] | None = None
    succeeded_by: Party | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _members(cls, value: Any) -> Any:
        return parted(value)

    @model_validator(mode="after")
    def _something(self) -> Self:
        changes = (self.code, self.name, self.country, self.address, self.authority_numbers, self.members)
        if not any((*changes, self.closed, self.succeeded_by)):
            refuse("party", "no change", "at least one thing that is new", "Say what changes, as in closed=true.")
        add_up(self.members, self.shares)
        return self


def fill(p: Payload, look: Look) -> Payload:
    """The name of a person goes apart."""
    if isinstance(p.name, str) and look.fields(p.party).get("sort") == "natural_person":
        return p.model_copy(update={"name": Text(clear=p.name)})
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
