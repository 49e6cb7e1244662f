"""How old the dead were against a limit, three-valued: by day 30, older, or it cannot be said.

Definition. The age at death lies between max(0, d1 - b2) and d2 - b1 days, where d1..d2 are the possible days
of the death and b1..b2 those of the birth, both as the fold narrowed them. By the limit (day 30 inside) where
the most is not above it; older where the least is; else it cannot be said.

Of a lot nobody knows which animals died. Y is the most of its animals that could be young on that day, O the
most that could be older; of n dead at least max(0, n - O) were young and at least max(0, n - Y) older, the rest
cannot be said. Y and O follow what came in, what went, and what was split, drawn, joined or merged: animals that
pass between numbers keep the cohorts of their source. Untold losses take either kind, so Y only ever falls to
the balance.

Where the entry of a death names the cohort or the brood of the dead, they are judged by that birth alone.

A cohort is what one hatching or birth brought. What came from outside was not born here and is *older*, unless
all animals are asked about (`everyone`): then its stated birth decides, and without one it cannot be said.

Source: definition D13 of the design, derived; that a limit of 30 days has a column of its own is a stocklist
practice, from memory.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from datetime import date
from typing import Final, NamedTuple

import polars as pl

from ledger.dates import End, parse
from ledger.read import Copy
from ledger.words import IN_TRANSIT, LOST

LIMIT: Final = 30  # days; the stocklist column "died within 30 days of birth", from memory, no dated source seen
BORN: Final = ("hatched", "born")
Born = tuple[date | None, date]  # first and last possible day of birth; an open start is None
NOBODY: Final[Mapping[int, AbstractSet[int]]] = {}
YOUNG, OLDER, EITHER = "young", "older", "either"


class Flow(NamedTuple):
    """What one event did to the number of a subject's animals: `n` came (above zero) or went.

    `day`: for what came, the first day it could have; for what went or passed, the day it counts on. So a death
    is never judged without an animal that could have been there.
    """

    day: date
    effect: int
    subject: str
    how: str  # born, outside, found (a count's gain), passed
    n: int
    born: Born | None  # of a cohort, or of what came from outside with a stated birth


class Death(NamedTuple):
    """The dead of one subject in one event; `by_row` the part of them in each row of the report."""

    effect: int
    subject: str
    first: date
    last: date
    dead: int
    by_row: Mapping[tuple[str, ...], int]


class Split(NamedTuple):
    """Deaths by age: by the limit, older, cannot say."""

    young: int
    older: int
    unsaid: int


def flows(lines: pl.DataFrame, births: Mapping[int, Born]) -> list[Flow]:
    """Lines of `Copy.histories` to flows, in the order of telling: by day, arrivals, then passages, then losses.

    A subject's animals are those in an enclosure, in transit, escaped or missing, or with an outside party while
    a member house owns them; what moves among those is no flow. `births`: stated births of arrivals, by event.
    """
    inside = (
        pl.col("place").str.starts_with("e-")
        | pl.col("place").is_in([IN_TRANSIT, *LOST])
        | (pl.col("place").str.starts_with("o-") & pl.col("owner").str.starts_with("h-"))
    )
    net = (
        lines.filter(inside)
        .group_by("effect", "subject", "counts_on")
        .agg(pl.col("delta").sum(), pl.col("could_from").min(), pl.col("reason").unique())
        .filter(pl.col("delta") != 0)
        .select("effect", "subject", "counts_on", "could_from", "delta", "reason")
    )
    told = []
    for effect, subject, day, could, n, reasons in net.iter_rows():
        how = "outside"
        born: Born | None = births.get(effect)
        if n > 0 and set(reasons) & set(BORN):
            how, born = "born", (could, day)
        elif set(reasons) & {"passed_in", "passed_out"}:
            how = "passed"
        elif any(r.startswith("count_") for r in reasons):
            how = "found"
        told.append(Flow(could if n > 0 and how != "passed" else day, effect, subject, how, n, born))
    return sorted(told, key=lambda f: (f.day, _rank(f), f.effect, f.subject))


def _rank(flow: Flow) -> int:
    return 1 if flow.how == "passed" else 0 if flow.n > 0 else 2


def judge(
    deaths: Iterable[Death],
    told: Sequence[Flow],
    *,
    limit: int,
    everyone: bool,
    named: Mapping[int, AbstractSet[int]] = NOBODY,
) -> dict[tuple[str, ...], Split]:
    """Deaths by row of the report, told apart by age. `told` are `flows` of the dead and all their sources.

    `named`: of deaths whose entry says by which arrivals the dead had come, the positions of these (`named_cohorts`).
    """
    of_subject: dict[str, list[Flow]] = defaultdict(list)
    for flow in told:
        of_subject[flow.subject].append(flow)
    out: dict[tuple[str, ...], list[int]] = defaultdict(lambda: [0, 0, 0])
    family: dict[str, list[Flow]] = {}
    sources = _sources(told)
    for death in deaths:
        if death.subject not in family:
            members = _closure(death.subject, sources)
            alone = len(members) == 1
            family[death.subject] = of_subject[death.subject] if alone else [f for f in told if f.subject in members]
        own = family[death.subject]
        young, older = _of_named(death, own, named.get(death.effect, frozenset()), limit, everyone=everyone) or _bounds(
            death, own, limit, everyone=everyone
        )
        for row, n in death.by_row.items():
            split = _split(n, death.dead, young, older)
            out[row] = [a + b for a, b in zip(out[row], split, strict=True)]
    return {row: Split(*split) for row, split in out.items()}


def _split(n: int, dead: int, young: int, older: int) -> Split:
    """`n` of the event's `dead`: all of one age if all the dead are, else by what is certain of n alone."""
    if dead > 0 and older <= 0:
        return Split(n, 0, 0)
    if dead > 0 and young <= 0:
        return Split(0, n, 0)
    at_least_young, at_least_older = max(0, n - older), max(0, n - young)
    return Split(at_least_young, at_least_older, n - at_least_young - at_least_older)


