"""Lots that stay, year in, year out: losses, collecting trips, purchases, stock takes."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, NamedTuple

from demo_events.diary import Diary
from demo_events.stories.common import ADULT_CAUSES, permit, settle, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Lot

SOUND_TAKES = {2023: date(2023, 12, 13), 2024: date(2024, 12, 11), 2025: date(2025, 12, 10)}
REEF_TAKES = {2023: date(2023, 12, 12), 2024: date(2024, 12, 10), 2025: date(2025, 12, 9)}


class Bringing(NamedTuple):
    """Animals that come and, after quarantine, join those on show. `giver` empty: collected in the sound."""

    on: date
    n: int
    giver: str
    terms: str
    lost: int
    days: int
    more: dict[str, Any] | None = None


class Resident(NamedTuple):
    """A lot that stays; what happens to it in a year."""

    taxon: str
    at: str
    n: int
    losses: int  # entries a year
    at_once: int = 2  # most that one of them speaks of
    unseen: int = 0  # most that a stock take finds missing
    quarantine: str = "Q1"
    causes: tuple[str, ...] = ADULT_CAUSES
    brought: tuple[Bringing, ...] = ()


NET = {"where": "Marrow Sound, off the slip, beach net"}
DIVE = {"where": "Marrow Sound, Gull Point, by hand, 8 m"}
FARMED = {"source_code": "C"}
NO_PAPER = {
    "source_code": "W",
    "accept": {"permit-missing": "Caught and sold within the country; no paper is needed."},
}
RESIDENTS = (
    Resident(
        "Dicentrarchus labrax",
        "C1",
        27,
        losses=1,
        brought=(Bringing(date(2024, 2, 20), 12, "HTL", "sale", lost=1, days=32, more=FARMED),),
    ),
    Resident("Diplodus vulgaris", "C1", 44, losses=2, unseen=1),
    Resident(
        "Atherina presbyter",
        "C9",
        260,
        losses=5,
        at_once=9,
        unseen=14,
        causes=("trauma", "predation", "not_determined"),
        brought=(
            Bringing(date(2023, 10, 17), 120, "", "", lost=17, days=24, more=NET),
            Bringing(date(2025, 5, 13), 150, "", "", lost=22, days=24, more=NET),
        ),
    ),
    Resident(
        "Anguilla anguilla",
        "C9",
        17,
        losses=1,
        brought=(Bringing(date(2026, 5, 5), 10, "HTL", "sale", lost=0, days=30, more=NO_PAPER),),
    ),
    Resident(
        "Paracentrotus lividus",
        "C4",
        62,
        losses=2,
        at_once=4,
        unseen=4,
        quarantine="Q3",
        causes=("not_determined", "predation"),
        brought=(Bringing(date(2024, 5, 28), 30, "", "", lost=2, days=21, more=DIVE),),
    ),
    Resident("Marthasterias glacialis", "C2", 19, losses=1, unseen=1, causes=("not_determined",)),
    Resident("Eunicella verrucosa", "C2", 7, losses=0),
    Resident(
        "Aurelia aurita",
        "R8",
        70,
        losses=6,
        at_once=16,
        unseen=3,
        quarantine="Q3",
        causes=("senescence", "not_determined", "husbandry"),
        brought=tuple(
            Bringing(on, n, "OZG", "donation", lost, 14)
            for on, n, lost in (
                (date(2023, 5, 16), 40, 3),
                (date(2024, 3, 19), 50, 4),
                (date(2024, 11, 5), 50, 4),
                (date(2025, 9, 23), 60, 6),
                (date(2026, 8, 18), 40, 2),
            )
        ),
    ),
)
LAST_LOSS = date(2026, 11, 10)


def tell(diary: Diary, place: int) -> None:
    """Each resident lot as a story of its own chance."""
    for k, resident in enumerate(RESIDENTS):
        hall = "Reef Hall" if resident.at.startswith("R") else "Sound Hall"
        s = Story(
            diary, place + k, f"resident {resident.taxon}", hall, "SN CT AE" if hall == "Reef Hall" else "FO CT AE"
        )
        _years(s, resident, REEF_TAKES if hall == "Reef Hall" else SOUND_TAKES)


def _years(s: Story, resident: Resident, takes: dict[int, date]) -> None:
    """Between what is brought and the stock takes, the losses."""
    lot: Lot = s.opening(resident.taxon, resident.at, {"u": resident.n})
    steps = sorted(
        [*((b.on, b) for b in resident.brought), *((day, None) for day in takes.values())], key=lambda step: step[0]
    )
    since = date(2023, 1, 15)
    for on, brought in steps:
        _losses(s, resident, lot, since, on - timedelta(days=1))
        if brought is None:
            stocktake(s, lot, on, s.dice.between(0, resident.unseen))
            since = on + timedelta(days=2)
        else:
            since = _bring(s, resident, lot, brought) + timedelta(days=2)
    _losses(s, resident, lot, since, LAST_LOSS)


def _losses(s: Story, resident: Resident, lot: Lot, first: date, last: date) -> None:
    """As many as the time is long for."""
    times = round(resident.losses * (last - first).days / 365 + s.dice.between(-3, 3) / 10)
    if times > 0:
        trickle(s, lot, first, last, min(times, lot.total() // 3), causes=resident.causes, most=resident.at_once)


def _bring(s: Story, resident: Resident, lot: Lot, b: Bringing) -> date:
    """Collected or given; through quarantine into the lot."""
    more = b.more or {}
    if b.giver:
        new = s.receive(b.on, b.giver, resident.taxon, resident.quarantine, {"u": b.n}, b.terms, **more)
    else:
        papers = {"permit": permit(s, b.on), "source_code": "W"}
        new = s.acquire(b.on, resident.taxon, resident.quarantine, {"u": b.n}, "wild_collection", **papers, **more)
    return settle(s, new, b.on, resident.at, b.lost, b.days, into=lot)
