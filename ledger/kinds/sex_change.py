"""An animal changes, or changed, its sex.

What happened
    The first sign was seen, the change was completed, or it was given up.

When it counts
    A completed change on its day; of a range, on its last possible day, with the range shown. First signs and
    changes given up count nothing.

What it changes
    The sex columns; *re-classed* in a roll-forward, only when completed. No total.

What it does not mean
    A finding about what it always was: that is a sexing. Until the change is completed the animal counts with its
    former sex.

Example
    {"kind": "sex_change", "occurred": "2025-08-01/2025-08-20", "payload": {"animal": "MS-2023-0042",
    "to": "f", "stage": "completed", "evidence": "spawning"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import LIVE, SEEN, Act, Shift, Step
from ledger.kinds._fields import refuse
from ledger.kinds._finding import Found
from ledger.kinds._subject import away, fill_from, ident, in_house, with_
from ledger.kinds.base import Look, Sex

NAME = "sex_change"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Found):
    """`was` is the former sex, filled in for an animal; of a lot, `how_many` is by the former sex."""

    to: Sex
    was: Sex | None = None
    stage: Literal["first_sign", "completed", "given_up"]
    evidence: Literal["behaviour", "colour", "size", "spawning", "examination", "gonad", "gene", "other"] | None = None

    LATER: ClassVar[dict[str, str]] = {
        "of": "The earlier stage a change goes on from comes with a later version; say it in the note.",
        "opened_by": "The loss that opened the place comes with a later version; say it in the note.",
    }

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.to == "unknown":
            refuse("to", "a change to unknown", "male, female or hermaphrodite", "Say what it became.")
        if self.was == self.to:
            refuse("was", f"from {self.was} to {self.to}", "two sexes", "Say what it was and what it became.")
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many changed, by their former sex", "Say how_many={'f': 1}.")
        if self.lot is not None and self.was is not None:
            refuse("was", "a former sex for a lot", "how_many by the former sex", "Leave was out.")
        if self.how_many is not None and any(sex == self.to for sex, _ in self.how_many.amount()):
            refuse("how_many", f"{self.to} changed to {self.to}", "their former sex", "Say how_many by the former sex.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """The former sex of an animal; of a lot, where they stand, if in one enclosure."""
    if p.animal is not None and p.was is None:
        sexes = {c.sex for c in look.cells(p.animal)}
        was = sexes.pop() if len(sexes) == 1 else ""
        return with_(p, was=was if was != p.to else "")
    return fill_from(p, look, in_house, away)


def acts(p: Payload) -> tuple[Act, ...]:
    """Completed: the sex is set. Other stages: none."""
    if p.stage != "completed":
        return ()
    amount, at, owner = p.taken()
    one = p.animal is not None
    op = Shift(amount, LIVE if one else SEEN, at, owner, (("sex", p.to),))
    only = (p.was,) if one and p.was else ()
    axes = "s" if one else ""
    return (Act(ident(p.subject()), Step.CHANGE, op, "sex_changed", individual=one, axes=axes, only_from=only),)
