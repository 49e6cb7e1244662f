"""Every choice of true days of one subject's events, and what is certain in all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import groupby, permutations, product
from typing import Any, NamedTuple

from oracle.does import do
from oracle.log import Fact, ident
from oracle.world import ARRIVALS, RETURNS, No, World

CAP = 2_000
Cells = dict[tuple[str, ...], int]
Timeline = list[tuple[int, Cells, dict[str, int]]]  # day, cells after it, animals by place and account

AXIS = {
    "move": "p",
    "sexing": "s",
    "sex_change": "s",
    "title_change": "o",
    "redetermination": "t",
    "standing_change": "g",
}


class Told(NamedTuple):
    """A subject as the pages say it stands."""

    facts: tuple[Fact, ...]
    latest: tuple[int, ...]  # the day each counts on
    earliest: tuple[int, ...]  # the first day each could have counted
    certain: Timeline | None  # None: the latest days together cannot be replayed
    worlds: tuple[Timeline, ...]


def rank(fact: Fact, subject: str, counts_first: bool = False) -> float:
    """Order of one day: arrivals and additions, changes, departures, returns, counts, a whole lot's departure."""
    kind, p, lot = fact.kind, fact.payload, subject.startswith("g-")
    whole = lot and "how_many" not in p
    if kind == "transfer":
        return _rank_of_transfer(p, lot=lot, whole=whole)
    if kind in ("split", "draw", "merge", "join"):
        if ident(p.get("new", p.get("into"))) == subject:
            return -1 if "new" in p else 0
        return 2
    if kind == "propagation" and ident(p.get("made_from", "")) == subject:
        return 2
    if kind in ("escape", "missing", "release", "fed_out", "leaving"):
        return 5 if whole else 2
    if kind == "count" and "before" in p:
        return -2
    if kind == "count":
        return 1 if counts_first else 4
    return {"death": 2, "recovery": 3}.get(kind, _rank_of_arrival(p) if kind in ARRIVALS else 1)


def _rank_of_arrival(p: Mapping[str, Any]) -> int:
    """The first arrival opens the day: nothing of the subject can come before it."""
    return 0 if "into" in p or "addition" in p else -1


def _rank_of_transfer(p: Mapping[str, Any], *, lot: bool, whole: bool) -> float:
    if "left" in p and ident(p["from"]).startswith("h-"):  # out of transit
        home = ident(p["to"]).startswith("h-")
        return (0.5 if home else 5) if whole else 3 if home else 2
    leaves, enters = (not ident(p[k]).startswith("h-") for k in ("to", "from"))
    if leaves == enters:  # between members, or between parties: something about it changes
        return 1
    if leaves:
        return 5 if whole else 2
    if p["terms"] in RETURNS or (not lot and "taxon" not in p):
        return 0.5 if whole else 3  # a whole lot that is back can be moved and counted on that day
    return _rank_of_arrival(p)


def restated(facts: Sequence[Fact]) -> list[Fact]:
    """Findings with days of their own: since birth they rewrite the arrival, since a day they count then."""
    out: list[Fact] = []
    births: list[Fact] = []
    for f in facts:
        if f.kind == "transfer" and "left" in f.payload and ident(f.payload["from"]).startswith("h-"):
            day = date.fromisoformat(f.payload["left"]).toordinal()
            out.append(f._replace(kind="leaving", first=day, last=day))
        since = f.payload.get("holds_since") if f.kind in ("sexing", "redetermination") else None
        if since == "birth":
            births.append(f)
        elif since:
            day = date.fromisoformat(since).toordinal()
            out.append(f._replace(first=day, last=day))
        else:
            out.append(f)
    out = [f._replace(payload={**f.payload, "here": True}) if _next_stay(f, facts) else f for f in out]
    for f in sorted(births, key=lambda f: (f.last, f.root)):
        field = "sex" if f.kind == "sexing" else "taxon"
        new = f.payload["to"] if field == "sex" else f.payload["taxon"]
        for i, a in enumerate(out):
            if a.kind in ARRIVALS or a.kind == "draw" or (a.kind == "transfer" and "taxon" in a.payload):
                out[i] = a._replace(payload={**a.payload, field: new})
                break
    return out


