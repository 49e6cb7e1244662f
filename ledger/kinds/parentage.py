"""What was found out about the parents of an animal or a lot.

What happened
    Its parents were seen, tested, worked out from the lot it came from, or assumed.

When it counts
    It counts nothing; it holds since the animal's birth, and is known from the day it is recorded.

What it changes
    No figure. It stands over the parents named by the brood or by the birth of the animal.

What it does not mean
    That the birth was entered wrongly: if so, that is corrected. Who reared it is an association.

Example
    {"kind": "parentage", "occurred": "2025-09-01", "payload": {"animal": "MS-2025-0040", "parents":
    [{"dam": "MS-2022-0031", "sire": "MS-2022-0040", "weight": "2/3"},
    {"dam": "MS-2022-0031", "sire": "MS-2022-0052", "weight": "1/3"}], "draw": "each", "basis": "genetic"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._parents import Parents
from ledger.kinds._subject import OneSubject, called, ident
from ledger.kinds.base import CannotFill, Look, Text

NAME = "parentage"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Parents, OneSubject):
    """`sire_none`: a virgin birth, it has no sire. `composition`: by the balances of the lot it was drawn from."""

    sire_none: bool | None = None
    basis: Literal["observed", "genetic", "composition", "assumed"]
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _found(self) -> Self:
        sires = [self.sire, *(pair.sire for pair in self.parents or ())]
        if self.sire_none and any(sire is not None for sire in sires):
            refuse("sire_none", "a sire, and that there is none", "one of the two", "Leave one of them out.")
        if not (self.dam or self.sire or self.parents or self.sire_none):
            refuse("dam", "no parent", "a dam, a sire, pairs with weights, or sire_none", "Say what was found.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but no animal is its own parent."""
    del look
    mine = ident(p.subject())
    pairs = p.parents or ()
    for role, ref in (("dam", p.dam), ("sire", p.sire), *((r, getattr(x, r)) for x in pairs for r in ("dam", "sire"))):
        if ident(ref) == mine and mine[:2] == "a-":
            raise CannotFill(role, f"{called(ref)} as its own {role}", "another animal", f"Name another {role}.")
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
