"""The Cardinal Lagoon: a lot that breeds, its young entered into the standing lot, in two tanks at once."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from demo_events.diary import Diary
from demo_events.stories.common import parts, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Lot

CARDINAL = "Pterapogon kauderni"
LAST_YEAR = 2026
LAGOON, REARING = "R7", "N3"


class Brood(NamedTuple):
    """What is planned for one brood."""

    apart: date  # the male with a full mouth is set apart
    free: date  # the young are out of his mouth, and counted
    young: int
    lost: int  # within thirty days


BROODS = (
    Brood(date(2023, 4, 4), date(2023, 4, 18), 23, 6),
    Brood(date(2023, 8, 29), date(2023, 9, 13), 31, 9),
    Brood(date(2024, 3, 12), date(2024, 3, 27), 28, 8),
    Brood(date(2024, 7, 2), date(2024, 7, 18), 19, 6),
    Brood(date(2025, 2, 18), date(2025, 3, 4), 34, 11),
    Brood(date(2025, 6, 10), date(2025, 6, 25), 26, 7),
    Brood(date(2026, 4, 14), date(2026, 4, 29), 30, 9),
)
STOCK_TAKES = {2023: (date(2023, 12, 12), 1), 2024: (date(2024, 12, 10), 0), 2025: (date(2025, 12, 9), 2)}


def tell(diary: Diary, place: int) -> None:
    """Banggai cardinalfish. Sexes cannot be told outside breeding: all unknown."""
    s = Story(diary, place, "cardinals", "Reef Hall", "SN CT AE")
    lot: Lot = s.opening(CARDINAL, LAGOON, {"u": 22}, origin="bred", arrived="2021")
    for brood, following in zip(BROODS, (*BROODS[1:], None), strict=True):
        _rear(s, lot, brood)
        if following is None or following.apart.year > brood.apart.year:
            _autumn(s, lot, brood.apart.year)


def _rear(s: Story, lot: Lot, brood: Brood) -> None:
    """The losses, then father and young go to the lagoon; of a large stock some are sold."""
    s.move(brood.apart, lot, REARING, {"u": 1}, LAGOON, note="Male with a full mouth, set apart.")
    s.young_into(
        "hatching",
        brood.free,
        lot,
        REARING,
        {"u": brood.young},
        stage="juvenile",
        note="Out of the mouth over one night.",
    )
    for after, n in zip((2, 5, 11, 24), parts(s, brood.lost, 4), strict=False):
        s.die(
            brood.free + timedelta(days=after),
            lot,
            {"u": n},
            REARING,
            cause="not_determined",
            circumstance="found_dead",
        )
    s.move(brood.free + timedelta(days=44), lot, LAGOON, lot.at(REARING), REARING)
    if lot.total() > 60:
        s.send(brood.free + timedelta(days=62), lot, "BOA", "sale", {"u": 18}, source_code="C", purpose_code="T")


def _autumn(s: Story, lot: Lot, year: int) -> None:
    """Losses of the half-year, gifts, and the stock take."""
    end = date(year, 11, 8) if year == LAST_YEAR else date(year, 11, 28)
    trickle(s, lot, lot.last + timedelta(days=2), end, 3)
    if year == 2024:
        s.send(date(year, 12, 3), lot, "OZG", "donation", {"u": 12}, source_code="C", purpose_code="Z")
    if year in STOCK_TAKES:
        stocktake(s, lot, *STOCK_TAKES[year])