def _next_stay(f: Fact, facts: Sequence[Fact]) -> bool:
    """Found out of an animal while it may have been coming: then it had come, for nobody else had it to look at."""
    if f.kind not in ("sexing", "redetermination"):
        return False
    comes = (a for a in facts if a.kind == "transfer" and ident(a.payload["to"]).startswith("h-"))
    return any(a.first <= f.last and f.first <= a.last for a in comes)


def claims(facts: Sequence[Fact]) -> list[tuple[int, int]]:
    """Changes of one and the same thing, on one day, stand in the order of their last possible days, then of the log.

    Only the order within a day is claimed. Two ranges of one thing that overlap on several days leave the result
    open for ever; every choice of days is replayed, so that a book which accepts them is found out.
    """

    def axis(f: Fact) -> str:
        return "" if "how_many" in f.payload else AXIS.get(f.kind, "")

    pairs = product(enumerate(facts), repeat=2)
    return [
        (i, j)
        for (i, a), (j, b) in pairs
        if i != j and axis(a) and axis(a) == axis(b) and (a.last, a.root) < (b.last, b.root)
    ]


def replay(
    subject: str,
    facts: Sequence[Fact],
    days: Sequence[int],
    homes: Mapping[str, str],
    bound: Sequence[tuple[int, int]] = (),
    counts_first: bool = False,
) -> Timeline | None:
    """The timeline of one choice of days, or None where it cannot have been so."""
    order = sorted(
        range(len(facts)), key=lambda i: (days[i], rank(facts[i], subject, counts_first), facts[i].last, facts[i].root)
    )
    w = World(subject, homes)
    out: Timeline = []
    for day, group in groupby(order, key=lambda i: days[i]):
        told = _day(w, facts, list(group), bound)
        if told is None:
            return None
        w = told
        if not all(_found_for(out, day, *found) for found in w.later):
            return None
        w.later = []
        out.append((day, w.cells(), w.everywhere()))
    return out


def _found_for(out: Timeline, counted: int, text: str, cells: Counter[Any], account: Counter[str]) -> bool:
    """What a count found, on the day it stands for and all days since; False where it cannot have been so."""
    day = date.fromisoformat(text).toordinal()
    if not any(cells.values()):
        return True
    before = [line for line in out if line[0] <= day]
    if not before or day >= counted:
        return False
    if before[-1][0] < day:
        out.insert(len(before), (day, *before[-1][1:]))
    for k, (on, stood, places) in enumerate(out):
        if on >= day:
            now, there = Counter(stood), Counter(places)
            now.update(cells)
            there.update(account)
            for cell, n in cells.items():
                there[cell[2]] += n
            if min(now.values(), default=0) < 0:
                return False
            out[k] = (on, {c: n for c, n in now.items() if n}, {c: n for c, n in there.items() if n})
    return True


def _day(w: World, facts: Sequence[Fact], group: list[int], bound: Sequence[tuple[int, int]]) -> World | None:
    """The order of the day; where that cannot be, the first order that can (the stays say so)."""
    orders: Iterator[Any] = iter([group]) if len(group) > 5 else permutations(group)
    for order in orders:
        if any(a in order and b in order and order.index(a) > order.index(b) for a, b in bound):
            continue
        now = w.copy()
        try:
            for i in order:
                do(now, facts[i].kind, facts[i].payload)
        except No:
            continue
        return now
    return None


def tell(subject: str, facts: Sequence[Fact], homes: Mapping[str, str], counts_first: bool = False) -> Told | None:
    """Every world of a subject; None where there are too many to try. No world at all: `worlds` is empty."""
    facts = restated(facts)
    number = 1
    for f in facts:
        number *= f.last - f.first + 1
        if number > CAP:
            return None
    bound = claims(facts)
    latest, earliest = [0] * len(facts), [10**9] * len(facts)
    worlds: list[Timeline] = []
    for days in product(*[range(f.first, f.last + 1) for f in facts]):
        line = replay(subject, facts, days, homes, bound, counts_first)
        if line is None:
            continue
        worlds.append(line)
        latest = [max(a, b) for a, b in zip(latest, days, strict=True)]
        earliest = [min(a, b) for a, b in zip(earliest, days, strict=True)]
    if not worlds:
        return Told(tuple(facts), tuple(latest), tuple(earliest), None, ())
    certain = replay(subject, facts, latest, homes, bound, counts_first)
    return Told(tuple(facts), tuple(latest), tuple(earliest), certain, tuple(worlds))
