"""The Penguin Beach: banded birds, seven burrows, two seasons of chicks a year, birds lent and sold to Skerrin."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, NamedTuple

from demo_events.diary import Diary, Line
from demo_events.stories.common import chip, clear, permit
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Words

PENGUIN = "Spheniscus humboldti"
CHECK = date(2023, 10, 10)  # the health check at which the last adults got their transponders
# sex, year of birth, origin: the pairs of burrows 1 to 7 first, then those without a burrow
ADULTS = (
    *(("m", "2012", "Ostrel"), ("f", "2013", "Ostrel"), ("m", "2014", "bred here"), ("f", "2012", "Ostrel")),
    *(("m", "2015", "bred here"), ("f", "2015", "Nordhavel"), ("m", "2011", "Nordhavel"), ("f", "2014", "bred here")),
    *(("m", "2010", "Ostrel"), ("f", "2016", "bred here"), ("m", "2016", "Nordhavel"), ("f", "2017", "bred here")),
    *(("m", "2017", "bred here"), ("f", "2016", "Ostrel"), ("m", "2018", "bred here"), ("m", "2019", "bred here")),
    *(("f", "2019", "bred here"), ("m", "2020", "bred here"), ("f", "2020", "bred here"), ("f", "2018", "Nordhavel")),
    *(
        ("m", "2021-05", "bred here"),
        ("f", "2021-04", "bred here"),
        ("u", "2022-05", "bred here"),
        ("u", "2022-10", "bred here"),
    ),
)
BURROWS = 7


class Clutch(NamedTuple):
    """What is planned for one clutch."""

    burrow: int
    hatched: date
    chicks: int


LATE_CLUTCH = Clutch(2, date(2025, 10, 19), 2)
CLUTCHES = (
    *(Clutch(1, date(2023, 4, 18), 2), Clutch(3, date(2023, 4, 25), 1), Clutch(4, date(2023, 5, 2), 2)),
    *(Clutch(6, date(2023, 5, 14), 1), Clutch(2, date(2023, 10, 21), 1)),
    *(Clutch(1, date(2024, 4, 11), 2), Clutch(2, date(2024, 4, 20), 1), Clutch(3, date(2024, 4, 29), 2)),
    *(Clutch(5, date(2024, 5, 8), 2), Clutch(4, date(2024, 10, 26), 1)),
    *(Clutch(1, date(2025, 4, 15), 2), Clutch(3, date(2025, 4, 24), 1), Clutch(4, date(2025, 5, 3), 2)),
    *(Clutch(7, date(2025, 5, 17), 1), LATE_CLUTCH),
    *(Clutch(2, date(2026, 4, 14), 2), Clutch(3, date(2026, 4, 22), 2), Clutch(5, date(2026, 5, 5), 1)),
    Clutch(1, date(2026, 10, 20), 1),
)
LAST_DAY = date(2026, 11, 12)


class Chick(NamedTuple):
    """One that fledged."""

    animal: Animal
    burrow: int
    sexing: Line


def tell(diary: Diary, place: int) -> None:
    """The colony."""
    colony = Colony(Story(diary, place, "penguins", "Bird Cliff", "PD AE"))
    colony.settled()
    for clutch in CLUTCHES:
        colony.rear(clutch)
    colony.swapped_samples()
    colony.departures()
    colony.lent()


class Colony:
    """The birds and who has which burrow."""

    def __init__(self, s: Story) -> None:
        self.s = s
        self.bands = 0
        self.birds = [self._opened(*row) for row in ADULTS]
        self.pairs = {n: (self.birds[2 * n - 2], self.birds[2 * n - 1]) for n in range(1, BURROWS + 1)}
        self.fledged: list[Chick] = []
        for bird in self.birds:
            self.band(bird, date(2023, 1, 9))
        for bird in self.birds[:14]:
            s.mark(
                date(2023, 1, 10),
                bird,
                "transponder",
                chip(s),
                place="neck",
                side="left",
                note="Read at the first count.",
            )

    def _opened(self, sex: str, born: str, where: str) -> Animal:
        from_here = {"origin": "bred"} if where == "bred here" else {"origin": "bred", "earlier_house": where}
        bird: Animal = self.s.opening(PENGUIN, "B1", sex, born=born, **from_here)
        return bird

    def band(self, bird: Animal, on: date, **more: str) -> str:
        """A flipper band: males right, females left, unknown right and white."""
        self.bands += 1
        value = f"MS {self.bands:03}"
        colour = {"m": "blue", "f": "yellow", "u": "white"}[bird.sex]
        self.s.mark(
            on, bird, "band", value, colour=colour, side="left" if bird.sex == "f" else "right", place="flipper", **more
        )
        return value

    def settled(self) -> None:
        """The first spring, the health check, and the losses of the first years."""
        s = self.s
        for n, (male, female) in self.pairs.items():
            s.note(
                date(2023, 3, 20),
                "behaviour",
                Words("{0} and {1} carry stones into this burrow.", male, female),
                f"B1-N{n}",
            )
        old = self.pairs[5][0]
        death = s.die(
            date(2023, 8, 2),
            old,
            cause="not_determined",
            circumstance="found_dead",
            note="Thin since the moult. To the laboratory.",
        )
        s.correct(
            death,
            date(2023, 8, 23),
            "learnt",
            "Histology is back.",
            cause="disease_infectious",
            cause_text="Aspergillosis of the air sacs, chronic.",
        )
        self.pairs[5] = (self.birds[14], self.pairs[5][1])
        for bird in self.birds[14:]:
            s.mark(CHECK, bird, "transponder", chip(s), place="neck", side="left")
        for bird, sex in zip(self.birds[22:], "fm", strict=True):
            s.sexing(CHECK, bird, sex, basis="gene", sure="certain", late=21)
        s.note(
            date(2024, 3, 18),
            "behaviour",
            Words("{0} and {1} have taken burrow 5; he is new there.", *self.pairs[5]),
            "B1-N5",
        )

    def rear(self, clutch: Clutch) -> None:
        """A clutch: one or two chicks, a day or three apart; some die in the burrow, the others go their way."""
        s, dice = self.s, self.s.dice
        male, female = self.pairs[clutch.burrow]
        at = f"B1-N{clutch.burrow}"
        for k in range(clutch.chicks):
            hatched = clutch.hatched + timedelta(days=k * dice.between(2, 3))
            chick: Animal = s.hatching(hatched, PENGUIN, at, "u", dam=female, sire=male)
            if clutch == LATE_CLUTCH and k:
                self._late_death(chick)
            elif dice.happens(0.18 if k == 0 else 0.42):
                cause = dice.pick(("neonatal", "nutrition", "not_determined", "trauma"))
                s.die(hatched + timedelta(days=dice.between(1, 21)), chick, cause=cause, circumstance="found_dead")
            elif hatched + timedelta(days=78) < LAST_DAY:
                self._fledge(chick, clutch.burrow, hatched)

    def _late_death(self, chick: Animal) -> None:
        """The holiday sheet of Bird Cliff comes two weeks late, and the closing of the year moves by one."""
        self.s.die(
            date(2025, 12, 29),
            chick,
            late=14,
            cause="disease_infectious",
            circumstance="found_dead",
            note="Ready to leave the burrow. The sheet lay in the keepers' room over the holidays.",
        )

    def _fledge(self, chick: Animal, burrow: int, hatched: date) -> None:
        """To the crèche, banded and chipped there; sexed from a feather; to the beach when they swim."""
        s, dice = self.s, self.s.dice
        creche = hatched + timedelta(days=dice.between(66, 76))
        s.move(creche, chick, "B2")
        marked = creche + timedelta(days=7)
        number = chip(s)
        self.band(chick, marked)
        if len(self.fledged) == 7:
            self._same_chip_twice(chick, marked, number)
        else:
            s.mark(marked, chick, "transponder", number, place="neck", side="left")
        self.last_chip = number
        sex = dice.pick("mf")
        line = s.sexing(marked + timedelta(days=28), chick, sex, basis="gene", sure="certain")
        beach = marked + timedelta(days=dice.between(30, 44))
        if beach < LAST_DAY:
            s.move(beach, chick, "B1")
        self.fledged.append(Chick(chick, burrow, line))

    def _same_chip_twice(self, chick: Animal, on: date, number: str) -> None:
        """The reader still showed the bird before; found out at the weekly check."""
        s = self.s
        accept = {"mark-on-two": "Reader shows this number; to be read again on Monday."}
        line = s.mark(on, chick, "transponder", self.last_chip, place="neck", side="left", accept=accept)
        text = "The reader still showed the bird before; read again, twice."
        s.correct(line, on + timedelta(days=4), "mistake", text, value=number)

    def swapped_samples(self) -> None:
        """Two feathers in the wrong envelopes: both sexings put right half a year later."""
        s = self.s
        two = [c for c in self.fledged if c.animal.since.year == 2023][:2]
        while two[0].animal.sex == two[1].animal.sex:
            two[1].animal.sex = "f" if two[0].animal.sex == "m" else "m"
            two[1].sexing.payload["to"] = "female" if two[1].animal.sex == "f" else "male"
        day = date(2024, 2, 13)
        for one, other in (two, two[::-1]):
            right = "male" if other.animal.sex == "m" else "female"
            text = "Feather samples swapped at the laboratory; both birds sampled again."
            s.correct(one.sexing, day, "mistake", text, to=right, batch="two feathers")
        for chick, sex in zip(two, [c.animal.sex for c in two[::-1]], strict=True):
            chick.animal.sex = sex

    def departures(self) -> None:
        """An exchange with Nordhavel, a lost band, deaths of the old."""
        s = self.s
        male, female = self.pairs[6]
        s.unmark(date(2024, 9, 10), male, "band", "MS 011", note="Lost in the moult; found in the filter.")
        self.band(male, date(2024, 9, 12))
        s.die(
            "2025-01-11/2025-01-13",
            female,
            cause="reproduction",
            circumstance="found_dead",
            note="Egg retained; found after the weekend.",
        )
        away = [c.animal for c in self.fledged if c.animal.since.year == 2024][:3]
        for bird in away:
            papers: dict[str, Any] = {"permits": [permit(s, date(2025, 5, 2))], "source_code": "C", "purpose_code": "Z"}
            s.send(date(2025, 5, 13), bird, "NSP", "exchange", **papers)
        for sex in "mf":
            papers = {
                "permits": [permit(s, date(2025, 5, 2), "NSP")],
                "source_code": "C",
                "purpose_code": "Z",
            }
            bird = s.receive(
                date(2025, 5, 27), "NSP", PENGUIN, "Q4", sex, "exchange", born="2023", origin="bred", **papers
            )
            clear(s, bird, date(2025, 5, 27), "B1")
            self.band(bird, date(2025, 7, 8))
        old = self.pairs[4][1]
        s.die(
            date(2026, 7, 21),
            old,
            cause="euthanasia",
            circumstance="euthanised",
            euthanasia_ground="Both feet past treatment; in pain for a week.",
            decided_by="HK",
        )

    def lent(self) -> None:
        """Four go to Skerrin on loan: one dies there, two come home, one is sold to them; two young ones follow."""
        s = self.s
        four = [self.birds[15], self.birds[16], self.birds[17], self.birds[18]]
        skerrin: dict[str, Any] = {"house": "SK", "seen": "TB"}
        for bird in four:
            s.pass_on(date(2024, 10, 14), bird, "SK", "loan", "K6", permits=["LCNA-2024-0877"], purpose_code="Z")
        for bird in four:
            s.move(date(2024, 11, 15), bird, "K2", **skerrin)
        s.die(
            date(2025, 2, 20),
            four[3],
            cause="trauma",
            circumstance="found_dead",
            note="Under the boardwalk after the storm.",
            **skerrin,
        )
        for bird in four[:2]:
            s.pass_on(date(2025, 9, 22), bird, "MS", "loan_return", "Q4", permits=["IWO-2025-0412"], seen="TB")
            clear(s, bird, date(2025, 9, 22), "B1")
        s.title(date(2026, 3, 2), four[2], "SK", terms="sale", unseen=True, note="Stays where it has been since 2024.")
        young = [c.animal for c in self.fledged if c.animal.since.year == 2025][:2]
        for bird in young:
            s.pass_on(date(2025, 11, 4), bird, "SK", "sale", "K6", permits=["LCNA-2025-0931"], source_code="C")
            s.move(date(2025, 12, 8), bird, "K2", **skerrin)
