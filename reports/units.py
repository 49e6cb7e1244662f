"""Social units as reports see them: who belonged to one and when, their order, their sizes, where the unit lived.

Members. An animal or lot belongs to a unit from the `since` of its association (else the day of the entry) to
before its `until`, on every day on which it stands in the water of the unit; away from it (lent, escaped, in the
hospital tank) it does not, and it does again when it is back. Days are last possible days, as everywhere.

The unit's water is the enclosure in which most of its members stand at the close of the day (of equals the one
it was in, at first the one it was entered with); the parts of the enclosure it was entered with are one water.

A lot that belongs to no unit, of a taxon whose females become male, is taken as a unit of its own, `assumed`.

Functional and immature. Young enter the book with sex unknown until examined (definition D23 of the design), so
members of unknown sex are the immature ones. An animal of known sex counts as adult unless its taxon carries a
`maturity_age` and even its earliest possible birth makes it younger.

Source: definitions D23, D25, D26 of the design; the water of a unit is derived.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names
from reports.papers import id_of

SEQUENTIAL: Final = {"male_first": "female", "female_first": "male", "some_born_male": "male"}  # system -> dominant sex
LENGTHS: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "mg": 0.001, "g": 1.0, "kg": 1000.0, "t": 1e6}
MEASURES: Final = ("length", "mass", "height")  # in the order they are preferred
_DAYS: Final = {"d": 1.0, "day": 1.0, "days": 1.0, "week": 7.0, "weeks": 7.0, "month": 30.4, "months": 30.4}
_YEARS: Final = {"a": 365.25, "y": 365.25, "year": 365.25, "years": 365.25}


class Days(NamedTuple):
    """First and last possible day; `low` is `date.min` where the start is open. It counts on `high`."""

    low: date
    high: date


class Unit(NamedTuple):
    """A social unit; `sort` as it was entered, empty where assumed. `id` is the lot's where assumed."""

    id: str
    code: str
    sort: str
    enclosure: str
    assumed: bool


class Member(NamedTuple):
    """An association: the subject belongs from `since` to before `until` (None: it goes on)."""

    subject: str
    since: Days
    until: Days | None
    event: int


class Order(NamedTuple):
    """A hierarchy as seen: groups of equals, highest first, and those it leaves unranked."""

    days: Days
    ranks: tuple[tuple[str, ...], ...]
    unranked: tuple[str, ...]
    basis: str

    def rank(self, subject: str) -> int | None:
        """The place of a subject, equals sharing the higher one; None where it is not ranked."""
        above = 0
        for group in self.ranks:
            if subject in group:
                return above + 1
            above += len(group)
        return None

    @property
    def n(self) -> int:
        """How many were ranked."""
        return sum(map(len, self.ranks))


class Size(NamedTuple):
    """A measurement: `value` in mm or g, `text` as it was entered."""

    days: Days
    measure: str
    value: float
    text: str


@dataclass(frozen=True)
class Units:
    """All that is known of units at a position. Keys are ids; lists are in the order of days, then of the log."""

    units: Mapping[str, Unit]
    members: Mapping[str, Sequence[Member]]  # by unit
    orders: Mapping[str, Sequence[Order]]  # by unit
    sizes: Mapping[str, Sequence[Size]]  # by subject
    births: Mapping[str, Days]  # by animal
    stands: Mapping[str, Sequence[Mapping[str, Any]]]  # by subject: rows of `Copy.spells`
    steps: Mapping[str, Sequence[Mapping[str, Any]]]  # by lot: lines of the journal
    parts: Callable[[str, str], str]  # (place, enclosure of a unit) -> that enclosure where the place is part of it
    taxa: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # by unit: taxa its members are or were


