"""The Lily House at Skerrin: one wattled jacana female, three males, each sitting on a clutch of hers."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from demo_events.diary import Diary
from demo_events.stories.common import spoken
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Words

JACANA = "Jacana jacana"
SITS = timedelta(days=28)


class Clutch(NamedTuple):
    """What is planned for one clutch."""

    male: int
    hatched: date
    chicks: int
    raised: int  # alive at thirty days


CLUTCHES = (
    Clutch(0, date(2024, 5, 20), 3, 2),
    Clutch(1, date(2024, 6, 3), 4, 2),
    Clutch(2, date(2024, 6, 26), 2, 1),
    Clutch(0, date(2025, 5, 12), 4, 3),
    Clutch(1, date(2025, 5, 30), 3, 2),
    Clutch(2, date(2025, 7, 8), 3, 1),
    Clutch(0, date(2026, 5, 18), 3, 2),
    Clutch(1, date(2026, 6, 9), 4, 2),
)


def tell(diary: Diary, place: int) -> None:
    """From the arrival to the third season."""
    s = Story(diary, place, "jacanas", "Hall", "TB AC", "SK")
    female, males = _arrived(s)
    young: list[Animal] = []
    for clutch in CLUTCHES:
        young += _raised(s, clutch, female, males)
        if clutch.hatched == date(2024, 6, 3):
            text = Words(
                "{0} lays for {2} while {1} leads chicks and {3} still sits; she drives all other hens off.",
                female,
                *males[:1],
                males[2],
                males[1],
            )
            s.note(date(2024, 5, 27), "behaviour", text, female)
    s.note(
        date(2025, 6, 17),
        "question",
        "She mates with all three before each clutch: chicks may not be the sitting male's. Sires are those that sat.",
        female,
    )
    _placed(s, young)
    s.die(
        date(2026, 8, 4),
        males[2],
        cause="aggression",
        circumstance="killed_by_another",
        note="By the hen, at the lilies.",
    )


def _arrived(s: Story) -> tuple[Animal, list[Animal]]:
    """One female and three males from Grevel, six weeks in quarantine."""
    birds: list[Animal] = []
    rings = ("GW 114", "GW 120", "GW 121", "GW 127")
    for sex, ring in zip("fmmm", rings, strict=True):
        known = {"born": "2022", "origin": "bred", "number_there": ring.replace(" ", "-")}
        birds.append(s.receive(date(2023, 5, 9), "GWP", JACANA, "K6", sex, "sale", **known))
    for bird, ring in zip(birds, rings, strict=True):
        s.mark(date(2023, 5, 11), bird, "ring", ring, colour="steel", side="right", place="tibia")
    for bird in birds:
        s.move(date(2023, 6, 20), bird, "K3")
    s.note(date(2023, 8, 15), "behaviour", Words("{0} displays to all three; no eggs yet.", birds[0]), birds[0])
    return birds[0], birds[1:]


def _raised(s: Story, clutch: Clutch, female: Animal, males: list[Animal]) -> list[Animal]:
    """A clutch in one entry of several animals; who lives is ringed and moved out when the male lets go."""
    male = males[clutch.male]
    chicks: list[Animal] = []
    batch = f"clutch of {clutch.hatched}" if clutch.chicks > 1 else ""
    for _ in range(clutch.chicks):
        note = f"Clutch of four complete on {spoken(clutch.hatched - SITS)}; he alone sat." if not chicks else None
        more = {"note": note} if note else {}
        chicks.append(s.hatching(clutch.hatched, JACANA, "K3", "u", dam=female, sire=male, batch=batch, **more))
    lost = sorted(
        s.dice.days(
            clutch.hatched + timedelta(days=2), clutch.hatched + timedelta(days=23), clutch.chicks - clutch.raised
        )
    )
    for chick, day in zip(chicks[clutch.raised :], lost, strict=True):
        s.die(day, chick, cause=s.dice.pick(("neonatal", "predation", "not_determined")), circumstance="found_dead")
    grown = chicks[: clutch.raised]
    for k, chick in enumerate(grown):
        s.mark(
            clutch.hatched + timedelta(days=47),
            chick,
            "ring",
            f"SK {clutch.hatched:%y}{clutch.male}{k + 1}",
            colour="green",
            side="left",
            place="tibia",
        )
        s.move(clutch.hatched + timedelta(days=75 + k), chick, "K7")
    return grown


def _placed(s: Story, young: list[Animal]) -> None:
    """Sexed by size in their first winter; most go on to other houses in spring."""
    for k, bird in enumerate(young):
        year = bird.since.year + 1
        if year > 2026:
            continue
        sex = "f" if k % 3 == 1 else "m"
        s.sexing(date(year, 2, 10), bird, sex, basis="size")
        if k % 4 != 3:
            to, terms = (("GWP", "exchange"), ("OZG", "sale"), ("NSP", "sale"))[k % 3]
            s.send(date(year, 4, 2 + 5 * (k % 3)), bird, to, terms, number_there=f"{to}-{s.dice.between(300, 990)}")
