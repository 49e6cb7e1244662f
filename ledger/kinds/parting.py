"""A pair is a pair no longer, while both live and are there.

What happened
    One left the other, was replaced or turned away, the season ended, or the keeper took them apart for good.

When it counts
    On its day the bond ends.

What it changes
    No figure.

What it does not mean
    A death, a transfer or an escape: those end or suspend a bond by themselves. Some days in two enclosures are
    no parting either.

Example
    {"kind": "parting", "occurred": "2025-06-20", "payload": {"a": "MS-2024-0118", "b": "MS-2024-0071",
    "by": "MS-2024-0118", "cause": "replaced", "replaced_by": "MS-2024-0090"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._bonds import all_different
from ledger.kinds._fields import refuse
from ledger.kinds._subject import called, ident
from ledger.kinds.base import Animal, CannotFill, Carried, Look, Text

NAME = "parting"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("a", "b")


class Payload(Carried):
    """`by`: which of the two left the other. `kept_apart`: the keeper parted them."""

    a: Animal
    b: Animal
    by: Animal | None = None
    cause: Literal["replaced", "rejected", "kept_apart", "season_over", "other", "not_determined"] | None = None
    cause_text: Text | None = None
    replaced_by: Animal | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.replaced_by is not None and self.cause not in ("replaced", None):
            way = "Say cause=replaced, or leave replaced_by out."
            refuse("replaced_by", f"a successor, with the cause {self.cause}", "the cause replaced", way)
        if self.by is not None and self.cause == "kept_apart":
            refuse("by", "one that left, and that the keeper parted them", "one of the two", "Leave by out.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but the two are two, `by` is one of them, and their successor is a third."""
    del look
    all_different("b", (p.a, p.b))
    if p.by is not None and ident(p.by) not in (ident(p.a), ident(p.b)):
        found = f"{called(p.by)} is neither of the two"
        raise CannotFill("by", found, f"{called(p.a)} or {called(p.b)}", "Name the one that left.")
    if p.replaced_by is not None:
        all_different("replaced_by", (p.a, p.b, p.replaced_by))
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