def read(copy: Copy, names: Names, asof: AsOf, more: Iterable[str] = ()) -> Units:
    """What is known at `asof.known` of the units, up to the day. `more`: subjects whose stands are wanted too."""
    units, members = _units(copy, names, asof.known)
    subjects = {m.subject for own in members.values() for m in own} | set(more)
    lots = _lots(copy, names, asof, {m.subject for own in members.values() for m in own})
    for lot in lots:
        units[lot] = Unit(lot, names.number(lot), "", "", assumed=True)
        members[lot] = [Member(lot, Days(date.min, date.min), None, 0)]
    subjects |= set(lots)
    stands: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in copy.spells(asof.known, sorted(subjects)).iter_rows(named=True):
        if row["since"] <= asof.on:
            stands[row["subject"]].append(row | {"taxon": names.united.get(row["taxon"], row["taxon"])})
    taxa = {
        unit: tuple(dict.fromkeys(row["taxon"] for m in own for row in stands.get(m.subject, ())))
        for unit, own in members.items()
    }
    return Units(
        units,
        members,
        _orders(copy, asof),
        _sizes(copy, asof),
        births(copy, asof.known, stands),
        stands,
        _lines(copy, names, asof, [s for s in sorted(subjects) if s.startswith("g-")]),
        _parts(names),
        taxa,
    )


def _units(copy: Copy, names: Names, known: int) -> tuple[dict[str, Unit], dict[str, list[Member]]]:
    units = {
        t.id: Unit(t.id, t.code, str(t.fields.get("sort") or ""), id_of(t.fields.get("enclosure")), assumed=False)
        for t in names.of("unit")
    }
    members: dict[str, list[Member]] = {unit: [] for unit in units}
    for event in copy.standing(("association",), known):
        p = event.payload
        unit = id_of(p.get("unit"))
        if p.get("relation") != "member" or unit not in units:
            continue
        own = Days(event.first or date.min, event.last)
        until = p.get("until")
        subject = id_of(p.get("animal")) or id_of(p.get("lot"))
        members[unit].append(
            Member(subject, days_of(p.get("since"), own) or own, days_of(until, None) if until else None, event.root)
        )
    return units, members


def days_of(text: Any, otherwise: Days | None) -> Days | None:
    """The possible days of an EDTF text; `otherwise` where it is none or its end is open."""
    if not isinstance(text, str):
        return otherwise
    value = parse(text)
    if isinstance(value.last, End):
        return otherwise
    return Days(date.min if isinstance(value.first, End) else date(*value.first), date(*value.last))


def _lots(copy: Copy, names: Names, asof: AsOf, in_units: set[str]) -> list[str]:
    """Lots of taxa whose females become male that belong to no unit and stand in an enclosure on the day."""
    taxa = [t.id for t in names.of("taxon") if t.fields.get("sexual_system") == "female_first"]
    if not taxa:
        return []
    cells = copy.cells(asof)
    mine = pl.col("taxon").replace(names.united) if names.united else pl.col("taxon")
    there = cells.filter(
        pl.col("subject").str.starts_with("g-") & mine.is_in(taxa) & pl.col("place").str.starts_with("e-")
    )
    return sorted(set(there["subject"]) - in_units - set(names.uncounted))


def _orders(copy: Copy, asof: AsOf) -> dict[str, list[Order]]:
    out: dict[str, list[Order]] = defaultdict(list)
    for event in sorted(copy.standing(("hierarchy",), asof.known), key=lambda e: (e.last, e.root)):
        if event.last > asof.on:
            continue
        ranks = tuple(
            tuple(id_of(one) for one in (group if isinstance(group, list) else [group]))
            for group in event.payload.get("order", [])
        )
        unranked = tuple(id_of(one) for one in event.payload.get("unranked") or ())
        basis = str(event.payload.get("basis") or "")
        out[id_of(event.payload.get("unit"))].append(
            Order(Days(event.first or date.min, event.last), ranks, unranked, basis)
        )
    return out


