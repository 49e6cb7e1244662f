"""Short lives: octopuses one after another in one den, cuttlefish raised from eggs each spring."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from demo_events.diary import Diary
from demo_events.stories.common import clear, dwindle, permit, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

OCTOPUS, SPOTTED, CUTTLE = "Octopus vulgaris", "Callistoctopus macropus", "Sepia officinalis"


def tell(diary: Diary, place: int) -> None:
    """The den and the raceway."""
    _den(Story(diary, place, "octopuses", "Sound Hall", "FO AE"))
    _raceway(Story(diary, place + 1, "cuttlefish", "Sound Hall", "FO CT"))


def _caught(s: Story, on: date, sex: str, where: str, name: str) -> Animal:
    """One out of the sound, through quarantine."""
    animal: Animal = s.acquire(on, OCTOPUS, "Q3", sex, "wild_collection", where=where, permit=permit(s, on), name=name)
    return animal


def _den(s: Story) -> None:
    """Five in four years: one that walks, one that broods, one that was another species all along."""
    old: Animal = s.opening(OCTOPUS, "C7", "f", origin="wild", arrived="2022-06", name="Mottle")
    s.note(date(2023, 3, 14), "behaviour", Words("{0} has laid on the roof of the den and no longer feeds.", old), old)
    s.die(
        date(2023, 5, 2),
        old,
        cause="senescence",
        circumstance="found_dead",
        note="Guarded her eggs for seven weeks; none hatched.",
    )
    second = _caught(s, date(2023, 5, 30), "m", "Marrow Sound, north breakwater, pot", "Inkwell")
    clear(s, second, date(2023, 5, 30), "C7", 21)
    s.lose("escape", date(2023, 9, 14), second, note="At ten the den was empty; wet trail to the floor drain.")
    s.recover(
        date(2023, 9, 14), second, "escaped", "C7", note="At twelve out of the drain sump, unhurt. Lid weighted since."
    )
    s.note(date(2023, 9, 15), "safety", "Clips on the den lid replaced; drain covered with mesh.", "C7")
    s.die("2024-02-24/2024-02-26", second, cause="senescence", circumstance="found_dead")
    third = _caught(s, date(2024, 4, 16), "f", "Marrow Sound, Gull Point, hand net", "Brindle")
    clear(s, third, date(2024, 4, 16), "C7", 21)
    s.send(date(2025, 2, 4), third, "USH", "donation", purpose_code="S", note="Behaviour study; will not come back.")
    fourth = _caught(s, date(2025, 8, 26), "u", "Marrow Sound, seagrass off the slip, night dive", "Lantern")
    clear(s, fourth, date(2025, 8, 26), "C7", 21)
    s.sexing(date(2025, 9, 30), fourth, "m", basis="examination")
    s.put(
        "redetermination",
        date(2025, 10, 21),
        {"animal": fourth, "taxon": SPOTTED, "basis": "morphology", "holds_since": "birth"},
        note="White spots on red at night, long first arms: it was never a common octopus.",
    )
    fourth.taxon, fourth.last = SPOTTED, date(2025, 10, 21)
    s.die(date(2026, 4, 7), fourth, cause="senescence", circumstance="died_under_care")
    fifth = _caught(s, date(2026, 5, 19), "f", "Marrow Sound, north breakwater, pot", "Ember")
    clear(s, fifth, date(2026, 5, 19), "C7", 21)


class Spring(NamedTuple):
    """The young of one year."""

    year: int
    hatched: int  # over May, from eggs collected in March
    lost: int  # in the raceway, by the end of June


SPRINGS = (Spring(2023, 42, 21), Spring(2024, 36, 15), Spring(2025, 48, 27), Spring(2026, 39, 19))
STOCK_TAKES = {2023: date(2023, 12, 13), 2024: date(2024, 12, 11), 2025: date(2025, 12, 10)}


def _raceway(s: Story) -> None:
    """Eggs cut loose with lost nets, hatched in May, in the meadow by August, dead of age by the second summer."""
    before: Lot = s.opening(CUTTLE, "C6", {"m": 2, "f": 3, "u": 2}, born="2022", origin="wild")
    for spring in SPRINGS:
        lot: Lot = s.hatching(
            f"{spring.year}-05",
            CUTTLE,
            "N5",
            {"u": spring.hatched},
            late=2,
            note="From eggs on lost nets off Gull Point; over the month.",
        )
        dwindle(
            s, lot, date(spring.year, 6, 4), 26, spring.lost, 4, causes=("cannibalism", "nutrition", "not_determined")
        )
        stocktake(
            s, lot, date(spring.year, 7, 8), s.dice.between(0, 2), source={"kind": "count_sheet", "ref": "raceway"}
        )
        for k, (sex, n) in enumerate(before.at("C6").items()):
            day = date(spring.year, 7, 10) + timedelta(days=8 * k)
            s.die(day, before, {sex: n}, cause="senescence", circumstance="found_dead")
        s.move(date(spring.year, 8, 20), lot, "C6")
        trickle(
            s,
            lot,
            date(spring.year, 9, 2),
            date(spring.year, 11, 10),
            3,
            causes=("cannibalism", "trauma", "not_determined"),
        )
        if spring.year in STOCK_TAKES:
            stocktake(s, lot, STOCK_TAKES[spring.year])
            s.sexing(date(spring.year + 1, 3, 18), lot, "m", {"u": 4}, basis="behaviour")
        before = lot
