"""What became of the young of one hatching by a day of age, followed through lots, splits, draws and joins.

Nobody knows which animals of a lot went. So of each hatching three numbers are followed in every subject its young
may be in: how many animals are there (at most), how many of them could be its young, how many must be. Of n that go,
at least max(0, n - others) were its young and at most min(n, could); what cannot be told apart is *cannot say*.
In a lot of one hatching, and of one animal, all figures are exact.

The limit is day `limit` of age, inside; an age is the range [d1 - b2, d2 - b1] of days between what was possible
(definition D13), so a loss is within the limit, beyond it, or cannot be said. An untold loss may have been on any day
since the last exact count (D15); one that is wholly within the limit counts with the dead as *missing*, one that may
have been later is *cannot say* (D12). A later gain of a count gives back the newest untold loss first. Escaped young
left alive, missing ones are with the dead, until they are found. What was fed out is dead. An estimate that a count
mends, and young that were not seen, change how many were born alive where the lot has no others. Source: D11 to D13,
derived.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from heapq import heappop, heappush
from typing import Final

from reports.young_steps import (
    AWAY,
    BACK,
    COME,
    DEAD,
    LEFT,
    MENDED,
    OUTSIDE,
    PASS_IN,
    PASS_OUT,
    UNSAID,
    UNTOLD,
    Hatching,
    Step,
    Told,
)

_FATE_OF_POOL: Final = {"escaped": LEFT, "missing": DEAD, OUTSIDE: LEFT, UNTOLD: DEAD}


@dataclass(frozen=True)
class Aged:
    """`n` of one fate whose age at it was from `low` to `high` days."""

    n: int
    low: int
    high: int


@dataclass
class Fate:
    """The young of one hatching on a day. The five states sum to `live`; `ages` of the dead and of those that left.

    `not_yet_low`: the least of *not yet* that are there, should what was found gone later have gone by the day.
    """

    live: int
    alive: int = 0
    dead: int = 0
    left: int = 0
    not_yet: int = 0
    cannot_say: int = 0
    not_yet_low: int = 0
    dead_ages: list[Aged] = field(default_factory=list)
    left_ages: list[Aged] = field(default_factory=list)


@dataclass
class _Group:
    """Animals that are not told apart: how many, the most and the least of them that are the hatching's."""

    n: int = 0
    could: int = 0
    must: int = 0
    fate: str = ""  # of a pool: dead, left or cannot say
    low: int = 0
    high: int = 0

    def take(self, n: int) -> tuple[int, int]:
        """Let n go: the least and the most of them that were the hatching's."""
        others = self.n - self.must
        least, most = min(self.must, max(0, n - others)), min(n, self.could)
        self.n -= n
        self.must = max(0, self.must - n)
        self.could = min(self.could, max(0, self.n))
        return least, most

    def add(self, n: int, most: int, least: int) -> None:
        """Let n come, of whom so many could be, and must be, the hatching's."""
        self.n += n
        self.could += most
        self.must += least


