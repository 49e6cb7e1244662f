"""The flows of the journal about subjects that young were born into, as steps in the order of telling."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from functools import cached_property
from typing import Final, NamedTuple

import polars as pl

BORN: Final = ("hatched", "born")
COME, PASS_OUT, PASS_IN, LOSS, AWAY, BACK = "come", "pass_out", "pass_in", "loss", "away", "back"
DEAD, LEFT, UNSAID, MENDED = "dead", "left", "unsaid", "mended"
UNTOLD, OUTSIDE = "untold", "outside"  # pools beside escaped and missing: untold losses, and what left the book
_DIED: Final = ("died", "count_deaths_unseen", "fed_out")
_MENDS: Final = ("count_estimate", "count_young_unseen")
_RANK: Final = {COME: 0, PASS_OUT: 1, PASS_IN: 1, LOSS: 2, AWAY: 2, BACK: 3}
_COUNTED: Final = 4  # the rank of what a count finds: after all else of its day
_HERE: Final = "here"
Leg = tuple[str, str, int, date]  # way, pool, n, first day it could have been


class Step(NamedTuple):
    """One thing that happened to the animals of a subject: n of them came, went, passed, went away or came back.

    `day`: where it stands in the telling (of what came, the first day it could have; else the day it counts on).
    `pool`: where those went that went away, and whence those came that came back; of a loss out of a pool, that pool.
    `fate`: of a loss; `mended` of a difference that says how many there had been from the first.
    """

    day: date
    turn: int  # of several passages of one day, sources before what they feed
    effect: int
    subject: str
    what: str
    n: int
    could: date
    counts_on: date
    pool: str = ""
    fate: str = ""

    @property
    def key(self) -> tuple[date, int, int, int, int]:
        """Its place in the telling: arrivals, passages, losses, returns, what counts found."""
        rank = _COUNTED if self.pool == UNTOLD else _RANK[self.what]
        return self.day, rank, self.turn, self.effect, int(self.what == PASS_IN)

    @property
    def pool_left(self) -> bool:
        """Whether it is a loss out of a pool."""
        return self.what == LOSS and self.pool != ""

    @property
    def change(self) -> int:
        """What it does to the number of the subject's animals that are there."""
        if self.pool_left:
            return 0
        return self.n if self.what in (COME, PASS_IN, BACK) else -self.n


class Hatching(NamedTuple):
    """Young of one event: the subject they entered, how many, first and last possible day of birth."""

    effect: int
    subject: str
    n: int
    first: date
    last: date


class Told:
    """Steps by subject, with what a walk asks of them. Made of the rows of `young_flows.sql`."""

    def __init__(self, flows: pl.DataFrame) -> None:
        self.steps = _steps(flows)
        self.into: dict[int, list[tuple[str, int]]] = defaultdict(list)  # passage -> whom it feeds, and which step
        self.earliest: dict[str, list[date]] = {}  # first day any step from that one on could have been; BACK aside
        self.last_back: dict[str, int] = {}
        self._births: dict[tuple[str, int], int] = {}
        for subject, steps in self.steps.items():
            least, back = date.max, -1
            earliest = [date.max] * len(steps)
            for at in range(len(steps) - 1, -1, -1):
                step = steps[at]
                if step.what == BACK:
                    back = max(back, at)
                else:
                    least = min(least, step.could)
                earliest[at] = least
                if step.what == PASS_IN:
                    self.into[step.effect].append((subject, at))
                elif step.what == COME:
                    self._births[subject, step.effect] = at
            self.earliest[subject], self.last_back[subject] = earliest, back

    @cached_property
    def _sums(self) -> dict[str, list[int]]:
        out = {}
        for subject, steps in self.steps.items():
            sums, n = [0], 0
            for step in steps:
                n += step.change
                sums.append(n)
            out[subject] = sums
        return out

    def index(self, born: Hatching) -> int:
        """Which step of its subject the hatching is."""
        return self._births[born.subject, born.effect]

    def before(self, subject: str, at: int) -> int:
        """How many animals it had before that step."""
        return self._sums[subject][at]

    def pooled(self, subject: str, pool: str, at: int) -> int:
        """How many were in a pool before that step."""
        signs = {AWAY: 1, BACK: -1, LOSS: -1}
        return max(0, sum(signs.get(s.what, 0) * s.n for s in self.steps[subject][:at] if s.pool == pool))


