"""What the entries of a brood say, put together as of a day: the brood itself, checks, moves, its end, and who reared.

Entries count from their last possible day. A later entry stands over an earlier one where both say the same thing;
losses, and eggs sent or received, add up. The eggs laid are the most that any entry proves: its count, with all that
had hatched, was lost or sent by then, less what was received. Figures are integers, days dates, the rest ids and words.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, NamedTuple

from ledger.read import AsOf, Copy, Names
from ledger.read.copy import Standing
from ledger.read.numbers import id_of
from reports.carers import Care, carers
from reports.young import Span, Young, span

KINDS: Final = ("brood", "brood_check", "brood_move", "brood_end")
EXACT: Final = "exact"
NOT_KNOWN: Final = "not_known"
_MATED: Final = ("mating", "egg_transfer", "spawning")
_SEEN: Final = ("seen", "courtship")  # bases of a start that somebody saw, whenever it was entered
_FOUND: Final = ("first_seen_carrying", "counted_back")
_DAYS: Final = {"w": 7, "week": 7, "weeks": 7}


class Pair(NamedTuple):
    """Possible parents, ids or "", with the weight of the pair; the weights of a brood sum to 1 at most."""

    dam: str
    sire: str
    weight: Fraction


@dataclass(frozen=True)
class Entries:
    """One brood as told.

    `start`: possible days of its start; `found`: of the entry that opened it, `found_late` where it had begun before.
    `laid_last`: possible days of the last egg, where the clutch was said to be complete.
    `eggs` laid, `exact` or the least; `lost` by how; `end`: the day of its brood end. `days`: of all entries about it.
    `mated`: its start was seen. `young_seen`: most young alive counted before they entered the book.
    """

    code: str
    taxon: str
    mode: str
    pairs: tuple[Pair, ...]
    start: Span
    found: Span
    draw: str = ""
    social_mate: str = ""
    start_basis: str = ""
    nest: str = ""
    host: str = ""
    enclosure: str = ""
    found_late: bool = False
    mated: bool = False
    eggs: int | None = None
    exact: bool = False
    counted_on: date | None = None
    complete: date | None = None
    laid_last: Span | None = None
    fertile: int | None = None
    infertile: int = 0
    unhatched: int = 0
    stillborn: int = 0
    lost: Mapping[str, int] = field(default_factory=dict)
    sent: int = 0
    sent_all: bool = False
    sent_on: date | None = None
    received: int = 0
    young_seen: int = 0
    first_young: Span | None = None
    last_young: Span | None = None
    independent: date | None = None
    temperature: tuple[Decimal, Decimal] | None = None
    end: date | None = None
    cares: tuple[Care, ...] = ()
    days: tuple[date, ...] = ()

    @property
    def last_day(self) -> date:
        """The day of the newest entry about it."""
        return max(self.days, default=self.start[1])

    @staticmethod
    def of_young(code: str, one: Young) -> Entries:
        """A brood of which nothing is told but that young came of it."""
        pairs = (Pair(one.dam, one.sire, Fraction(1)),) if one.dam or one.sire else ()
        return Entries(code, one.taxon, "", pairs, one.born, one.entered, enclosure=one.enclosure)


def read(copy: Copy, names: Names, asof: AsOf, born: Sequence[Young]) -> dict[str, Entries]:
    """Every brood begun by the close of `asof.on`, as known, by brood. `born`: the young there are by then."""
    hemisphere = str(names.book.get("hemisphere") or "north")
    told: dict[str, list[Standing]] = defaultdict(list)
    opened: dict[str, Standing] = {}
    for event in copy.standing(KINDS, asof.known):
        brood = id_of(event.payload.get("brood"))
        if event.kind == "brood":
            opened[brood] = event
        elif event.last <= asof.on:
            told[brood].append(event)
    of: dict[str, list[Young]] = defaultdict(list)
    for one in born:
        if len(one.broods) == 1:
            of[one.broods[0]].append(one)
    mated = _mated(copy, asof.known)
    out: dict[str, Entries] = {}
    for brood, event in opened.items():
        begun = _opened(event, hemisphere, mated)
        if begun.start[1] > asof.on:
            continue
        entries = sorted(told.get(brood, ()), key=lambda e: (_day(e, hemisphere), e.root))
        out[brood] = _Telling(begun, of.get(brood, []), hemisphere, asof.on).told(event, entries)
    moves = {brood: [e for e in events if e.kind == "brood_move"] for brood, events in told.items()}
    spells = carers(copy, asof, hemisphere, {brood: (opened[brood], e) for brood, e in out.items()}, moves, of)
    return {brood: replace(entries, cares=spells.get(brood, ())) for brood, entries in out.items()}


def _mated(copy: Copy, known: int) -> set[str]:
    """Courtships in which it was seen that they mated or spawned, or eggs passed: all ids their lines ever had."""
    frame = copy.told(("courtship",), {"act": "$.act"}, known)
    roots = {root for root, act in frame.select("root", "act").iter_rows() if act in _MATED}
    return {event for event, root in copy.ids().items() if root in roots} if roots else set()


def _opened(event: Standing, hemisphere: str, mated: set[str]) -> Entries:
    p = event.payload
    occurred = (event.first or event.last, event.last)
    start = span(p.get("started"), hemisphere, event.last) or occurred
    basis = str(p.get("start_basis") or "")
    seen = basis == "seen" or str(p.get("courtship") or "") in mated
    return Entries(
        code=str(p["brood"].get("as") or id_of(p["brood"])),
        taxon=id_of(p.get("taxon")),
        mode=str(p.get("mode") or ""),
        pairs=pairs_of(p),
        start=start,
        found=occurred,
        draw=str(p.get("draw") or ""),
        social_mate=id_of(p.get("social_mate")),
        start_basis=basis,
        nest=str(p.get("nest") or ""),
        host=id_of(p.get("host")) or id_of(p.get("host_lot")),
        enclosure=id_of(p.get("enclosure")),
        found_late=basis in _FOUND or (start[1] < occurred[0] and basis not in _SEEN),
        mated=seen,
    )


def pairs_of(payload: Mapping[str, Any]) -> tuple[Pair, ...]:
    """Possible parents of a payload: the sure ones, or its pairs; none where nothing is said."""
    told = payload.get("parents")
    if told:
        return tuple(Pair(id_of(p.get("dam")), id_of(p.get("sire")), Fraction(str(p["weight"]))) for p in told)
    dam, sire = id_of(payload.get("dam")), id_of(payload.get("sire"))
    return (Pair(dam, sire, Fraction(1)),) if dam or sire else ()


def _day(event: Standing, hemisphere: str) -> date:
    """The day an entry about eggs speaks of."""
    counted = span(event.payload.get("counted_on"), hemisphere, event.last)
    return counted[1] if counted else event.last


class _Telling:
    """One brood, entry by entry in the order of the days they speak of."""

    def __init__(self, begun: Entries, born: Sequence[Young], hemisphere: str, on: date) -> None:
        self.begun, self.born, self.hemisphere, self.on = begun, born, hemisphere, on
        self.out: dict[str, Any] = {}
        self.lost: dict[str, int] = defaultdict(int)
        self.sent = self.received = 0
        self.counts: list[tuple[int, bool, date]] = []  # eggs laid as each count proves, whether exactly, on which day
        self.warm: list[Decimal] = []

    def told(self, opening: Standing, entries: Iterable[Standing]) -> Entries:
        """The brood as of the day."""
        days = []
        for event in (opening, *entries):
            day = _day(event, self.hemisphere)
            if day <= self.on:
                days.append(event.last)
                self._entry(event.kind, event.payload, day)
        self._eggs()
        if self.warm:
            self.out["temperature"] = (min(self.warm), max(self.warm))
        return replace(
            self.begun, **self.out, lost=dict(self.lost), sent=self.sent, received=self.received, days=tuple(days)
        )

    def _entry(self, kind: str, p: Mapping[str, Any], day: date) -> None:
        if p.get("lost") and p.get("what", "eggs") == "eggs":
            self.lost[str(p.get("how") or NOT_KNOWN)] += int(p["lost"])
        if kind == "brood_move":
            self._moved(p, day)
        if p.get("eggs") is not None:
            self.counts.append((int(p["eggs"]) + self._gone(day) - self.received, p.get("eggs_are") == EXACT, day))
        self._tested(p, day)
        self._seen(p)
        if p.get("clutch_complete"):
            self.out.setdefault("complete", day)
        if p.get("independent"):
            self.out.setdefault("independent", day)
        if kind == "brood_end":
            self.out["end"] = day

    def _tested(self, p: Mapping[str, Any], day: date) -> None:
        """Fertility: what is not fertile of the eggs there were is infertile, where that is not said itself."""
        if p.get("fertile") is not None:
            self.out["fertile"] = int(p["fertile"])
            there = int(p["eggs"]) if p.get("eggs") is not None else self._there(day)
            self.out["infertile"] = max(0, there - self.out["fertile"])
        for name in ("infertile", "unhatched"):
            if p.get(name) is not None:
                self.out[name] = int(p[name])

    def _seen(self, p: Mapping[str, Any]) -> None:
        """Young, and under what warmth."""
        if p.get("stillborn"):
            self.out["stillborn"] = sum(int(n) for n in p["stillborn"].values())
        if p.get("young") is not None:
            self.out["young_seen"] = max(self.out.get("young_seen", 0), int(p["young"]))
        for name in ("first_young", "last_young"):
            if p.get(name):
                self.out[name] = span(p[name], self.hemisphere, self.on)
        if p.get("temperature") is not None:
            self.warm.append(Decimal(str(p["temperature"])))

    def _gone(self, day: date) -> int:
        """Eggs that were lost or sent by a day, or had hatched."""
        return sum(self.lost.values()) + self.sent + sum(y.live for y in self.born if y.entered[1] <= day)

    def _there(self, day: date) -> int:
        """Eggs there are by the newest count, less what has gone since."""
        if not self.counts:
            return 0
        return max(0, max(c[0] for c in self.counts) + self.received - self._gone(day))

    def _moved(self, p: Mapping[str, Any], day: date) -> None:
        if p.get("what", "eggs") != "eggs":
            return
        if p.get("from_party"):
            self.received += int(p.get("how_many") or 0)
        elif p.get("to_party"):
            self.out["sent_on"] = day
            self.sent += int(p.get("how_many") or 0)
            self.out["sent_all"] = self.out.get("sent_all", False) or p.get("how_many") is None

    def _eggs(self) -> None:
        if not self.counts:
            return
        most = max(n for n, _, _ in self.counts)
        exact = [day for n, sure, day in self.counts if n == most and sure]
        day = min(exact) if exact else min(day for n, _, day in self.counts if n == most)
        self.out |= {"eggs": most, "exact": bool(exact), "counted_on": day}
        complete = self.out.get("complete")
        if complete is not None:
            fewer = [d for n, sure, d in self.counts if sure and n < most and d < complete]
            first = max(fewer) + timedelta(days=1) if fewer else self.begun.start[0]
            self.out["laid_last"] = (min(max(first, self.begun.start[0]), complete), complete)


def fact(names: Names, copy: Copy, taxon: str, word: str, day: date) -> tuple[float, float, str, str] | None:
    """Low, high (days), condition and source of a taxon's fact, the newest in force on a day; None where there is none.

    Several of one day, as under several conditions, are taken together: the least, the most, all conditions.
    """
    thing = names.thing(names.accepted(taxon))
    told = [f for f in (thing.fields.get("facts") or () if thing else ()) if f.get("fact") == word]
    told = [f for f in told if str(f.get("since") or "") <= day.isoformat()]
    if not told:
        return None
    newest = max(str(f.get("since") or "") for f in told)
    told = [f for f in told if str(f.get("since") or "") == newest]
    times = [_DAYS.get(str(f["unit"]), 1) for f in told]
    low = min(float(f["low"]) * k for f, k in zip(told, times, strict=True))
    high = max(float(f["high"]) * k for f, k in zip(told, times, strict=True))
    texts = (_texts(copy, [f.get(name) for f in told]) for name in ("condition", "source"))
    return (low, high, *texts)  # type: ignore[return-value]


def _texts(copy: Copy, told: Iterable[Any]) -> str:
    return "; ".join(
        dict.fromkeys(t for t in (copy.text(v) if isinstance(v, dict) else str(v or "") for v in told) if t)
    )