def _sources(told: Sequence[Flow]) -> dict[str, set[str]]:
    """Subject -> subjects from which animals passed into it."""
    gave: dict[int, str] = {f.effect: f.subject for f in told if f.how == "passed" and f.n < 0}
    out: dict[str, set[str]] = defaultdict(set)
    for flow in told:
        if flow.how == "passed" and flow.n > 0 and flow.effect in gave:
            out[flow.subject].add(gave[flow.effect])
    return out


def _closure(subject: str, sources: Mapping[str, set[str]]) -> set[str]:
    found, ahead = {subject}, [subject]
    while ahead:
        for source in sources.get(ahead.pop(), ()):
            if source not in found:
                found.add(source)
                ahead.append(source)
    return found


def _age(born: Born | None, death: Death, limit: int) -> str:
    """Whether one born on `born` and dead on the death's days was young, older, or could be either."""
    if born is None:
        return EITHER
    first, last = born
    if first is not None and (death.last - first).days <= limit:
        return YOUNG
    return OLDER if (death.first - last).days > limit else EITHER


class _Stock:
    """One subject's animals as the death sees them: how many, the most that could be young, the least that must be."""

    def __init__(self) -> None:
        self.n = self.could_be_young = self.must_be_young = 0
        self.had_young = False

    @property
    def could_be_older(self) -> int:
        return self.n - self.must_be_young

    def come(self, n: int, could: int, must: int) -> None:
        self.n += n
        self.could_be_young += could
        self.must_be_young += must
        self.had_young = self.had_young or could > 0

    def go(self, n: int) -> None:
        self.n -= n
        self.could_be_young = min(self.could_be_young, max(self.n, 0))
        self.must_be_young = max(0, self.must_be_young - n)


def _bounds(death: Death, family: Sequence[Flow], limit: int, *, everyone: bool) -> tuple[int, int]:
    """The most animals of the dead's subject that could have been young, and older, just before the death."""
    ages = {f.effect: _entered(f, death, limit, everyone=everyone) for f in family if f.n > 0 and f.how != "passed"}
    if YOUNG not in ages.values() and EITHER not in ages.values():
        return 0, death.dead
    stocks: dict[str, _Stock] = defaultdict(_Stock)
    before = [f for f in family if f.day < death.last or (f.day == death.last and _comes_first(f, death))]
    at = 0
    while at < len(before):
        flow = before[at]
        if flow.how != "passed":
            _apply(stocks[flow.subject], flow, ages.get(flow.effect, OLDER))
            at += 1
            continue
        until = at
        while until < len(before) and before[until].how == "passed" and before[until].day == flow.day:
            until += 1
        _pass(stocks, before[at:until])
        at = until
    stock = stocks[death.subject]
    return stock.could_be_young, stock.could_be_older


