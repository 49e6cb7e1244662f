"""What a person at the desk sees and types: names, days, numbers, the census by subject.

Everything is drawn through `pick(n)`, a number from 0 to n - 1, so that hypothesis and a seeded generator drive
the same code.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from oracle.census import Oracle, at, places_at
from oracle.world import SEX

Pick = Callable[[int], int]
Entry = dict[str, Any]
Cell = tuple[str, ...]  # taxon, sex, place, holder, owner, standing

START = date(2024, 3, 4).toordinal()
SPAN = 26  # days a history may take
HOUSES = ("AA", "BB")
PARTY = "PX"
TAXA = ("Hippocampus fictus", "Amphiprion fictus")
LETTER = {"male": "m", "female": "f", "hermaphrodite": "h", "unknown": "u"}
ONE_DAY = ("count", "split", "merge", "draw", "join")


def day_text(first: int, last: int) -> str:
    a, z = date.fromordinal(first).isoformat(), date.fromordinal(last).isoformat()
    return a if first == last else f"{a}/{z}"


class Scene:
    """What a person at the desk would see: the oracle's census by subject, and the names of ids."""

    def __init__(self, oracle: Oracle) -> None:
        self.oracle = oracle
        self.names: dict[str, str] = {}
        self.numbers = 0
        self.known = 0
        self.today = START

    def read(self, events: list[Mapping[str, Any]]) -> None:
        self.oracle.read(events)
        for event in events:
            self.known = event["seq"]
            for value in event["payload"].values():
                if isinstance(value, Mapping) and "as" in value:
                    self.names.setdefault(value["id"], value["as"])

    def name(self, of: str) -> str:
        return self.names.get(of, of)

    def subjects(self, prefix: str) -> list[str]:
        return [s for s in self.oracle.facts(self.known) if s.startswith(prefix)]

    def cells(self, subject: str, on: int) -> dict[Cell, int]:
        line = self.oracle.certain(subject, self.known)
        return at(line, on) if line else {}

    def places(self, subject: str, on: int) -> dict[str, int]:
        """Where its animals are, accounts and all."""
        line = self.oracle.certain(subject, self.known)
        return places_at(line, on) if line else {}

    def sexes(self, subject: str) -> set[str]:
        """Sexes it was last seen with."""
        line = self.oracle.certain(subject, self.known) or []
        seen = [cells for _, cells, _ in line if cells]
        return {cell[SEX] for cell in seen[-1]} if seen else set()

    def taxa(self, subject: str) -> set[str]:
        """What it is in the end."""
        return {c[0] for c in self.cells(subject, START + 10**4)}

    def like(self, taxa: set[str], lots: list[str], pick: Pick) -> list[str]:
        """Lots of one of these taxa, seven times in eight."""
        return [s for s in lots if self.taxa(s) & taxa] if pick(8) else lots

    def new_number(self, letter: str) -> str:
        self.numbers += 1
        return f"{letter}-{self.numbers:03}-{chr(97 + self.numbers % 26)}"


def days(pick: Pick, day: int, *, one: bool = False) -> str:
    """A day, or a short range around it (two in five, unless the kind needs one day)."""
    wide = 0 if one else (0, 0, 0, 0, 0, 0, 1, 2, 3, 4)[pick(10)]
    before, after = ((0, 0), (1, 0), (0, 1), (1, 2), (2, 1))[wide]
    return day_text(day - before, day + after)


def enclosure(pick: Pick, house: str) -> str:
    return f"{house[0]}{pick(3) + 1}"


def other(house: str) -> str:
    return HOUSES[1 - HOUSES.index(house)]


def numbers(pick: Pick, sexes: Mapping[str, int], most: int = 3) -> dict[str, int]:
    """A few of those that are there; one time in sixteen more than there are."""
    have = [s for s, n in sexes.items() if n > 0]
    if not have:
        return {"u": 1}
    first = have[pick(len(have))]
    out = {LETTER[first]: min(sexes[first], 1 + pick(most)) + (pick(16) == 15)}
    if len(have) > 1 and pick(4) == 0:
        second = have[(have.index(first) + 1) % len(have)]
        out[LETTER[second]] = min(sexes[second], 1 + pick(2))
    return out


def underway(pick: Pick, kind: str, p: dict[str, Any], day: int) -> dict[str, Any]:
    """One transfer out of a house in four takes a few days; of part of a lot, one or another may come dead."""
    if kind != "transfer" or p.get("from") not in HOUSES or pick(4):
        return p
    left = date.fromordinal(day - 1 - pick(3)).isoformat()
    dead = {"dead_on_arrival": {"n": 1}} if "how_many" in p and pick(3) == 0 else {}
    return p | dead | {"left": left}


def told_or_not(pick: Pick, how_many: dict[str, int]) -> dict[str, int]:
    """A number by sex; one in four as a number alone."""
    return how_many if pick(4) else {"n": sum(how_many.values())}


def send(pick: Pick, scene: Scene, house: str, owner: str) -> tuple[str, dict[str, Any]]:
    """Out of a house: the terms fit the title, nearly always."""
    to = (PARTY, other(house))[pick(2)]
    if owner == house:
        terms = ("loan", "loan", "sale", "donation", "breeding_loan")[pick(5)]
    else:
        terms, to = "loan_return", owner if pick(8) else to
    if pick(16) == 15:
        terms = "loan_return"
    p: dict[str, Any] = {"from": house, "to": to, "terms": terms}
    if to in HOUSES:
        p["enclosure"] = enclosure(pick, to)
    return "transfer", p
