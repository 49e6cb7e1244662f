"""Seahorses out of a suitcase: held for the customs, counted apart, and handed back a year later."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import dwindle, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Lot

KUDA = "Hippocampus kuda"


def tell(diary: Diary, place: int) -> None:
    """Twenty-four spotted seahorses, seized alive at the ferry."""
    s = Story(diary, place, "held for the customs", "Behind the scenes", "CT HK")
    lot: Lot = s.receive(
        date(2024, 2, 27),
        "HCO",
        KUDA,
        "Q2",
        {"u": 24},
        "held_for_another",
        permits=["HCO-2024-0052"],
        source_code="I",
        purpose_code="L",
        note="In two bottles in a suitcase; evidence, not to be shown, bred or given away.",
    )
    dwindle(s, lot, date(2024, 2, 28), 26, 7, 3, causes=("transport", "disease_infectious"))
    s.move(date(2024, 4, 9), lot, "V3")
    s.sexing(date(2024, 4, 30), lot, "m", {"u": 8}, basis="examination")
    s.sexing(date(2024, 4, 30), lot, "f", {"u": 9}, basis="examination")
    s.note(date(2024, 5, 2), "surroundings", "Males and females parted by a screen: nothing is to be bred.", "V3")
    trickle(s, lot, date(2024, 6, 3), date(2024, 11, 20), 2, sex="f")
    stocktake(s, lot, date(2024, 12, 10))
    s.die(date(2025, 3, 25), lot, {"m": 1}, cause="disease_other", circumstance="found_dead")
    s.send(
        date(2025, 6, 17),
        lot,
        "HCO",
        "held_for_another_return",
        permits=["HCO-2025-0117"],
        source_code="I",
        purpose_code="L",
        note="Judgement given; the office places them elsewhere.",
    )
