"""Seeded chance that says the same on every Python: built on `random()` alone."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, timedelta
from typing import TypeVar

SEED = "marrow-sound/4"
T = TypeVar("T")


class Dice:
    """One stream of chance; each story has its own, so that a change in one leaves the others as they were."""

    def __init__(self, name: str) -> None:
        self._random = random.Random(f"{SEED}/{name}")

    def happens(self, p: float) -> bool:
        """True with probability p."""
        return self._random.random() < p

    def between(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        return low + int(self._random.random() * (high - low + 1))

    def pick(self, things: Sequence[T]) -> T:
        """One of several, each as likely."""
        return things[self.between(0, len(things) - 1)]

    def weighted(self, things: Sequence[tuple[T, int]]) -> T:
        """One of several, by weight."""
        left = self.between(1, sum(weight for _, weight in things))
        for thing, weight in things:
            left -= weight
            if left <= 0:
                return thing
        raise AssertionError

    def some(self, things: Sequence[T], n: int) -> list[T]:
        """So many of several, in the order they stand in."""
        left = list(range(len(things)))
        while len(left) > n:
            left.pop(self.between(0, len(left) - 1))
        return [things[i] for i in left]

    def days(self, first: date, last: date, n: int) -> list[date]:
        """So many different days, first to last, in order."""
        return self.some([first + timedelta(days=i) for i in range((last - first).days + 1)], n)

    def bits(self, n: int) -> int:
        """A number of so many random bits."""
        return self.between(0, 2**n - 1) if n <= 32 else (self.bits(n - 32) << 32) | self.bits(32)
