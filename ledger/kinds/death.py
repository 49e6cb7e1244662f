"""An animal died.

What happened
    One animal, or part of a lot, was found dead or died.

When it counts
    On the day by which it had certainly happened: the last possible day, or earlier where later entries
    prove it.

What it changes
    Census and closing; the columns of deaths by age. It may be entered of an animal away at a party, escaped
    or missing. A sex found on the carcass is first a sexing, then the death.

    A number alone is of untold sexes. A body `out_of_count`, one of those a count found gone, counts on the day of that
    count and out of its difference, so that the figure does not move twice.

What it does not mean
    A diagnosis. Cause and circumstance are what the house recorded; what is learnt later completes the entry.
    Whether and how an animal is killed, and what must be reported, local law and licensed people decide.

Example
    {"kind": "death", "occurred": "2026-03-04/2026-03-05", "payload": {"animal": "MS-2024-0117",
    "cause": "not_determined", "circumstance": "found_dead", "note": "Found on the pump intake."}}
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import LIVE, LOST, SEEN, TRANSIT, Act, Amount, Shift, Step
from ledger.kinds._bonds import event_of
from ledger.kinds._fields import Day, refuse
from ledger.kinds._loss import sets_of
from ledger.kinds._subject import Loss, away, called, counts_of, fill_from, ident, in_house, place_of, with_
from ledger.kinds.base import Brood, CannotFill, Code, HowMany, Look, Person, Ref, Sex, Text
from ledger.words import LETTER_OF

NAME = "death"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")
FOLLOWS = {"out_of_count": ("count_day",)}

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
CAME = ("opening", "hatching", "birth", "acquisition", "transfer")
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
    """`from` may be an enclosure, the party the animals are with, or the word escaped or missing.

    `out_of_count` names the count (`#n` or its id); `count_day`, the day it stands for, is filled in. `in_transit`: it
    died on the way from one holder to another. Of a lot of several ages, `cohort` names the entry by which the dead
    had come (`#n`), or `brood` the brood they were of, where that was seen: then their age is known.
    """

    cause: Cause | None = None
    circumstance: Circumstance | None = None
    cause_text: Text | None = None
    circumstance_text: Text | None = None
    sex_found: Sex | None = None
    euthanasia_ground: Text | None = None
    decided_by: Person | None = None
    in_transit: Literal[True] | None = None
    out_of_count: Code | None = None
    count_day: Day | None = None

    brood: Brood | None = None
    cohort: Code | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        killed = self.cause == "euthanasia" or self.circumstance == "euthanised"
        if (self.euthanasia_ground or self.decided_by) and not killed:
            way_out = "Say circumstance=euthanised, or leave ground and decided_by out."
            refuse("circumstance", "a ground or a decision without euthanasia", "a death by euthanasia", way_out)
        if self.in_transit and self.from_ is not None:
            refuse("from", "a place, of one that died on the way", "none", "Leave from or in_transit out.")
        if self.out_of_count is not None and self.lot is None:
            refuse("out_of_count", "a count, for one animal", "a lot", "Counts are of lots; leave it out.")
        if (self.cohort or self.brood) and self.lot is None:
            named = "cohort" if self.cohort else "brood"
            refuse(named, f"a {named}, for one animal", "a lot of several ages", "Leave it out: its birth says it.")
        if self.cohort and self.brood:
            refuse("brood", "a cohort and a brood", "one of the two", "Name the entry, or the brood.")
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
    """Of a lot: from where, if its animals stand in one enclosure, or with one party and in none; the count's day."""
    if p.out_of_count is not None and p.lot is not None:
        p = _out_of_count(p, p.lot, look)
    came = event_of(look, "cohort", p.cohort, CAME, "the entry by which they came")
    p = with_(p, cohort=came.event_id if came else None)
    if p.in_transit:
        return p
    p = fill_from(p, look, in_house, away)
    return _of_the_sex_found(p, p.lot, look) if p.lot is not None and p.sex_found else p


def _out_of_count(p: Payload, lot: Ref, look: Look) -> Payload:
    """The day on which the difference of that count stands."""
    count = look.event(p.out_of_count or "")
    if count is None or count.kind != "count" or ident(getattr(count.payload, "lot", None)) != ident(lot):
        found = f"{p.out_of_count!r} is no count of {called(lot)}"
        raise CannotFill("out_of_count", found, "a count of that lot that stands", "Name it as #n.", "unknown-event")
    stands_for = getattr(count.payload, "stands_for", None)
    day = date.fromisoformat(stands_for) if stands_for else date.fromordinal(count.last)
    if getattr(count.payload, "before", None) and not stands_for:
        day -= timedelta(days=1)  # the count came before all else of its day
    if day.toordinal() > look.last_day():
        found = f"a count of {day.isoformat()}, after the death"
        way_out = "Leave out_of_count out: what died before a count comes out of it by itself."
        raise CannotFill("out_of_count", found, "a count before the body was found", way_out)
    return with_(p, count_day=day.isoformat())


def _of_the_sex_found(p: Payload, lot: Ref, look: Look) -> Payload:
    """A number alone is of unknown animals; where these are too few, of those of the sex found."""
    if p.how_many is None or not p.how_many.n:
        return p
    n, place = p.how_many.n, place_of(p.from_)
    there = counts_of({c: k for c, k in look.cells(lot).items() if place in ("", c.place)})
    return p if there.u >= n else with_(p, how_many=HowMany(**{LETTER_OF[p.sex_found or "unknown"]: n}))


def acts(p: Payload) -> tuple[Act, ...]:
    """The sex found, then from its place into *dead*."""
    subject = ident(p.subject())
    dead = sets_of("dead", keeps_owner=False)
    found = (("sex", p.sex_found or ""),)
    if p.animal is not None:
        where = TRANSIT if p.in_transit else LIVE
        end = Act(subject, Step.END, Shift(None, where, "", "", dead), "died", axes="*")
        if p.sex_found is None:
            return (end,)
        sexing, only = Shift(None, LIVE, "", "", found), ("unknown", p.sex_found)
        return (Act(subject, Step.CHANGE, sexing, "sexed", axes="s", finding=True, only_from=only), end)
    amount, at, owner = p.taken()
    where = TRANSIT if p.in_transit else LOST if at in ("escaped", "missing") else SEEN
    since = p.count_day or ""
    out: list[Act] = []
    total: Amount = amount or ()
    if p.sex_found is not None and p.how_many is not None:
        total = p.how_many.amount()
        untold = tuple((sex, n) for sex, n in total if sex != p.sex_found)
        total = ((p.sex_found, sum(n for _, n in total)),)
        if untold:
            sexing = Shift(untold, where, at, owner, found)
            out.append(Act(subject, Step.CHANGE, sexing, "sexed", individual=False, since=since))
    out.append(Act(subject, Step.LEAVE, Shift(total, where, at, owner, dead), "died", individual=False, since=since))
    return tuple(out)
