"""An outside body or person: a partner institution, a dealer, an authority, a private owner.

What happened
    A party was entered, so that animals can come from it, go to it, or be owned by it. A *joint* party is several
    owners together, each with a share.

When it counts
    From this day it can be named.

What it changes
    No figure. Of a party that is a person the record bears only an id and the code; name and address are
    kept apart and can be erased.

What it does not mean
    A member of the book: what stands with a party is followed only while a member house owns it.

Example
    {"kind": "party", "occurred": "2023-01-02", "payload": {"party": "OSC", "name": "Ostrey Sea Centre",
    "sort": "institution", "country": "Portugal"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import kept_code, refuse
from ledger.kinds._joint import Share, add_up, parted
from ledger.kinds.base import Carried, Code, NewParty, Party, Text, Word

NAME = "party"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("party",)


class Payload(Carried):
    """`name` is text kept apart where the party is a person, and stands in the record where it is a body.

    Of a joint party, `members` are houses and parties and `shares` their parts in the same order, as `1/3`; together
    they are one. People may also write `members: [{party: OSC, share: 1/3}, {house: MS, share: 2/3}]`.
    """

    party: NewParty
    code: Code | None = None
    name: Word | Text
    sort: Literal["institution", "dealer", "authority", "natural_person", "research", "joint", "other"]
    country: Word | None = None
    address: Text | None = None
    authority_numbers: dict[Code, Code] | None = None
    members: list[Party] | None = None
    shares: list[Share] | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _person(cls, value: Any) -> Any:
        if isinstance(value, dict) and value.get("sort") == "natural_person":
            value = kept_code(value, "party")
            if isinstance(value.get("name"), str):
                value = {**value, "name": {"clear": value["name"]}}
        return parted(value)

    @model_validator(mode="after")
    def _shares(self) -> Self:
        if (self.sort == "joint") != bool(self.members):
            found = "members of a party that is not joint" if self.members else "a joint party without members"
            refuse("members", found, "sort=joint with its members", "Say both, or neither.")
        add_up(self.members, self.shares)
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
