"""Somebody found out what sex an animal is.

What happened
    An animal, or some of a lot, was sexed. The animal did not change.

When it counts
    On this day, on the day it is said to hold since, or since birth: then the arrival itself is restated. After
    an animal's end, on the last day of its stay.

What it changes
    The sex columns; *re-classed* in a roll-forward. No total.

What it does not mean
    A sex change. Against a sex already known it is refused: either the animal changed (a sex change), or the
    earlier sexing was wrong (correct it).

Example
    {"kind": "sexing", "occurred": "2024-09-12", "payload": {"animal": "MS-2024-0117", "to": "f",
    "evidence": "examination", "holds_since": "birth"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import LIVE, SEEN, Act, Shift, Step
from ledger.kinds._fields import Since, refuse
from ledger.kinds._finding import Found, since_of
from ledger.kinds._subject import away, fill_from, ident, in_house
from ledger.kinds.base import Look, Sex

NAME = "sexing"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Found):
    """Of a lot, `how_many` is by the sex they were in the book, mostly unknown."""

    to: Sex
    evidence: (
        Literal[
            "colour",
            "size",
            "behaviour",
            "examination",
            "imaging",
            "gene",
            "hormone",
            "post_mortem",
            "matured",
            "other",
        ]
        | None
    ) = None
    holds_since: Since | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _lots(self) -> Self:
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many were sexed, by the sex they were", "Say how_many=….")
        if self.how_many is not None and any(sex == self.to for sex, _ in self.how_many.amount()):
            refuse("how_many", f"{self.to} sexed as {self.to}", "the sex they were in the book", "Say who was sexed.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if it stands in one enclosure."""
    return fill_from(p, look, in_house, away)


def acts(p: Payload) -> tuple[Act, ...]:
    """The sex is set."""
    amount, at, owner = p.taken()
    one = p.animal is not None
    since = since_of(p.holds_since)
    op = Shift(amount, LIVE if one else SEEN, at, owner, (("sex", p.to),))
    only = ("unknown",) if one and since != "origin" else ()
    return (
        Act(
            ident(p.subject()),
            Step.CHANGE,
            op,
            "sexed",
            individual=one,
            axes="s" if one else "",
            since=since,
            finding=True,
            only_from=only,
        ),
    )
