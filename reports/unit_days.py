"""A social unit day by day: who was in it at each close, where it lived, and what every event brought or took.

Definition. A day has a moment where the members of the unit, of one taxon, changed: by steps of the animals
themselves, by their associations, or because the unit moved on without them. What came and went is told by event
for lots, so that a male that dies and a female that becomes male on one day are two flows and not none.

Source: definitions D26 and D28 of the design; members and the water of a unit as in `reports/units.py`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from reports.units import Days, Member, Unit, Units

STAYING: Final = ("sexed", "sex_changed", "re_sexed")  # reasons that change a sex and let nobody go
Present = Mapping[str, Mapping[str, int]]  # subject -> sex -> how many


class Flow(NamedTuple):
    """`n` of one sex came into the unit (above zero) or went out of it, by one event (0 where none says so)."""

    subject: str
    sex: str
    n: int
    reason: str  # a word of `ledger.words.REASONS`, or joined_unit, left_unit, unit_moved
    event: int
    days: Days


class Moment(NamedTuple):
    """A day on which something about a unit changed, and how it stood at its close."""

    day: date
    home: str  # enclosure; empty where nobody is left
    present: Present
    flows: tuple[Flow, ...]


def timeline(units: Units, unit: str, taxon: str, on: date, more: Iterable[date] = ()) -> list[Moment]:
    """Every day up to `on` on which the members of a unit that are of a taxon changed; `more` days are put in too."""
    telling = _Telling(units, units.units[unit], taxon)
    days = {d for d in (*telling.days(), *more) if d <= on}
    return [telling.close(day) for day in sorted(days)]


class _Telling:
    """Tells a unit day by day, in the order of days."""

    def __init__(self, units: Units, unit: Unit, taxon: str) -> None:
        self.units, self.unit, self.taxon = units, unit, taxon
        self.members: dict[str, list[Member]] = defaultdict(list)
        for member in units.members[unit.id]:
            self.members[member.subject].append(member)
        self.rows = [
            row
            for subject in self.members
            for row in units.stands.get(subject, ())
            if row["taxon"] == taxon and row["place"].startswith("e-")
        ]
        self.begin: dict[date, list[Mapping[str, Any]]] = defaultdict(list)
        self.cease: dict[date, list[Mapping[str, Any]]] = defaultdict(list)
        for row in self.rows:
            self.begin[row["since"]].append(row)
            if row["until"] is not None:
                self.cease[row["until"]].append(row)
        self.lines: dict[tuple[str, date], list[Mapping[str, Any]]] = defaultdict(list)
        for lot in self.members:
            for line in units.steps.get(lot, ()):
                self.lines[lot, line["counts_on"]].append(line)
        self.now: dict[str, Counter[tuple[str, str]]] = defaultdict(Counter)  # subject -> (water, sex) -> n
        self.home, self.present, self.inside = unit.enclosure, {}, set[str]()  # type: tuple[str, Any, set[str]]

    def days(self) -> set[date]:
        spans = [d for own in self.members.values() for m in own for d in (m.since, m.until) if d]
        return {*self.begin, *self.cease, *(d.high for d in spans if d.high > date.min)}

    def water(self, place: str) -> str:
        return self.units.parts(place, self.unit.enclosure)

    def close(self, day: date) -> Moment:
        """The close of a day, and what came and went on it."""
        for rows, sign in ((self.cease.get(day, ()), -1), (self.begin.get(day, ()), 1)):
            for row in rows:
                self.now[row["subject"]][self.water(row["place"]), row["sex"]] += sign * row["n"]
        inside = {s for s, own in self.members.items() if any(_covers(m, day) for m in own)}
        home = self._home(inside)
        present: dict[str, dict[str, int]] = {}
        for subject in sorted(inside):
            counts = {sex: n for (at, sex), n in self.now[subject].items() if at == home and n > 0}
            if counts:
                present[subject] = counts
        flows = [
            flow
            for subject in sorted({*self.present, *present})
            for flow in self._flows(subject, day, home, present, inside)
        ]
        self.home, self.present, self.inside = home or self.home, present, inside
        return Moment(day, home, present, tuple(sorted(flows, key=lambda f: (f.event, f.subject, f.sex))))

    def _home(self, inside: set[str]) -> str:
        weights: Counter[str] = Counter()
        for subject in inside:
            for (at, _), n in self.now[subject].items():
                weights[at] += n
        best = max(weights.values(), default=0)
        if best <= 0:
            return ""
        return min((at for at, n in weights.items() if n == best), key=lambda at: (at != self.home, at))

    def _flows(self, subject: str, day: date, home: str, present: Present, inside: set[str]) -> list[Flow]:
        was, now = self.present.get(subject, {}), present.get(subject, {})
        if subject in self.units.steps and subject in self.inside and subject in inside and home in ("", self.home):
            return self._lot_flows(subject, day, self.home)
        out = []
        for sex in sorted({*was, *now}):
            n = now.get(sex, 0) - was.get(sex, 0)
            if n:
                reason, event, days = self._why(subject, sex, day, home, into=n > 0)
                out.append(Flow(subject, sex, n, reason, event, days))
        return out

    def _lot_flows(self, lot: str, day: date, home: str) -> list[Flow]:
        """What each event did to a lot that stayed in the unit, even where two cancel."""
        sums: dict[tuple[int, str], tuple[int, str, date]] = {}
        for line in self.lines.get((lot, day), ()):
            if line["taxon"] == self.taxon and self.water(line["place"]) == home:
                key = (line["effect"], line["sex"])
                n, _, low = sums.get(key, (0, "", day))
                sums[key] = (n + line["delta"], line["reason"], min(low, line["could_from"]))
        return [
            Flow(lot, sex, n, reason, event, Days(low, day)) for (event, sex), (n, reason, low) in sums.items() if n
        ]

    def _why(self, subject: str, sex: str, day: date, home: str, *, into: bool) -> tuple[str, int, Days]:
        """Reason, event and possible days of a coming or going: a step of the animal, else of its association."""
        edge, side = ("since", self.begin) if into else ("until", self.cease)
        water = home if into else self.home
        for row in side.get(day, ()):
            if row["subject"] == subject and row["sex"] == sex and self.water(row["place"]) == water:
                return row[f"{edge}_reason"], max(row[f"{edge}_events"]), Days(row[f"{edge}_possible"], day)
        for member in self.members[subject]:
            at = member.since if into else member.until
            if at is not None and at.high == day:
                return "joined_unit" if into else "left_unit", member.event, at
        return "unit_moved", 0, Days(day, day)


def _covers(member: Member, day: date) -> bool:
    return member.since.high <= day and (member.until is None or day < member.until.high)


def last_leaving(moments: Sequence[Moment]) -> date | None:
    """The last day on which somebody left; a change or finding of sex lets nobody go."""
    return max((m.day for m in moments if any(f.n < 0 and f.reason not in STAYING for f in m.flows)), default=None)


def at(moments: Sequence[Moment], day: date) -> Moment | None:
    """The newest moment up to a day; None where there is none."""
    return next((m for m in reversed(moments) if m.day <= day), None)
