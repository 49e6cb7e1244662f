"""Bonds as spells: who was paired with whom, from when to when, and what ended it. Shared by the reports on pairs.

Definition. A bond stands at the close of d iff `start <= d < end`. It starts with a pairing, on the last day it can
have been, or earlier where its end proves it; with the `since` of the entry where it stood already. What ends it: see
`reports/bond_ends.py`. A pairing of two whose bond stands already is the same bond. One that names an animal which
had left for good before is cut: no bond (`Bonds.cut`). Only what counts by the day asked about ends, suspends or
renews anything, so a history of last year stands whatever this year's entries say of this year.

Source: definitions D1 to D3 and D35 of the design (practice, derived).

Columns of `frame`: `pair` (position of the pairing), `taxon_id`, `a`, `b` (ids), `sex_a`, `sex_b` (at the start),
`basis`, `start`, `start_possible` (null: open), `end`, `end_possible` (null: stands), `ended_by` (died, released,
fed_out, joined_a_lot, left, back_alone, escaped, missing, sex_changed, parted, left_together; empty: stands), `who`
(list of ids), `cause` (of a parting), `events` (what ended it), `stop` (days count to the day before),
`stop_possible`, `same_sex_since` (both male or both female from then on, null: not), `nth_time` (of these two).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import End as Open
from ledger.dates import parse
from ledger.read import AsOf, Copy, Names
from reports.bond_ends import Parting, Question, Side, end_of
from reports.stretches import Stretch, breaks, first_after, standing_on, stretches

SEQUENTIAL: Final = ("male_first", "female_first", "some_born_male", "male_first_then_both")
_PAIRING: Final = {"a": "$.a.id", "b": "$.b.id", "basis": "$.basis", "since": "$.since"}
_PARTING: Final = {"a": "$.a.id", "b": "$.b.id", "by": "$.by.id", "cause": "$.cause"}
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(("pair",), pl.Int64),
    **dict.fromkeys(("taxon_id", "a", "b", "sex_a", "sex_b", "basis"), pl.String),
    **dict.fromkeys(("start", "start_possible", "end", "end_possible"), pl.Date),
    "ended_by": pl.String,
    "who": pl.List(pl.String),
    "cause": pl.String,
    "events": pl.List(pl.Int64),
    **dict.fromkeys(("stop", "stop_possible", "same_sex_since"), pl.Date),
    "nth_time": pl.Int64,
}


class Bond(NamedTuple):
    """One bond, its fields as the columns of the frame."""

    pair: int
    taxon_id: str
    a: str
    b: str
    sex_a: str
    sex_b: str
    basis: str
    start: date
    start_possible: date | None
    end: date | None
    end_possible: date | None
    ended_by: str
    who: tuple[str, ...]
    cause: str
    events: list[int]
    stop: date
    stop_possible: date
    same_sex_since: date | None
    nth_time: int

    @property
    def two(self) -> frozenset[str]:
        """Both ids."""
        return frozenset((self.a, self.b))

    def mate(self, subject: str) -> str:
        """The other of the two."""
        return self.b if subject == self.a else self.a

    def stands(self, day: date) -> bool:
        """At the close of the day, as far as it was seen."""
        return self.start <= day < self.stop


class Bonds(NamedTuple):
    """Bonds by start, the stretches of all they name, roots of pairings cut, bonds of each animal."""

    bonds: list[Bond]
    own: dict[str, list[Stretch]]
    cut: list[int]

    def of(self) -> dict[str, list[Bond]]:
        """The bonds of each animal, by start."""
        out: dict[str, list[Bond]] = defaultdict(list)
        for bond in self.bonds:
            out[bond.a].append(bond)
            out[bond.b].append(bond)
        return out


class _Pairing(NamedTuple):
    root: int
    a: str
    b: str
    basis: str
    first: date | None  # of the bond's start
    last: date
    entered: date  # the pairing's own first possible day
    stated: bool  # the start was said with `since`


def bonds(copy: Copy, names: Names, asof: AsOf) -> Bonds:
    """Every bond that had begun by the day, as known at the position."""
    pairings = _pairings(copy, names, asof)
    own = stretches(copy, asof, (subject for p in pairings for subject in (p.a, p.b)))
    with_whom: dict[str, list[tuple[date, str]]] = defaultdict(list)
    for p in pairings:
        with_whom[p.a].append((p.last, p.b))
        with_whom[p.b].append((p.last, p.a))
    sides = {
        subject: Side(subject, own.get(subject, []), breaks(own.get(subject, []), asof.on), mates)
        for subject, mates in with_whom.items()
    }
    partings = _partings(copy, asof)
    out: list[Bond] = []
    cut: list[int] = []
    before: dict[frozenset[str], list[Bond]] = defaultdict(list)
    for p in pairings:
        two = frozenset((p.a, p.b))
        if any(_gone_before(sides[subject].own, p, asof.on) for subject in two):
            cut.append(p.root)
            continue
        earlier = before[two]
        if earlier and (earlier[-1].end is None or earlier[-1].end > p.last):
            continue
        told = _of_this(partings.get(two, ()), p, earlier)
        bond = _bond(p, (sides[p.a], sides[p.b]), told, names, asof.on, len(earlier) + 1)
        if bond.start <= asof.on:
            earlier.append(bond)
            out.append(bond)
    return Bonds(sorted(out, key=lambda b: (b.start, b.pair)), own, cut)


def _partings(copy: Copy, asof: AsOf) -> dict[frozenset[str], list[Parting]]:
    out: dict[frozenset[str], list[Parting]] = defaultdict(list)
    for row in copy.told(("parting",), _PARTING, asof.known).iter_rows(named=True):
        told = Parting(row["root"], row["first_day"], row["last_day"], row["by"] or "", row["cause"] or "")
        out[frozenset((row["a"], row["b"]))].append(told)
    return out


def _of_this(partings: Sequence[Parting], p: _Pairing, earlier: Sequence[Bond]) -> list[Parting]:
    """The partings of two that can be of this bond: not before it, and none that ended an earlier one."""
    used = {event for bond in earlier for event in bond.events}
    since = max([p.first or p.last, *(bond.end for bond in earlier[-1:] if bond.end is not None)])
    return [q for q in partings if q.root not in used and q.last >= since]


def frame(found: Sequence[Bond]) -> pl.DataFrame:
    """Bonds as a frame; columns as said above."""
    return pl.DataFrame(list(found), schema=SCHEMA, orient="row")


def _pairings(copy: Copy, names: Names, asof: AsOf) -> list[_Pairing]:
    out = []
    for row in copy.told(("pairing",), _PAIRING, asof.known).iter_rows(named=True):
        first, last = row["first_day"], row["last_day"]
        begun = (first, last)
        if row["since"]:
            begun = said(row["since"], last, names)
        entered = first or last
        if (begun[0] or begun[1]) <= asof.on and entered <= asof.on:
            ids = (row["a"] or "", row["b"] or "", row["basis"] or "")
            out.append(_Pairing(row["root"], *ids, *begun, entered, bool(row["since"])))
    return sorted(out, key=lambda p: (p.last, p.root))


def said(text: str, latest: date, names: Names) -> tuple[date | None, date]:
    """First (None: open) and last possible day of a date inside a payload, the last not after `latest`."""
    value = parse(text, hemisphere="south" if names.book.get("hemisphere") == "south" else "north")
    first = None if isinstance(value.first, Open) else date(*value.first)
    last = latest if isinstance(value.last, Open) else min(date(*value.last), latest)
    return (None if first is None else min(first, last)), last


def _gone_before(own: Sequence[Stretch], p: _Pairing, on: date) -> bool:
    """Whether an animal had left for good before it can have been paired: its facts are cut at the departure."""
    ends = [s.until if s.until is not None and s.until <= on else None for s in own]
    last = ends[-1] if ends else None
    return bool(ends) and last is not None and last < p.entered


def _bond(p: _Pairing, two: tuple[Side, Side], told: Sequence[Parting], names: Names, on: date, nth: int) -> Bond:
    a, b = two
    at = [s for side in (a, b) if (s := first_after(side.own, p.last)) is not None]
    taxon = names.accepted(at[0].taxon) if at else ""
    thing = names.thing(taxon)
    fields = thing.fields if thing else {}
    first = p.first
    if not p.stated:  # nobody pairs before both are there
        came = [side.own[0].since_possible for side in (a, b) if side.own]
        first = min(max([p.entered, *came]), p.last)
    question = Question(
        p.last,
        first or p.last,
        fields.get("mates") == "one",
        fields.get("sexual_system") in SEQUENTIAL,
        on,
        on + timedelta(days=1),
    )
    end = end_of(question, a, b, told)
    start = min(p.last, end.stop)
    sexes = [s.sex if (s := first_after(side.own, start)) is not None else "unknown" for side in (a, b)]
    same = _same_sex_since(a, b, start, end.stop)
    ids = (p.root, taxon, p.a, p.b, sexes[0], sexes[1], p.basis)
    days = (start, first if first is None else min(first, start), end.day, end.possible)
    return Bond(*ids, *days, end.how, end.who, end.cause, end.events, end.stop, end.stop_possible, same, nth)


def _same_sex_since(a: Side, b: Side, start: date, stop: date) -> date | None:
    """From which day on both were of one known sex, to the last day the bond was seen; None where they were not."""
    last = max(start, stop - timedelta(days=1))
    ends = [standing_on(side.own, last) for side in (a, b)]
    if any(s is None for s in ends) or len({s.sex for s in ends if s}) != 1:
        return None
    sex = next(s.sex for s in ends if s)
    if sex not in ("male", "female"):
        return None
    since = start
    for side in (a, b):
        other = [s.until for s in side.own if s.sex != sex and s.until is not None and start < s.until <= last]
        since = max([since, *other])
    return since
