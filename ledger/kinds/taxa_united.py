"""Two taxa of the book are one.

What happened
    What the house kept as two taxa is now held to be one, by a revision or because one was entered twice.

When it counts
    From this day. Of an earlier day both are shown as they stood then, or as today, as asked.

What it changes
    No figure: the animals keep the taxon they were entered under, and are shown under the one it was united into.

What it does not mean
    That somebody looked at the animals: that is a redetermination. That one name took the place of another: that is
    taxon renamed.

Example
    {"kind": "taxa_united", "occurred": "2024-09-01", "payload": {"taxon": "Hippocampus reidi",
    "united_into": "Hippocampus kuda"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds._finding import evidence
from ledger.kinds._subject import called, ident
from ledger.kinds.base import CannotFill, Carried, Look, Taxon, Text

NAME = "taxa_united"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("taxon",)


class Payload(Carried):
    """`taxon` is the one that goes, `united_into` the one that stays."""

    taxon: Taxon
    united_into: Taxon
    evidence: Text | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _evidence(cls, value: Any) -> Any:
        return evidence(value)

    @model_validator(mode="after")
    def _two(self) -> Self:
        if (self.taxon.as_, self.taxon.id) == (self.united_into.as_, self.united_into.id):
            refuse("united_into", "one taxon named twice", "two taxa", "Name the one that goes and the one that stays.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing is filled in; a taxon is not united into itself, nor into one that went itself."""
    into = look.fields(p.united_into).get("united_into")
    if ident(p.taxon) == ident(p.united_into):
        found = f"{called(p.taxon)} and {called(p.united_into)}, which are one already"
        raise CannotFill("united_into", found, "two taxa", "Leave it out.")
    if into is not None:
        gone = look.ref(ident(into))
        found = f"{called(p.united_into)} was itself united into {called(gone)}"
        raise CannotFill("united_into", found, "a taxon that stands", f"Say united_into={called(gone)}.")
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