def _steps(flows: pl.DataFrame) -> dict[str, list[Step]]:
    grouped: dict[tuple[str, date, int], list[Leg]] = defaultdict(list)
    columns = ("subject", "counts_on", "effect", "way", "pool", "n", "could_from")
    for subject, day, effect, *leg in flows.select(columns).iter_rows():
        grouped[subject, day, effect].append(tuple(leg))
    steps = [s for (subject, day, effect), legs in grouped.items() for s in _of_event(subject, day, effect, legs)]
    turns = _turns([s for s in steps if s.what in (PASS_OUT, PASS_IN)])
    out: dict[str, list[Step]] = defaultdict(list)
    for step in steps:
        out[step.subject].append(step._replace(turn=turns[step.effect]) if step.effect in turns else step)
    for told in out.values():
        told.sort(key=lambda s: s.key)
    return dict(out)


def _of_event(subject: str, day: date, effect: int, legs: list[Leg]) -> Iterator[Step]:
    """What one event did to a subject's animals on one day."""
    away = [leg for leg in legs if leg[1] != _HERE]
    moved = 0  # between here and a pool: one step, not two
    for _, pool, n, could in away:
        here = next((k for _, p, k, _ in legs if p == _HERE and (k > 0) != (n > 0)), 0)
        if n > 0:
            yield Step(day, 0, effect, subject, AWAY, n, could, day, pool)
            moved -= n
        elif here:
            yield Step(could, 0, effect, subject, BACK, -n, could, day, pool)
            moved -= n
        else:
            fate = DEAD if any(way in _DIED for way, p, _, _ in legs if p == pool) else LEFT
            yield Step(day, 0, effect, subject, LOSS, -n, could, day, pool, fate)
    for way, pool, n, could in legs:
        if pool != _HERE:
            continue
        rest = n
        if moved and (n > 0) == (moved > 0):
            rest, moved = n - moved, 0
        if rest:
            yield _here(Step(day, 0, effect, subject, "", abs(rest), could, day), way, gain=rest > 0)


def _here(step: Step, way: str, *, gain: bool) -> Step:
    """A change of those that are there, by its way."""
    if way == "passed":
        return step._replace(what=PASS_IN if gain else PASS_OUT)
    if gain:
        step = step._replace(day=step.could)
        if way in _MENDS:
            return step._replace(what=COME, fate=MENDED)
        if way.startswith("count_"):
            return step._replace(what=BACK, pool=UNTOLD)
        if way in ("transfer", "title"):
            return step._replace(what=BACK, pool=OUTSIDE)
        return step._replace(what=COME)
    if way in _DIED:
        return step._replace(what=LOSS, fate=DEAD)
    if way in _MENDS:
        return step._replace(what=LOSS, fate=MENDED)
    return step._replace(what=AWAY, pool=UNTOLD if way.startswith("count_") else OUTSIDE)


def _turns(passages: Iterable[Step]) -> dict[int, int]:
    """Passage (its event) -> its turn within its day: after all that feed its source."""
    days: dict[date, dict[int, dict[str, str]]] = defaultdict(lambda: defaultdict(dict))
    for step in passages:
        days[step.day][step.effect][step.what] = step.subject
    out: dict[int, int] = {}
    for day in days.values():
        if len(day) == 1:
            continue
        feeds = {e: (ends.get(PASS_OUT), ends.get(PASS_IN)) for e, ends in day.items()}
        turn = dict.fromkeys(feeds, 0)
        for _ in feeds:  # as many rounds as passages: enough where they go round in no circle
            for effect, (source, _target) in feeds.items():
                fed = [turn[e] for e, (_, target) in feeds.items() if target == source and e != effect]
                turn[effect] = min(len(feeds), 1 + max(fed, default=-1))
        out.update(turn)
    return out