def _sizes(copy: Copy, asof: AsOf) -> dict[str, list[Size]]:
    paths = {k: f"$.{k}" for k in ("measure", "value", "mean", "unit")}
    told = copy.told(["measurement"], {"a": "$.animal.id", "g": "$.lot.id", **paths}, asof.known)
    out: dict[str, list[Size]] = defaultdict(list)
    for row in told.sort("last_day", "root").iter_rows(named=True):
        value = row["value"] or row["mean"]
        if row["last_day"] > asof.on or row["measure"] not in MEASURES or value is None:
            continue
        days = Days(row["first_day"] or date.min, row["last_day"])
        text = f"{value} {row['unit']}"
        out[row["a"] or row["g"]].append(Size(days, row["measure"], float(value) * LENGTHS[row["unit"]], text))
    return out


def births(copy: Copy, known: int, stands: Mapping[str, Sequence[Mapping[str, Any]]]) -> dict[str, Days]:
    """Possible days of birth by animal: as entered, narrowed by the fold where the birth itself is an entry."""
    paths = {"a": "$.animal.id", "born": "$.born", "hatched_on": "$.hatched_on"}
    kinds = ["opening", "hatching", "birth", "acquisition", "transfer", "outside_animal"]
    out: dict[str, Days] = {}
    told = copy.told(kinds, paths, known).filter(pl.col("a").is_in(list(stands)))
    for row in told.iter_rows(named=True):
        subject, own = row["a"], Days(row["first_day"] or date.min, row["last_day"])
        if row["kind"] in ("hatching", "birth"):
            first = next(iter(stands.get(subject, ())), None)
            if first is not None and row["root"] in first["since_events"]:
                own = Days(first["since_possible"], first["since"])
            out[subject] = days_of(row["hatched_on"], own) or own
        elif subject not in out and (stated := days_of(row["born"], None)):
            out[subject] = Days(stated.low, min(stated.high, own.high))
    return out


def _lines(copy: Copy, names: Names, asof: AsOf, lots: Sequence[str]) -> dict[str, list[dict[str, Any]]]:
    out: dict[str, list[dict[str, Any]]] = defaultdict(list)
    if lots:
        lines = copy.histories(lots, asof.on, asof.known).filter(pl.col("subject").is_in(list(lots)))
        for row in lines.iter_rows(named=True):
            out[row["subject"]].append(row | {"taxon": names.united.get(row["taxon"], row["taxon"])})
    return out


def _parts(names: Names) -> Callable[[str, str], str]:
    parents = dict(names.enclosures.select("place", "parent").iter_rows())

    def part(place: str, whole: str) -> str:
        at, seen = place, set[str]()
        while whole and at and at not in seen:
            if at == whole:
                return whole
            seen.add(at)
            at = parents.get(at, "")
        return place

    return part


def adult_from(units: Units, names: Names, taxon: str) -> dict[str, date]:
    """By animal of the taxon: the first day on which it can be adult; animals that are not there always can."""
    fact = fact_of(names, taxon, "maturity_age")
    if fact is None:
        return {}
    least = timedelta(days=round(days_in(fact, fact.low)))
    return {a: born.low + least for a, born in units.births.items() if born.low > date.min}


class Fact(NamedTuple):
    """A fact of a taxon in use on the day: its widest range and who says so."""

    low: float
    high: float
    unit: str
    source: str


def days_in(fact: Fact, value: float) -> float:
    """A value of a fact in days; a unit that is no time is taken as days."""
    return value * (_DAYS | _YEARS).get(fact.unit, 1.0)


def fact_of(names: Names, taxon: str, fact: str) -> Fact | None:
    """The fact of that name that a taxon carries on the day of `names`; None where it carries none.

    Of several (under other conditions, from other sources) the widest range, and how many there are.
    """
    thing = names.thing(taxon)
    facts = (thing.fields.get("facts") or []) if thing else []
    own = [f for f in facts if f["fact"] == fact and (f.get("since") or "") <= names.asof.on.isoformat()]
    if not own:
        return None
    trust = str(own[0].get("trust") or "").replace("_", " ")
    source = trust if len(own) == 1 else f"{len(own)} sources"
    return Fact(min(float(f["low"]) for f in own), max(float(f["high"]) for f in own), str(own[0]["unit"]), source)
