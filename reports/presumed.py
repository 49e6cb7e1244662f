"""Who is presumed to take an open place of a unit: a guess by rule, said as one, and in no census.

Source: definition D27 of the design. *A. clarkii* non-breeders can become female straight away (seen): so an immature
animal is next where no functional male is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Final, NamedTuple

from ledger.read import Names
from reports.sex_changes import Change
from reports.unit_days import Moment, last_leaving
from reports.unit_orders import order_before, sizes_before
from reports.unit_story import Story
from reports.units import Units

PLURAL: Final = {"animal": "animals", "male": "males", "female": "females", "unknown": "immature animals"}


class Presumed(NamedTuple):
    """The four columns of `succession` that are presumed; empty where nothing is."""

    presumed_next: str = ""
    presumed_for: str = ""
    presumed_by: str = ""
    presumed_to_move_up: str = ""


class _Choice(NamedTuple):
    who: tuple[str, ...]  # ids of animals; empty where none is identified
    text: str
    by: str


class _Choosing:
    """Chooses among those present by the observed order, by size, or as the only one."""

    def __init__(self, units: Units, names: Names, story: Story, now: Moment, on: date) -> None:
        self.units, self.names, self.now = units, names, now
        self.order = order_before(units, story.unit.id, on + timedelta(days=1))
        self.left, self.on = last_leaving(story.moments), on

    def pool(self, sexes: Iterable[str], without: Iterable[str] = ()) -> dict[str, int]:
        """Subjects present of one of the sexes, and how many."""
        sums = {s: sum(own.get(sex, 0) for sex in sexes) for s, own in self.now.present.items()}
        return {s: n for s, n in sums.items() if n and s not in set(without)}

    def choose(self, pool: dict[str, int], sex: str, k: int, *, largest: bool = False) -> _Choice:
        """The first `k` of a pool: by order (by size first, where the `largest` is asked for)."""
        animals = [s for s in pool if s.startswith("a-")]
        ways = (self._by_size, self._by_order) if largest else (self._by_order, self._by_size)
        for way in ways:
            found = way(animals, k, largest=largest)
            if found.who:
                return found
        n = sum(pool.values())
        if not n:
            return _Choice((), "", "")
        if n == 1 and animals:
            return _Choice(
                (animals[0],), self.names.number(animals[0]), f"the only {sex if sex != 'unknown' else 'one'}"
            )
        some = "one" if k == 1 else str(min(k, n))
        return _Choice((), f"{some} of {n} {PLURAL[sex] if n > 1 else sex}, none identified", "")

    def _by_order(self, animals: Sequence[str], k: int, *, largest: bool) -> _Choice:
        if self.order is None:
            return _Choice((), "", "")
        ranked = sorted((r, s) for s in animals if (r := self.order.rank(s)) is not None)
        when = "" if self.left is None else ", before the leaving" if self.order.days.high < self.left else ""
        by = f"order of {self.order.days.high}{when}{', none measured' if largest else ''}"
        return self._first([(r, s) for r, s in ranked], k, by)

    def _by_size(self, animals: Sequence[str], k: int, *, largest: bool) -> _Choice:
        sizes = sizes_before(self.units, animals, self.on + timedelta(days=1))
        if not sizes or (len(animals) > 1 and len(sizes) < 2):
            return _Choice((), "", "")
        by = f"size of {max(size.days.high for size in sizes.values())}{'' if largest else ', no order'}"
        return self._first([(-size.value, s) for s, size in sizes.items()], k, by)

    def _first(self, ranked: Sequence[tuple[float, str]], k: int, by: str) -> _Choice:
        """The first `k`, and with the last of them all its equals."""
        if not ranked:
            return _Choice((), "", "")
        last = ranked[min(k, len(ranked)) - 1][0]
        number = self.names.number
        sure = [s for r, s in ranked if r < last]
        equal = sorted((s for r, s in ranked if r == last), key=number)
        between = " or " if len(sure) + len(equal) > k else ", "
        words = [*map(number, sure), between.join(map(number, equal))]
        return _Choice((*sure, *equal), ", ".join(words), by)


def presume(
    units: Units, names: Names, story: Story, now: Moment, under_way: Sequence[Change], on: date, state: str
) -> Presumed:
    """Who is next for an open place, and who moves up behind; as known and at the close of `on`."""
    first = story.first
    assert first is not None
    choosing = _Choosing(units, names, story, now, on)
    changing = {c.subject for c in under_way if c.step.to == first.sex}
    if story.system == "male_first":
        return _male_first(choosing, story, changing, state)
    k = len(first.open)
    if not k:
        return Presumed()
    single = {s for s in changing if s.startswith("a-")}
    both = story.system == "some_born_male" and not first.many
    pool = choosing.pool(("female", "male") if both else ("female",), single)
    found = choosing.choose(pool, "animal" if both and first.holders else "female", k)
    return Presumed(found.text, first.sex, found.by, "")


def _male_first(choosing: _Choosing, story: Story, changing: set[str], state: str) -> Presumed:
    first, second = story.first, story.second
    assert first is not None
    assert second is not None
    males, young = choosing.pool(("male",), changing), choosing.pool(("unknown",), changing)
    if state == "place open":
        found = choosing.choose(males, "male", 1) if males else choosing.choose(young, "unknown", 1)
        left = {s: n for s, n in males.items() if s not in found.who}
        up = choosing.choose({s: n for s, n in young.items() if s not in found.who}, "unknown", 1, largest=True)
        moves = up.text if found.text and not left else ""
        return Presumed(found.text, "female", found.by, moves)
    if state == "change under way":
        up = choosing.choose(young, "unknown", 1, largest=True)
        return Presumed("", "", up.by if not males else "", up.text if not males else "")
    if not first.holders or second.holders or not second.had:
        return Presumed()
    up = choosing.choose(young, "unknown", 1, largest=True)
    rest = [choosing.names.number(s) for s in young if s not in up.who and s.startswith("a-")]
    stay = f"{', '.join(rest)} stay{'s' if len(rest) == 1 else ''}" if rest and up.who else ""
    return Presumed(up.text, "male", up.by, stay) if up.text else Presumed()