class _Walk:
    """One hatching's young, followed from its day."""

    def __init__(self, told: Told, born: Hatching, on: date, limit: int) -> None:
        self.told, self.born, self.on, self.limit = told, born, on, limit
        self.until = born.last + timedelta(days=limit)  # the last day that can be its day `limit`
        self.live = born.n
        self.here: dict[str, _Group] = {}
        self.pools: dict[tuple[str, str], _Group] = {}
        self.untold: dict[str, list[_Group]] = {}  # newest last
        self.gone = {DEAD: _Group(), LEFT: _Group(), UNSAID: _Group()}
        self.ages: dict[str, list[Aged]] = {DEAD: [], LEFT: []}
        self.later: dict[str, int] = {}  # subject -> how many were found gone after the day, and could have gone by it
        self.passing: dict[int, tuple[int, int]] = {}
        self.ahead: list[tuple[tuple[date, int, int, int, int], str, int]] = []

    def fate(self) -> Fate:
        """Walk, and say what is certain of each state."""
        start = self.told.index(self.born)
        self._enter(self.born.subject, start)
        first = self.here[self.born.subject]
        first.add(self.born.n, self.born.n, self.born.n)
        self._push(self.born.subject, start + 1)
        while self.ahead:
            _, subject, at = heappop(self.ahead)
            self._step(self.told.steps[subject][at], at)
            self._push(subject, at + 1)
        return self._said()

    def _enter(self, subject: str, at: int) -> None:
        self.here[subject] = _Group(self.told.before(subject, at))

    def _push(self, subject: str, at: int) -> None:
        """The next step of a subject, unless nothing after it can say anything about the first days."""
        steps = self.told.steps[subject]
        if at >= len(steps):
            return
        waiting = at <= self.told.last_back[subject] and self._pooled(subject)
        if self.told.earliest[subject][at] <= min(self.until, self.on) or waiting:
            heappush(self.ahead, (steps[at].key, subject, at))

    def _pooled(self, subject: str) -> bool:
        return bool(self.untold.get(subject)) or any(s == subject for s, _ in self.pools)

    # --- one step ---------------------------------------------------------------------------------

    def _step(self, step: Step, at: int) -> None:
        group = self.here[step.subject]
        if step.what == BACK:
            if step.counts_on <= self.on:
                self._back(step, group)
            elif step.pool == UNTOLD and step.could <= self.on:
                self._back(step, self.gone[UNSAID])  # a later count may show that they were there
        elif step.could > min(self.until, self.on):
            return  # after the first days, or not yet: as of the day in question it has not happened
        elif step.what == COME:
            self._come(step, group)
        elif step.what == PASS_IN:
            most, least = self.passing.pop(step.effect, (0, 0))
            group.add(step.n, most, least)
        elif step.counts_on > self.on and self.on < self.until:
            if step.what != PASS_OUT and not step.pool_left:
                self.later[step.subject] = self.later.get(step.subject, 0) + step.n
        elif step.what == PASS_OUT:
            least, most = group.take(step.n)
            self.passing[step.effect] = (most, least)
            self._passed_on(step)
        else:
            self._gone(step, group, at)

    def _passed_on(self, step: Step) -> None:
        for subject, at in self.told.into.get(step.effect, ()):
            if subject not in self.here:
                self._enter(subject, at)
                heappush(self.ahead, (self.told.steps[subject][at].key, subject, at))

    def _come(self, step: Step, group: _Group) -> None:
        """Others come; but young that were not seen, into a lot of this hatching alone, are its own."""
        own = step.n if step.fate == MENDED and group.n == group.must and step.counts_on <= self.on else 0
        self.live += own
        group.add(step.n, own, own)

    def _age(self, step: Step) -> tuple[int, int]:
        low = max(0, (step.could - self.born.last).days)
        return low, max(low, (step.counts_on - self.born.first).days)

    def _gone(self, step: Step, group: _Group, at: int) -> None:
        low, high = self._age(step)
        if step.pool_left:
            group = self._pool(step.subject, step.pool, at)
        if step.fate == MENDED and group.n == group.must:
            self.live -= step.n if step.counts_on <= self.on else 0
            group.take(step.n)
            return
        least, most = group.take(step.n)
        said = high <= self.limit
        if step.what == AWAY:
            fate = _FATE_OF_POOL[step.pool] if said else UNSAID
            self._into_pool(step, at, _Group(step.n, most, least, fate, low, high))
            return
        fate = step.fate if said and step.fate in self.ages else UNSAID
        self.gone[fate].add(step.n, most, least)
        if fate in self.ages and most:
            self.ages[fate].append(Aged(least, low, high))

    def _pool(self, subject: str, pool: str, at: int) -> _Group:
        """A pool as it is; first asked for, with those others that were in it before."""
        if (subject, pool) not in self.pools:
            self.pools[subject, pool] = _Group(self.told.pooled(subject, pool, at))
        return self.pools[subject, pool]

    def _into_pool(self, step: Step, at: int, went: _Group) -> None:
        if step.pool == UNTOLD:
            self.untold.setdefault(step.subject, []).append(went)
            return
        pool = self._pool(step.subject, step.pool, at)
        if pool.could:
            pool.fate = pool.fate if pool.fate == went.fate else UNSAID
            pool.low, pool.high = min(pool.low, went.low), max(pool.high, went.high)
        else:
            pool.fate, pool.low, pool.high = went.fate, went.low, went.high
        pool.add(went.n, went.could, went.must)

    def _back(self, step: Step, group: _Group) -> None:
        """Found again, or bought back: those it can be of the pool; of a lot that was sold, perhaps others."""
        if step.pool == UNTOLD:
            left, layers = step.n, self.untold.get(step.subject, [])
            while left and layers:
                n = min(left, layers[-1].n)
                least, most = layers[-1].take(n)
                group.add(n, most, least)
                left -= n
                if not layers[-1].n:
                    layers.pop()
            group.add(left, 0, 0)
            return
        pool = self.pools.get((step.subject, step.pool))
        if pool is None:
            group.add(step.n, 0, 0)
            return
        sure = step.pool != OUTSIDE or step.subject.startswith("a-")
        least, most = pool.take(min(step.n, pool.n))
        group.add(step.n, most, least if sure else 0)

    # --- what it comes to -----------------------------------------------------------------------------

    def _said(self) -> Fate:
        pools = [*self.pools.values(), *(p for layers in self.untold.values() for p in layers)]
        for pool in pools:
            if pool.could:
                self.gone[pool.fate].add(pool.n, pool.could, pool.must)
                if pool.fate in self.ages:
                    self.ages[pool.fate].append(Aged(pool.must, pool.low, pool.high))
        most = {fate: min(group.could, self.live) for fate, group in self.gone.items()}
        could = min(self.live, sum(g.could for g in self.here.values()))
        must = sum(g.must for g in self.here.values())
        there = max(must, self.live - sum(most.values()))
        dead = max(self.gone[DEAD].must, self.live - could - most[LEFT] - most[UNSAID])
        left = max(self.gone[LEFT].must, self.live - could - most[DEAD] - most[UNSAID])
        yet = self.on < self.until
        later = sum(min(n, self.here[s].must) for s, n in self.later.items())
        out = Fate(self.live, dead=dead, left=left, not_yet_low=max(0, there - later) if yet else 0)
        out.not_yet, out.alive = (there, 0) if yet else (0, there)
        out.cannot_say = self.live - there - dead - left
        out.dead_ages = _told_apart(self.ages[DEAD], dead)
        out.left_ages = _told_apart(self.ages[LEFT], left)
        return out


def _told_apart(ages: list[Aged], n: int) -> list[Aged]:
    """The certain ones by age; those of which only the sum is certain over all ages of that fate."""
    certain = [a for a in ages if a.n]
    rest = n - sum(a.n for a in certain)
    if rest > 0:
        certain.append(Aged(rest, min(a.low for a in ages), max(a.high for a in ages)))
    return certain


def fates(told: Told, hatchings: list[Hatching], on: date, limit: int) -> list[Fate]:
    """The fate of each hatching at the close of `on`; hatchings that had not happened by then are not to be given."""
    return [_Walk(told, born, on, limit).fate() for born in hatchings]
