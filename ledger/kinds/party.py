"""An outside body or person: a partner institution, a dealer, an authority, a private owner.

What happened
    A party was entered, so that animals can come from it, go to it, or be owned by it.

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

from typing import Any, ClassVar, Literal

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import kept_code
from ledger.kinds.base import Carried, Code, NewParty, Text, Word

NAME = "party"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("party",)


class Payload(Carried):
    """`name` is text kept apart where the party is a person, and stands in the record where it is a body."""

    party: NewParty
    code: Code | None = None
    name: Word | Text
    sort: Literal["institution", "dealer", "authority", "natural_person", "research", "other"]
    country: Word | None = None
    address: Text | None = None
    authority_numbers: dict[Code, Code] | None = None

    LATER: ClassVar[dict[str, str]] = {
        "members": "Parties with members and shares come with a later version; enter the party itself.",
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
        return value


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
