"""Of which cohorts a lot is made, and of which one drawn from it may be: parts that sum to one, exact.

Definition. A *cohort* is what one entry brought into a lot: a hatching, a birth, a purchase, what was on hand; or
one animal that joined it. Nobody knows which animals of a lot die or go, so losses take from all cohorts alike: the
parts stay, until more come in. What passes between numbers (split, merge, draw, join) takes the parts of its source
along. What a count finds is of the lot as it stood; of a lot that was empty, of nobody known. The parts of an animal
are those of its lot at the draw: the chance that it is of that cohort.

On one day: what arrives, then what passes (a source before what it feeds), then what goes. Days are those on which
the journal counts. Source: definition D18 of the design (weights are cohort balances at the draw), derived.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import groupby
from typing import Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy
from ledger.words import IN_TRANSIT, LOST

_FINEST: Final = 10**12  # parts of lots that were mixed many times are rounded to such a denominator
Cohort = int | str  # position of the entry that brought it; or the id of an animal that joined
Parts = Mapping[Cohort, Fraction]
_DAY: Final = timedelta(days=1)
NOBODY: Final = 0  # found by a count where nobody stood


class Finding(NamedTuple):
    """What was found out about the parents of all that stood in a lot at the close of a day; `event` its position."""

    lot: str
    day: date
    event: int


class Cohorts(NamedTuple):
    """`drawn`: animal -> parts of its lot at the draw; `lots`: lot -> its parts on the day, or when it last stood.

    `settled`: cohort -> the finding that speaks of it, where a lot was of that one cohort when it was found out.
    """

    drawn: dict[str, Parts]
    lots: dict[str, Parts]
    settled: dict[Cohort, int]


class _Step(NamedTuple):
    day: date
    rank: int  # 0 arrives, 1 passes, 2 goes
    effect: int
    subject: str
    n: int
    found: bool


def cohorts(copy: Copy, lots: Sequence[str], asof: AsOf, findings: Sequence[Finding] = ()) -> Cohorts:
    """The parts of these lots at the close of `asof.on`, and of all ever drawn from them, as known at a position."""
    if not lots:
        return Cohorts({}, {}, {})
    walk = _Walk()
    ahead = sorted(findings, key=lambda f: (f.day, f.event))
    stood: dict[str, Parts] | None = None
    for day, steps in groupby(_steps(copy.histories(lots, date.max, asof.known)), key=lambda step: step.day):
        if stood is None and day > asof.on:
            walk.learn(ahead, asof.on)
            stood = dict(walk.parts)
        walk.learn(ahead, day - _DAY)
        walk.live(list(steps))
    walk.learn(ahead, asof.on if stood is None else date.max)
    stood = dict(walk.parts) if stood is None else stood
    walk.learn(ahead, date.max)
    return Cohorts(walk.drawn, {s: p for s, p in stood.items() if s.startswith("g-")}, walk.settled)


def _steps(lines: pl.DataFrame) -> list[_Step]:
    """What each entry did to the number of a subject's animals, in the order of telling."""
    inside = (
        pl.col("place").str.starts_with("e-")
        | pl.col("place").is_in([IN_TRANSIT, *LOST])
        | (pl.col("place").str.starts_with("o-") & pl.col("owner").str.starts_with("h-"))
    )
    passed = pl.col("reason").is_in(["passed_in", "passed_out"]).any()
    found = pl.col("reason").str.starts_with("count_").any()
    net = (
        lines.filter(inside)
        .group_by("effect", "subject", "counts_on")
        .agg(n=pl.col("delta").sum(), passed=passed, found=found)
        .filter(pl.col("n") != 0)
        .select("counts_on", "passed", "effect", "subject", "n", "found")
    )
    return sorted(
        _Step(day, 1 if passed else 2 * (n < 0), effect, subject, n, found)
        for day, passed, effect, subject, n, found in net.iter_rows()
    )


class _Walk:
    """The lots of one family as they are told day by day."""

    def __init__(self) -> None:
        self.number: dict[str, int] = defaultdict(int)
        self.parts: dict[str, Parts] = {}
        self.drawn: dict[str, Parts] = {}
        self.settled: dict[Cohort, int] = {}

    def live(self, day: Sequence[_Step]) -> None:
        """One day."""
        for step in day:
            if step.rank == 0:
                same = step.found and self.number[step.subject] > 0
                brought: Parts = {NOBODY if step.found else step.effect: Fraction(1)}
                self._come(step.subject, step.n, self.parts[step.subject] if same else brought)
        self._pass([step for step in day if step.rank == 1])
        for step in day:
            if step.rank == 2:
                self.number[step.subject] += step.n

    def learn(self, ahead: list[Finding], last: date) -> None:
        """Findings up to a day: of the one cohort of their lot, else of all that stand in it there and then."""
        while ahead and ahead[0].day <= last:
            finding = ahead.pop(0)
            parts = self.parts.get(finding.lot)
            one = next(iter(parts)) if parts and len(parts) == 1 else NOBODY
            if isinstance(one, int) and one != NOBODY:
                self.settled[one] = finding.event
            elif parts:
                self.parts[finding.lot] = {finding.event: Fraction(1)}

    def _come(self, subject: str, n: int, of: Parts) -> None:
        """`n` animals of such parts come to a subject; an animal is what it was at first."""
        stood = max(self.number[subject], 0)
        self.number[subject] += n
        if subject.startswith("a-") and subject in self.parts:
            return
        mixed: dict[Cohort, Fraction] = defaultdict(Fraction)
        for parts, weight in ((self.parts.get(subject, {}), stood), (of, n)):
            for cohort, part in parts.items():
                mixed[cohort] += part * Fraction(weight, stood + n)
        self.parts[subject] = {c: p.limit_denominator(_FINEST) for c, p in mixed.items() if p}

    def _pass(self, steps: Sequence[_Step]) -> None:
        gives = {step.effect: step.subject for step in steps if step.n < 0}
        waiting = [step for step in steps if step.n > 0]
        while waiting:
            fed = {step.subject for step in waiting}
            ready = next((s for s in waiting if gives.get(s.effect, "") not in fed), waiting[0])
            waiting.remove(ready)
            source = gives.get(ready.effect, "")
            parts: Parts = {NOBODY: Fraction(1)}
            if source.startswith("a-"):
                parts = {source: Fraction(1)}
            elif source:
                parts = self.parts.get(source, parts)
                self.number[source] -= ready.n
            if ready.subject.startswith("a-") and source.startswith("g-"):
                self.drawn.setdefault(ready.subject, parts)
            self._come(ready.subject, ready.n, parts)
