"""Random books of pairs: pairings, partings, moves, escapes, deaths and transfers, many with dates that are ranges.

What cannot be is refused by the book and forgotten; the rest lands, in an order that is not that of its days.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from case_runner import WARNINGS
from told_books import Told, entry

START, SPAN = date(2025, 1, 1), 120
TAXA = ("Hippocampus kuda", "Pseudanthias squamipinnis", "Amphiprion ocellaris")
TANKS = ("R2", "R3", "T3")


def day(number: int) -> str:
    return (START + timedelta(days=number)).isoformat()


class PairBook:
    """One told book. `animals`: numbers by taxon; `landed`: how many entries of the story the book took."""

    def __init__(self, seed: int, entries: int = 45) -> None:
        self.rng = random.Random(seed)
        self.told = Told()
        self.landed = 0
        self.animals: dict[str, list[str]] = {}
        taxon = TAXA[seed % len(TAXA)]
        for number in range(5):
            sex = "mf"[number % 2] if self.rng.random() < 0.85 else "u"
            name = f"A{number}"
            since = self.rng.choice((0, 0, 0, self.rng.randint(1, 30)))
            more = {"animal": name, "taxon": taxon, "sex": sex, "enclosure": self.rng.choice(TANKS)}
            if self.try_(entry("opening", day(since), **more)):
                self.animals.setdefault(taxon, []).append(name)
        for _ in range(entries):
            self.try_(*self.story())

    def try_(self, *batch: dict[str, Any]) -> bool:
        """Record one batch; True where it landed."""
        run = self.told.run
        for flat in batch:
            run.clock(flat)
        outcome = run.write([run.typed(flat) for flat in batch], WARNINGS)
        self.landed += bool(outcome.landed)
        return bool(outcome.landed)

    def story(self) -> list[dict[str, Any]]:
        """One batch of the story: of a bond, of one animal, or a transfer of one or both."""
        (names,) = self.animals.values()
        a, b = self.rng.sample(names, 2)
        choice = self.rng.random()
        if choice < 0.4:
            return [self._bond(a, b)]
        return [self._alone(a)] if choice < 0.85 else self._transfer([a, b] if self.rng.random() < 0.6 else [a])

    def _bond(self, a: str, b: str) -> dict[str, Any]:
        rng = self.rng
        if rng.random() < 0.25:
            return entry("parting", self.when(), a=a, b=b, **({"by": a} if rng.random() < 0.5 else {}))
        since = {"since": day(rng.randint(-20, 20))} if rng.random() < 0.1 else {}
        basis = rng.choice(("greeting", "introduced", "courtship"))
        return entry("pairing", self.when(), a=a, b=b, basis=basis, **since)

    def _alone(self, a: str) -> dict[str, Any]:
        rng = self.rng
        often = ("move",) * 8 + ("escape", "escape", "missing") + ("recovery",) * 4 + ("death", "release")
        kind = rng.choice((*often, "sex_change", "sex_change"))
        more: dict[str, Any] = {
            "move": {"to": rng.choice(TANKS)},
            "recovery": {"enclosure": rng.choice(TANKS)},
            "sex_change": {"to": rng.choice("mf"), "stage": "completed"},
        }.get(kind, {})
        return entry(kind, self.when(), animal=a, **more)

    def _transfer(self, going: list[str]) -> list[dict[str, Any]]:
        when, party = self.when(), self.rng.choice(("OSC", "OSC", "VC"))
        if self.rng.random() < 0.5:
            there = {"enclosure": "V2"} if party == "VC" else {}
            how = {"from": "MS", "to": party, "terms": "breeding_loan", **there}
        else:
            how = {"from": party, "to": "MS", "terms": "breeding_loan_return", "enclosure": self.rng.choice(TANKS)}
        return [entry("transfer", when, animal=x, **how) for x in going]

    def when(self) -> str:
        """A day, or one time in four some days."""
        first = self.rng.randint(0, SPAN - 6)
        return day(first) if self.rng.random() < 0.75 else f"{day(first)}/{day(first + self.rng.randint(1, 5))}"
