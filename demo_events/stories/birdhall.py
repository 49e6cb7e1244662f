"""Skerrin Shore Birdhall, the second house: ringed puffins, eiders and avocets as lots, a parrot held for another."""

from __future__ import annotations

from datetime import date, timedelta

from demo_events.diary import Diary
from demo_events.roster import JOINED
from demo_events.stories.common import clear, dwindle, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

PUFFIN, EIDER, AVOCET, PARROT = (
    "Fratercula arctica",
    "Somateria mollissima",
    "Recurvirostra avosetta",
    "Psittacus erithacus",
)
OPENED = {"on": JOINED, "sheet": date(2023, 3, 2)}


def tell(diary: Diary, place: int) -> None:
    """Four stories of one small house."""
    _puffins(Story(diary, place, "puffins", "Hall", "TB AC", "SK"))
    _eiders(Story(diary, place + 1, "eiders", "Hall", "TB AC", "SK"))
    _avocets(Story(diary, place + 2, "avocets", "Hall", "TB AC", "SK"))
    _parrot(Story(diary, place + 3, "parrot", "Yard", "TB MU", "SK"))


def _puffins(s: Story) -> None:
    """Twelve ringed birds, a few chicks a year out of burrows; three are sold to Marrow Sound."""
    birds: list[Animal] = []
    for k, sex in enumerate("mfmfmfmfmfuu"):
        where = {"origin": "wild", "arrived": "2016"} if k < 6 else {"origin": "bred", "born": f"20{17 + k // 3}-07"}
        bird = s.opening(PUFFIN, "K1", sex, **where, **OPENED)
        birds.append(bird)
    for k, bird in enumerate(birds):
        s.mark(
            date(2023, 3, 7),
            bird,
            "ring",
            f"SB {40 + k}",
            colour="orange" if bird.sex == "m" else "black",
            side="left",
            place="tarsus",
        )
    young = _puffin_chicks(s, birds)
    s.sexing(date(2024, 2, 6), young[0], "f", basis="gene")
    s.die("2024-11-16/2024-11-17", birds[4], cause="disease_infectious", circumstance="found_dead")
    for bird in (birds[8], birds[9], young[0]):
        s.pass_on(date(2025, 10, 7), bird, "MS", "sale", "Q4", house="SK", permits=["IWO-2025-0440"])
        s.move(date(2025, 11, 11), bird, "B5", house="MS", seen="PD")
    s.note(
        date(2025, 11, 18),
        "behaviour",
        Words("{0} and {1} have taken the upper burrow.", birds[8], birds[9]),
        "B5",
        house="MS",
        seen="PD",
    )


# hatched on a day or in a month, whose (pairs of the first six birds), whether it lives
PUFFIN_CHICKS = (
    ("2023-06-28", 0, True),
    ("2023-07-03", 1, False),
    ("2024-06-23", 0, True),
    ("2024-07-01", 2, True),
    ("2025-06-26", 1, False),
    ("2025-07", 2, True),
    ("2026-06-30", 0, True),
)


def _puffin_chicks(s: Story, birds: list[Animal]) -> list[Animal]:
    """Chicks as they are first heard; those that live are ringed before they leave the burrow."""
    young: list[Animal] = []
    for born, pair, lives in PUFFIN_CHICKS:
        late = 3 if len(born) < len("2025-07-01") else 0
        dam, sire = birds[2 * pair + 1], birds[2 * pair]
        note = "Heard, then seen with the scope."
        chick: Animal = s.hatching(born, PUFFIN, "K1", "u", dam=dam, sire=sire, late=late, note=note)
        if not lives:
            day = chick.since + timedelta(days=s.dice.between(4, 19))
            s.die(day, chick, cause="nutrition", circumstance="found_dead")
            continue
        ring = f"SB {52 + len(young)}"
        s.mark(chick.since + timedelta(days=44), chick, "ring", ring, colour="white", side="left", place="tarsus")
        young.append(chick)
    return young


