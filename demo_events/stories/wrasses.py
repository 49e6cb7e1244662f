"""Fishes that begin as females: an anthias harem that loses its male twice, cleaner wrasses, rainbow wrasses."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import settle, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

ANTHIAS, CLEANER, RAINBOW = "Pseudanthias squamipinnis", "Labroides dimidiatus", "Coris julis"


def tell(diary: Diary, place: int) -> None:
    """Three taxa."""
    _harem(Story(diary, place, "anthias", "Reef Hall", "SN CT AE"))
    _cleaners(Story(diary, place + 1, "cleaners", "Reef Hall", "SN AE"))
    _rainbows(Story(diary, place + 2, "rainbow wrasses", "Sound Hall", "FO AE"))


def _harem(s: Story) -> None:
    """1.6.0 on the Anthias Wall; one female follows each male that is lost."""
    lot: Lot = s.opening(ANTHIAS, "R2", {"m": 1, "f": 6}, origin="wild", arrived="2021-11")
    stocktake(s, lot, date(2023, 12, 12))
    s.die(date(2024, 7, 8), lot, {"m": 1}, cause="trauma", circumstance="found_dead", note="Wedged in the overflow.")
    s.change(
        date(2024, 7, 12),
        lot,
        "m",
        "first_sign",
        {"f": 1},
        basis="behaviour",
        note="One female flicks her fins at the others; not told apart yet.",
    )
    s.change(
        date(2024, 7, 27),
        lot,
        "m",
        "completed",
        {"f": 1},
        basis="colour",
        note="Full colours; the streamer of the fin is long.",
    )
    stocktake(s, lot, date(2024, 12, 10))
    bought: Lot = s.receive(
        date(2025, 2, 25), "BOA", ANTHIAS, "Q2", {"f": 9}, "sale", source_code="W", purpose_code="Z"
    )
    s.die(date(2025, 3, 1), bought, {"f": 1}, cause="transport", circumstance="found_dead")
    s.die(date(2025, 3, 9), bought, {"f": 1}, cause="disease_infectious", circumstance="found_dead")
    settle(s, bought, date(2025, 2, 25), "R2", into=lot)
    s.die(date(2025, 9, 16), lot, {"f": 1}, cause="not_determined", circumstance="found_dead")
    stocktake(
        s, lot, date(2025, 12, 9), {"f": 1}, note="One female fewer than the book; the rockwork was not taken apart."
    )
    s.die("2026-02-14/2026-02-15", lot, {"m": 1}, cause="senescence", circumstance="found_dead")
    s.change(date(2026, 2, 19), lot, "m", "first_sign", {"f": 1}, basis="behaviour")
    s.change("2026-03-03/2026-03-06", lot, "m", "completed", {"f": 1}, basis="colour", late=1)


def _cleaners(s: Story) -> None:
    """A widowed male is given another male for company; the smaller one goes back to female."""
    male: Animal = s.opening(CLEANER, "R6", "m", origin="wild", arrived="2022-03")
    female: Animal = s.opening(CLEANER, "R6", "f", origin="wild", arrived="2022-03")
    s.note(
        date(2024, 3, 19),
        "behaviour",
        Words("{0} inspects the groupers' gills; {1} keeps the ledge.", female, male),
        female,
    )
    s.die(date(2025, 5, 20), female, cause="not_determined", circumstance="found_dead")
    second: Animal = s.receive(date(2025, 6, 24), "HTL", CLEANER, "Q2", "m", "sale")
    s.move(date(2025, 7, 29), second, "R6")
    s.note(date(2025, 8, 5), "behaviour", Words("{0} yields to {1} and swims head down.", second, male), second)
    s.change(date(2025, 8, 25), second, "f", "first_sign", basis="behaviour")
    note = "Spawned as a female with the other: a change back, on record in this wrasse."
    s.change("2025-10-16/2025-10-21", second, "f", "completed", basis="spawning", note=note)


def _rainbows(s: Story) -> None:
    """A mixed group on the Harbour Wall; males are born or made."""
    lot: Lot = s.opening(RAINBOW, "C2", {"m": 3, "f": 14, "u": 5}, origin="wild")
    trickle(s, lot, date(2023, 3, 1), date(2023, 11, 20), 3, sex="u")
    stocktake(s, lot, date(2023, 12, 13))
    s.die(
        date(2024, 5, 7),
        lot,
        {"m": 1},
        cause="predation",
        circumstance="killed_by_another",
        note="Taken by the conger on its way through.",
    )
    s.change(
        "2024-06",
        lot,
        "m",
        "completed",
        {"f": 1},
        basis="colour",
        late=3,
        note="Colours came over the month; no one saw the first.",
    )
    s.die(date(2024, 9, 3), lot, {"f": 1}, cause="disease_infectious", circumstance="found_dead")
    stocktake(s, lot, date(2024, 12, 11), {"f": 1})
    more: Lot = s.acquire(
        date(2025, 4, 15),
        RAINBOW,
        "Q1",
        {"f": 4, "u": 6},
        "wild_collection",
        where="Marrow Sound, Gull Point, 6 m, barrel trap",
        permit="LCNA-2025-0214",
    )
    s.die(date(2025, 4, 19), more, {"u": 1}, cause="trauma", circumstance="found_dead")
    settle(s, more, date(2025, 4, 15), "C2", into=lot)
    s.sexing(date(2025, 9, 9), lot, "f", {"u": 4}, basis="colour")
    stocktake(s, lot, date(2025, 12, 10))
    trickle(s, lot, date(2026, 3, 1), date(2026, 10, 20), 3, sex="f")
