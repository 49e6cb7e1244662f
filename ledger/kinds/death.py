"""An animal died.

What happened
    One animal, or part of a lot, was found dead or died.

When it counts
    On the day by which it had certainly happened: the last possible day, or earlier where later entries
    prove it.

What it changes
    Census and closing; the columns of deaths by age. It may be entered of an animal away at a party, escaped
    or missing. A sex found on the carcass is first a sexing, then the death.

What it does not mean
    A diagnosis. Cause and circumstance are what the house recorded; what is learnt later completes the entry.
    Whether and how an animal is killed, and what must be reported, local law and licensed people decide.

Example
    {"kind": "death", "occurred": "2026-03-04/2026-03-05", "payload": {"animal": "MS-2024-0117",
    "cause": "not_determined", "circumstance": "found_dead", "note": "Found on the pump intake."}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import LIVE, LOST, SEEN, Act, Amount, Shift, Step
from ledger.kinds._fields import refuse
from ledger.kinds._loss import sets_of
from ledger.kinds._subject import Loss, away, fill_from, ident, in_house
from ledger.kinds.base import Look, Person, Sex, Text

NAME = "death"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")

Cause = Literal[
    "disease_infectious",
    "disease_other",
    "parasites",
    "trauma",
    "aggression",
    "predation",
    "cannibalism",
    "nutrition",
    "husbandry",
    "water_quality",
    "equipment_failure",
    "transport",
    "anaesthesia",
    "reproduction",
    "congenital",
    "neonatal",
    "senescence",
    "neoplasia",
    "euthanasia",
    "other",
    "not_determined",
]
Circumstance = Literal[
    "found_dead",
    "died_under_care",
    "died_under_observation",
    "euthanised",
    "during_transport",
    "under_anaesthesia",
    "during_handling",
    "killed_by_another",
    "other",
    "not_determined",
]


class Payload(Loss):
    """`from` may be an enclosure, the party the animals are with, or the word escaped or missing."""

    cause: Cause | None = None
    circumstance: Circumstance | None = None
    cause_text: Text | None = None
    circumstance_text: Text | None = None
    sex_found: Sex | None = None
    euthanasia_ground: Text | None = None
    decided_by: Person | None = None

    LATER: ClassVar[dict[str, str]] = {
        "brood": "Broods come with a later version; say it in the note.",
        "cohort": "Cohorts of a lot come with a later version; say it in the note.",
        "written_off": "A body out of a count difference comes with a later version; date it before the count.",
        "how_many.n": "Deaths without sexes come with a later version; write the number, which means sex unknown.",
    }

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        killed = self.cause == "euthanasia" or self.circumstance == "euthanised"
        if (self.euthanasia_ground or self.decided_by) and not killed:
            way_out = "Say circumstance=euthanised, or leave ground and decided_by out."
            refuse("circumstance", "a ground or a decision without euthanasia", "a death by euthanasia", way_out)
        if self.sex_found == "unknown":
            refuse("sex_found", "unknown", "male, female or hermaphrodite", "Leave sex_found out.")
        if (
            self.sex_found
            and self.how_many
            and any(s not in ("unknown", self.sex_found) for s, _ in self.how_many.amount())
        ):
            way_out = "Say how_many by the sex they had in the book: of unknown sex, or of the sex found."
            refuse("how_many", "animals of another known sex", "animals of unknown sex", way_out)
        return self


def fill(p: Payload, look: Look) -> Payload:
    """Of a lot: from where, if its animals stand in one enclosure, or with one party and in none."""
    return fill_from(p, look, in_house, away)


def acts(p: Payload) -> tuple[Act, ...]:
    """The sex found, then from its place into *dead*."""
    subject = ident(p.subject())
    dead = sets_of("dead", keeps_owner=False)
    found = (("sex", p.sex_found or ""),)
    if p.animal is not None:
        end = Act(subject, Step.END, Shift(None, LIVE, "", "", dead), "died", axes="*")
        if p.sex_found is None:
            return (end,)
        sexing, only = Shift(None, LIVE, "", "", found), ("unknown", p.sex_found)
        return (Act(subject, Step.CHANGE, sexing, "sexed", axes="s", finding=True, only_from=only), end)
    amount, at, owner = p.taken()
    where = LOST if at in ("escaped", "missing") else SEEN
    out: list[Act] = []
    total: Amount = amount or ()
    if p.sex_found is not None:
        untold = tuple((sex, n) for sex, n in total if sex != p.sex_found)
        total = ((p.sex_found, sum(n for _, n in total)),)
        if untold:
            out.append(Act(subject, Step.CHANGE, Shift(untold, where, at, owner, found), "sexed", individual=False))
    out.append(Act(subject, Step.LEAVE, Shift(total, where, at, owner, dead), "died", individual=False))
    return tuple(out)
