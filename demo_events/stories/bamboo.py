"""Brownbanded bamboo sharks: eggs of a female that met no male for years, and of one that met none at all."""

from __future__ import annotations

from datetime import date, timedelta

from demo_events.diary import Diary
from demo_events.stories import together
from demo_events.stories.common import chip
from demo_events.storyteller import Story
from demo_events.subjects import Animal

BAMBOO, AT, EGGS = "Chiloscyllium punctatum", "R1", "N4"


def tell(diary: Diary, place: int) -> None:
    """Two females, and a male that went in 2022."""
    s = Story(diary, place, "bamboo sharks", "Reef Hall", "SN CT AE")
    sheet = {"sheet": date(2023, 1, 5)}
    elder: Animal = s.opening(BAMBOO, AT, "f", arrived="2019", origin="bred", name="Tamarisk", **sheet)
    younger: Animal = s.opening(BAMBOO, AT, "f", born="2018-05", origin="bred", name="Osier", **sheet)
    for shark in (elder, younger):
        s.mark(date(2023, 2, 7), shark, "transponder", chip(s), place="dorsal muscle", side="left")
    gone = {"animal": "VB-CP-9", "party": "VBA", "taxon": BAMBOO, "sex": "male", "born": "2016"}
    s.put("outside_animal", date(2023, 3, 1), gone, note="Here until July 2022, before this book.", unseen=True)
    _stored(s, elder)
    _alone(s, younger)


def _stored(s: Story, dam: Animal) -> None:
    """One case of eleven was fertile, two years after the male had gone; the laboratory found him in it."""
    laid, code = date(2024, 6, 18), "CP-2024-1"
    more = {"start_basis": "seen", "enclosure": EGGS, "eggs": 2, "eggs_are": "exact", "clutch_complete": True}
    together.brood(s, laid, code, BAMBOO, "substrate", dam=dam, **more)
    together.check(s, laid + timedelta(days=50), code, fertile=1, infertile=1, note="Candled: one yolk has a tail.")
    pup: Animal = s.hatching(
        laid + timedelta(days=133), BAMBOO, EGGS, "f", brood=code, dam=dam, note="Out of the case by morning."
    )
    found = {"animal": pup, "dam": dam, "sire": "VB-CP-9", "basis": "genetic"}
    s.put("parentage", date(2025, 3, 4), found, unseen=True, note="Sperm stored for two years and more.")
    s.move(date(2025, 6, 10), pup, AT)


def _alone(s: Story, dam: Animal) -> None:
    """She was bred here and never stood with a male: her one pup has no sire."""
    laid, code = date(2025, 2, 11), "CP-2025-1"
    more = {"start_basis": "seen", "enclosure": EGGS, "eggs": 2, "eggs_are": "exact", "clutch_complete": True}
    together.brood(s, laid, code, BAMBOO, "substrate", dam=dam, **more)
    pup: Animal = s.hatching(
        laid + timedelta(days=138), BAMBOO, EGGS, "f", brood=code, dam=dam, note="Small; fed by hand for a month."
    )
    together.brood_end(s, laid + timedelta(days=170), code, infertile=1)
    found = {"animal": pup, "dam": dam, "sire_none": True, "basis": "genetic"}
    s.put("parentage", date(2025, 11, 18), found, unseen=True, note="One parent in every marker that was read.")
    s.die(date(2026, 2, 3), pup, cause="congenital", circumstance="found_dead")