def _eiders(s: Story) -> None:
    """A lot by sex; ducklings of a season as a lot of their own, then into it."""
    pond: Lot = s.opening(EIDER, "K4", {"m": 5, "f": 7}, origin="bred", **OPENED)
    stocktake(s, pond, date(2023, 12, 19))
    given: Lot = s.receive(
        date(2024, 5, 21), "ATW", EIDER, "K6", {"m": 1, "f": 1}, "donation", note="He gives up his pond."
    )
    s.merge(date(2024, 6, 25), given, pond, "K4")
    brood: Lot = s.hatching(
        date(2024, 6, 9), EIDER, "K5", {"u": 9}, note="Under the lamp; two ducks left their nests in the heat."
    )
    dwindle(s, brood, date(2024, 6, 11), 20, 4, 3)
    s.sexing(date(2024, 10, 22), brood, "m", {"u": 2}, basis="colour")
    s.sexing(date(2024, 10, 22), brood, "f", {"u": 3}, basis="colour")
    s.merge(date(2024, 11, 12), brood, pond, "K4")
    stocktake(s, pond, date(2024, 12, 17))
    s.die(
        date(2025, 3, 11), pond, {"f": 1}, cause="predation", circumstance="killed_by_another", note="Mink; trap set."
    )
    s.send(date(2025, 9, 9), pond, "GWP", "sale", {"m": 2, "f": 2})
    stocktake(s, pond, date(2025, 12, 16), {"f": 1})
    second: Lot = s.hatching(date(2026, 6, 14), EIDER, "K5", {"u": 7})
    dwindle(s, second, date(2026, 6, 16), 22, 3, 2)


def _avocets(s: Story) -> None:
    """The lagoon: chicks of a spring, known to the season, in the standing lot; the winter indoors."""
    lagoon: Lot = s.opening(AVOCET, "K9", {"u": 16}, origin="bred", **OPENED)
    s.young_into(
        "hatching",
        "2023-21",
        lagoon,
        "K9",
        {"u": 7},
        sheet=date(2023, 6, 6),
        note="Counted at the end of May; the days were not kept.",
    )
    trickle(s, lagoon, date(2023, 7, 3), date(2023, 11, 20), 3)
    stocktake(s, lagoon, date(2023, 12, 19), 1)
    s.young_into("hatching", "2024-05", lagoon, "K9", {"u": 8}, late=4)
    for day, n in ((date(2024, 6, 6), 2), (date(2024, 6, 14), 1)):
        s.die(
            day,
            lagoon,
            {"u": n},
            cause="predation",
            circumstance="found_dead",
            note="Chicks; a gull through the roof net.",
        )
    s.note(date(2024, 6, 14), "safety", "Roof net doubled over the west corner.", "K9")
    s.send(date(2024, 9, 24), lagoon, "GWP", "exchange", {"u": 6})
    stocktake(s, lagoon, date(2024, 12, 17))
    s.move(date(2025, 1, 8), lagoon, "K7", note="Ice on the lagoon; all under roof.")
    s.move(date(2025, 2, 19), lagoon, "K9")
    s.young_into("hatching", "2025-05", lagoon, "K9", {"u": 9}, late=3)
    trickle(s, lagoon, date(2025, 6, 10), date(2025, 7, 2), 3, causes=("neonatal", "predation", "not_determined"))
    stocktake(s, lagoon, date(2025, 12, 16), 1)
    s.young_into("hatching", "2026-05", lagoon, "K9", {"u": 6}, late=5)
    trickle(s, lagoon, date(2026, 6, 8), date(2026, 9, 30), 3)


def _parrot(s: Story) -> None:
    """Taken by the Island Wildlife Office from a market; the court has not decided."""
    parrot: Animal = s.receive(
        date(2024, 5, 14),
        "IWO",
        PARROT,
        "K6",
        "u",
        "held_for_another",
        source_code="I",
        purpose_code="L",
        permits=["IWO-2024-0188"],
        note="No ring, no chip, tame; the keeper claims it was bred.",
    )
    s.mark(
        date(2024, 5, 16),
        parrot,
        "transponder",
        "372" + "000041907733",
        place="breast muscle",
        side="left",
        note="The authority's chip.",
    )
    clear(s, parrot, date(2024, 5, 14), "K7", 42)
    s.sexing(date(2024, 7, 9), parrot, "f", basis="gene")
    s.note(date(2025, 5, 13), "question", Words("{0} has been here a year; who decides, and when?", parrot), parrot)