def _of_named(
    death: Death, family: Sequence[Flow], arrivals: AbstractSet[int], limit: int, *, everyone: bool
) -> tuple[int, int] | None:
    """The same where it is said by which arrivals they had come; None where that says nothing."""
    came = {_entered(f, death, limit, everyone=everyone) for f in family if f.effect in arrivals and f.n > 0}
    if not came:
        return None
    return (0 if came == {OLDER} else death.dead), (0 if came == {YOUNG} else death.dead)


def _comes_first(flow: Flow, death: Death) -> bool:
    return _rank(flow) < 2 or flow.effect < death.effect


def _entered(flow: Flow, death: Death, limit: int, *, everyone: bool) -> str:
    if flow.how == "born":
        return _age(flow.born, death, limit)
    if flow.how == "found":
        return "found"
    return _age(flow.born, death, limit) if everyone else OLDER


def _apply(stock: _Stock, flow: Flow, age: str) -> None:
    if flow.n < 0:
        if not flow.subject.startswith("a-"):  # an individual that comes back is as old as it is
            stock.go(-flow.n)
    elif flow.subject.startswith("a-") and stock.n:
        return
    elif age == "found":
        stock.come(flow.n, flow.n if stock.had_young else 0, 0)
    else:
        stock.come(flow.n, 0 if age == OLDER else flow.n, flow.n if age == YOUNG else 0)


def _pass(stocks: dict[str, _Stock], day: Sequence[Flow]) -> None:
    """One day's passages between numbers, sources before what they feed."""
    gives = {f.effect: f for f in day if f.n < 0}
    takes = [f for f in day if f.n > 0]
    waiting = [t for t in takes if t.effect in gives]
    for take in takes:
        if take.effect not in gives:
            stocks[take.subject].come(take.n, take.n, 0)  # its source is not in the picture: either
    while waiting:
        fed = {t.subject for t in waiting}
        ready = next((t for t in waiting if gives[t.effect].subject not in fed), waiting[0])
        waiting.remove(ready)
        source, n = stocks[gives[ready.effect].subject], ready.n
        could, must = min(n, source.could_be_young), max(0, n - source.could_be_older)
        if not (ready.subject.startswith("a-") and stocks[ready.subject].n):
            stocks[ready.subject].come(n, could, must)
        if not gives[ready.effect].subject.startswith("a-"):
            source.go(n)


def named_cohorts(copy: Copy, known: int) -> dict[int, set[int]]:
    """Of deaths whose entry names the cohort or the brood of the dead: the arrivals they came by, as positions."""
    deaths = copy.told(("death",), {"cohort": "$.cohort", "brood": "$.brood.id"}, known)
    deaths = deaths.filter(pl.col("cohort").is_not_null() | pl.col("brood").is_not_null())
    if not deaths.height:
        return {}
    ids = copy.ids()
    of_brood: dict[str, set[int]] = defaultdict(set)
    for event in copy.standing(("hatching", "birth"), known) if deaths["brood"].count() else ():
        broods = event.payload.get("brood") or []
        for brood in broods if isinstance(broods, list) else [broods]:
            of_brood[brood["id"]].add(event.root)
    rows = deaths.select("root", "cohort", "brood").iter_rows()
    return {root: of_brood[brood] if brood else {ids[cohort]} for root, cohort, brood in rows if brood or cohort in ids}


def stated_births(copy: Copy, known: int) -> dict[int, Born]:
    """Births stated with arrivals from outside (`born`, an EDTF date), by position of the arrival's first event."""
    out: dict[int, Born] = {}
    for event in copy.standing(("opening", "acquisition", "transfer"), known):
        text = event.payload.get("born")
        if not isinstance(text, str):
            continue
        stated = parse(text)
        last = event.last if isinstance(stated.last, End) else min(date(*stated.last), event.last)
        out[event.root] = (None if isinstance(stated.first, End) else date(*stated.first), last)
    return out
