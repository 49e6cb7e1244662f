"""Animals and lots as the generator follows them, so that no story writes what cannot be."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

WORD = {"m": "male", "f": "female", "u": "unknown", "h": "hermaphrodite"}
Amount = dict[str, int]


class Impossible(Exception):
    """A story wrote what its own book could not bear; the story is to be mended."""


@dataclass(eq=False)
class Subject:
    """One animal or lot. `numbers`: its accession number at each member house, given as its lines are typed."""

    taxon: str
    house: str
    since: date
    numbers: dict[str, str] = field(default_factory=dict)
    last: date = date(1, 1, 1)
    name: str = ""

    def number(self, house: str) -> str:
        """The number a person of that house would type."""
        return self.numbers.get(house) or next(iter(self.numbers.values()))


@dataclass(eq=False)
class Animal(Subject):
    """One individual. `place` is an enclosure or party code, `escaped`, `missing`, or empty once it has left."""

    sex: str = "u"
    place: str = ""

    def needs(self, *, alive: bool = True) -> None:
        """Refuse the story where the animal has left the book."""
        if alive and not self.place:
            raise Impossible(f"{self.taxon} {self.numbers} is not there")


@dataclass(eq=False)
class Lot(Subject):
    """A counted number under one accession number; `cells`: (place, sex letter) to how many."""

    cells: Counter[tuple[str, str]] = field(default_factory=Counter)

    def total(self, place: str = "") -> int:
        """How many, in all or in one place."""
        return sum(n for (at, _), n in self.cells.items() if not place or at == place)

    def at(self, place: str) -> Amount:
        """How many of each sex stand in one place."""
        return {sex: self.cells[place, sex] for sex in "mfuh" if self.cells[place, sex] > 0}

    def places(self) -> list[str]:
        """Where any of it stands."""
        return sorted({at for (at, _), n in self.cells.items() if n > 0})

    def only_place(self) -> str:
        """The one place where all of it stands."""
        places = self.places()
        if len(places) != 1:
            raise Impossible(f"lot of {self.taxon} stands in {places}")
        return places[0]

    def take(self, place: str, amount: Amount) -> None:
        """Take animals from one place."""
        for sex, n in amount.items():
            if n <= 0 or self.cells[place, sex] < n:
                raise Impossible(f"{n} {sex} of {self.taxon} from {place}: {dict(self.cells)}")
            self.cells[place, sex] -= n

    def put(self, place: str, amount: Amount) -> None:
        """Add animals in one place."""
        for sex, n in amount.items():
            if n <= 0:
                raise Impossible(f"{n} {sex} of {self.taxon} to {place}")
            self.cells[place, sex] += n

    def level(self, place: str, amount: Amount) -> None:
        """A count sets what stands in one place."""
        for sex in "mfuh":
            self.cells[place, sex] = amount.get(sex, 0)


class Words:
    """A text that names subjects; their numbers are filled in when the line is typed."""

    def __init__(self, text: str, *subjects: Subject) -> None:
        self.text, self.subjects = text, subjects

    def say(self, house: str) -> str:
        """The text as typed at a house."""
        return self.text.format(*(s.number(house) for s in self.subjects))
