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

from fractions import Fraction
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import StringConstraints, model_validator

from ledger.acts import Act
from ledger.kinds._fields import kept_code, refuse
from ledger.kinds.base import Carried, Code, NewParty, Party, Text, Word

NAME = "party"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("party",)


Share = Annotated[str, StringConstraints(pattern=r"^[1-9]\d{0,5}/[1-9]\d{0,5}$")]


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

    LATER: ClassVar[dict[str, str]] = {
        "closed": "Closing a party comes with a later version.",
        "succeeded_by": "Successors come with a later version; enter the new party as one of its own.",
    }

    @model_validator(mode="before")
    @classmethod
    def _person(cls, value: Any) -> Any:
        if isinstance(value, dict) and value.get("sort") == "natural_person":
            value = kept_code(value, "party")
            if isinstance(value.get("name"), str):
                value = {**value, "name": {"clear": value["name"]}}
        return _parted(value)

    @model_validator(mode="after")
    def _shares(self) -> Self:
        members, shares = self.members or [], self.shares or []
        if (self.sort == "joint") != bool(members):
            found = "members of a party that is not joint" if members else "a joint party without members"
            refuse("members", found, "sort=joint with its members", "Say both, or neither.")
        if members and (len(shares) != len(members) or sum(map(Fraction, shares)) != 1):
            found = f"shares of {' + '.join(shares) or 'nothing'}"
            refuse("shares", found, "one share a member, together 1", "Write them as 1/3 and 2/3.")
        if len({(m.as_, m.id) for m in members}) < len(members):
            refuse("members", "a member named twice", "each once", "Add their shares up.")
        return self


def _parted(value: Any) -> Any:
    """Members written each with its share, as two lists."""
    members = value.get("members") if isinstance(value, dict) else None
    if not isinstance(members, list) or not members or "shares" in value:
        return value
    if not all(isinstance(m, dict) and "share" in m and len(m) == 2 and {"party", "house"} & set(m) for m in members):
        return value
    named = [m.get("party", m.get("house")) for m in members]
    return {**value, "members": named, "shares": [m["share"] for m in members]}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
