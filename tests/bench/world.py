"""A seeded world of many houses: its events in the stored form, batch by batch, and as people type them.

200 houses, 2,000 taxa, 1,000 enclosures; animals and counted lots; twenty years of events. In a hundred events about
3 are recorded up to twenty days late, 2 supersede another and 1 strikes one out; a few dates are a month.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from heapq import heappop, heappush
from typing import Any, NamedTuple

from ledger.words import CROCKFORD

BEGIN, END = date(2004, 1, 1).toordinal(), date(2023, 12, 31).toordinal()
HOUSES, TAXA, TANKS, PARTIES = 200, 2_000, 5, 60
PERSON = {"person": "BK", "name": "A clerk"}
FIRST_HOUSE = {"house": "H000", "name": "House 0", "time_zone": "UTC", "hemisphere": "north"}
FILLED = frozenset(("holder", "owner", "standing"))  # what the book fills in: nobody types it
MAY_WAIT = ("move", "measurement", "death")


class Event(NamedTuple):
    """One event before it has a place in the log; `payload` as it stands in bytes."""

    kind: str
    edtf: str
    first: str
    last: str
    payload: dict[str, Any]
    event_id: str
    supersedes: str | None = None
    reason: str | None = None

    def typed(self) -> dict[str, Any]:
        """As a person types it."""
        payload = {k: _typed(v) for k, v in self.payload.items() if k not in FILLED}
        entry: dict[str, Any] = {"kind": self.kind, "occurred": self.edtf, "payload": payload}
        entry["event_id"] = self.event_id
        if self.supersedes:
            entry |= {"supersedes": self.supersedes, "reason": self.reason}
        return entry

    def content(self) -> dict[str, Any]:
        """The keys of its envelope that the entry decides."""
        return {
            "kind": self.kind,
            "version": 1,
            "occurred": {"edtf": self.edtf, "first": self.first, "last": self.last},
            "payload": self.payload,
            "source": None,
            "reason": {"code": self.reason} if self.reason else None,
            "observed_by": [],
            "supersedes": self.supersedes,
            "row_key": None,
            "event_id": self.event_id,
        }


class Batch(NamedTuple):
    """What is recorded at one instant."""

    at: str
    events: list[Event]


def _evening(day: int) -> str:
    return f"{date.fromordinal(day + 1).isoformat()}T20:00:00Z"


def _typed(value: Any) -> Any:
    if isinstance(value, dict) and value and set(value) <= {"as", "id"}:
        return value.get("as", value["id"])
    return value


class Animal:
    """A subject as the world knows it; `line`: the events that may still be corrected, newest id first."""

    __slots__ = ("counts", "day", "enclosure", "last", "mate", "ref", "sex", "taxon", "was")

    def __init__(self, ref: dict[str, str], taxon: int, enclosure: int, day: int) -> None:
        self.ref, self.taxon, self.enclosure, self.day = ref, taxon, enclosure, day
        self.sex = "unknown"
        self.counts: dict[str, int] | None = None  # of a lot
        self.was = enclosure  # where it stood before its last move
        self.mate: Animal | None = None  # it came with, and is not yet paired with
        self.last: tuple[str, Event] | None = None  # its newest event, with the id to supersede


class World:
    """Makes events; `share` lots among new subjects, `late` of all events come late."""

    def __init__(self, seed: int, first_house: str, *, late: float = 0.03, lots: float = 0.25) -> None:
        self.random = random.Random(seed)
        self.late, self.lots = late, lots
        self.ids: list[str] = []  # in the order in which a book has to make them
        self._first = first_house
        self._numbers = [0] * HOUSES  # a row of accession numbers a house
        self.living: list[Animal] = []
        self._newest: Animal | None = None  # of single animals
        self.register = self._register()

    # --- names ------------------------------------------------------------------------------------

    def _id(self, prefix: str) -> str:
        bits = self.random.getrandbits(50)
        made = prefix + "".join([CROCKFORD[(bits >> s) & 31] for s in range(0, 50, 5)])
        self.ids.append(made)
        return made

    def _event_id(self, day: int) -> str:
        drawn = self.random.getrandbits(74)
        high = ((day - 719_163) * 86_400_000 << 16) | 0x7000 | (drawn >> 62)
        text = f"{high:016x}{(2 << 62) | (drawn & ((1 << 62) - 1)):016x}"
        return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"

    def _made(self, kind: str, day: int, payload: dict[str, Any]) -> Event:
        text = date.fromordinal(day).isoformat()
        return Event(kind, text, text, text, payload, self._event_id(day))

    def _register(self) -> list[Event]:
        """Houses, enclosures, parties, taxa."""
        day = date(1990, 1, 1).toordinal()
        out: list[Event] = []
        self.houses = [{"as": "H000", "id": self._first}]
        for n in range(1, HOUSES):
            self.houses.append({"as": f"H{n:03}", "id": self._id("h-")})
            named = {"name": f"House {n}", "time_zone": "UTC", "hemisphere": "north"}
            out.append(self._made("house", day, {"house": self.houses[n], **named}))
        self.tanks: list[dict[str, str]] = []
        for n in range(HOUSES * TANKS):
            self.tanks.append({"as": f"E{n:04}", "id": self._id("e-")})
            named = {"name": f"Tank {n}", "purpose": "exhibit", "house": self.houses[n // TANKS]}
            out.append(self._made("enclosure", day, {"enclosure": self.tanks[n], **named}))
        self.parties = [{"as": f"P{n:03}", "id": self._id("o-")} for n in range(PARTIES)]
        for n, party in enumerate(self.parties):
            out.append(self._made("party", day, {"party": party, "name": f"Party {n}", "sort": "institution"}))
        self.taxa: list[dict[str, str]] = []
        for n in range(TAXA):
            self.taxa.append({"as": f"Genus{n // 8} species{n}", "id": self._id("t-")})
            out.append(
                self._made(
                    "taxon",
                    day,
                    {"taxon": self.taxa[n], "rank": "species", "class": "Actinopterygii", "counted_in": "animals"},
                )
            )
        return out

    # --- the years --------------------------------------------------------------------------------

    def batches(self, events: int) -> Iterator[Batch]:
        """The register, then batches of at most 1,000 events or seven days until there are `events` in all."""
        size = 1_000
        for start in range(0, len(self.register), size):
            yield Batch("2003-12-31T12:00:00Z", self.register[start : start + size])
        left = events - len(self.register)
        rate, due = (END - BEGIN) / max(left, 1), float(BEGIN)
        waiting: list[tuple[int, int, Event]] = []
        batch: list[Event] = []
        opened = day = turn = 0
        while left > 0:
            due += rate
            if batch and (len(batch) == size or int(due) - opened >= 7):
                yield Batch(_evening(day), batch)
                batch = []
            day = int(due)
            opened = opened if batch else day
            if waiting and waiting[0][0] <= day:
                batch.append(heappop(waiting)[2])
                left -= 1
                continue
            event, one = self._next(day)
            if one is not None and event.kind in MAY_WAIT and self.random.random() < self.late * 2:
                turn += 1
                heappush(waiting, (day + self.random.randint(1, 12), turn, event))
                one.last = None
                continue
            if one is not None:
                one.last = (event.event_id, event)
            batch.append(event)
            left -= 1
        if batch:
            yield Batch(_evening(day), batch)

    def _next(self, day: int) -> tuple[Event, Animal | None]:
        """The next thing that happens, and the standing animal it happens to."""
        draw = self.random.random()
        if draw < 0.03:
            corrected = self._correction(day, strike=draw < 0.01)
            if corrected is not None:
                return corrected, None
        if draw < 0.20 or len(self.living) < 200:
            return self._arrival(day), None
        for _ in range(30):
            place = self.random.randrange(len(self.living))
            one = self.living[place]
            if one.day < day:
                one.day = day
                return (self._lot(one, day), None) if one.counts is not None else (self._animal(one, place, day), one)
        return self._arrival(day), None

    def _arrival(self, day: int) -> Event:
        rng = self.random
        taxon, tank = rng.randrange(TAXA), rng.randrange(len(self.tanks))
        house = self.houses[tank // TANKS]
        lot = rng.random() < self.lots
        mate = self._newest if not lot and rng.random() < 0.4 else None
        if mate is not None:
            taxon, tank = mate.taxon, mate.enclosure
            house = self.houses[tank // TANKS]
        self._numbers[tank // TANKS] += 1
        ref = {"as": f"{house['as']}-{self._numbers[tank // TANKS]:05}", "id": self._id("g-" if lot else "a-")}
        one = Animal(ref, taxon, tank, day)
        payload: dict[str, Any] = {"taxon": self.taxa[taxon], "enclosure": self.tanks[tank]}
        payload |= {"holder": house, "owner": house, "standing": "collection"}
        event = self._made("hatching", day, payload)
        if lot:
            one.counts = {"m": rng.randint(2, 30), "f": rng.randint(2, 30), "u": rng.randint(50, 1_500)}
            payload |= {"lot": ref, "how_many": dict(one.counts)}
        else:
            payload |= {"animal": ref, "sex": "unknown"}
            if date.fromordinal(day).day <= 10 and rng.random() < 0.15:  # born some time in the month before
                event = self._in_month(event, day)
            one.last = (event.event_id, event)
            one.mate, self._newest = mate, one if mate is None else None
        self.living.append(one)
        return event

    def _in_month(self, event: Event, day: int) -> Event:
        last = date.fromordinal(day).replace(day=1).toordinal() - 1
        month = date.fromordinal(last)
        return event._replace(
            edtf=month.isoformat()[:7], first=month.replace(day=1).isoformat(), last=month.isoformat()
        )

    def _animal(self, one: Animal, place: int, day: int) -> Event:
        draw = self.random.random()
        mate = one.mate
        if mate is not None and mate.day < day and mate.ref:
            one.mate, mate.day, mate.last = None, day, None
            pair = {"a": one.ref, "b": mate.ref, "basis": "introduced"}
            return self._made("pairing", day, pair)
        if draw < 0.42:
            house = one.enclosure // TANKS
            one.was = one.enclosure
            one.enclosure = house * TANKS + (one.enclosure + 1 + self.random.randrange(TANKS - 1)) % TANKS
            event = self._made("move", day, {"animal": one.ref, "to": self.tanks[one.enclosure]})
        elif draw < 0.60 and one.sex == "unknown":
            one.sex = self.random.choice(("male", "female"))
            event = self._made("sexing", day, {"animal": one.ref, "to": one.sex, "evidence": "examination"})
        elif draw < 0.80:
            figure = {"measure": "length", "value": str(self.random.randint(3, 90)), "unit": "cm"}
            event = self._made("measurement", day, {"animal": one.ref, **figure})
        else:
            self._leaves(place)
            ref, one.ref = one.ref, {}
            if draw < 0.96:
                event = self._made("death", day, {"animal": ref, "cause": "senescence"})
            else:
                to = self.random.choice(self.parties)
                sides = {"from": self.houses[one.enclosure // TANKS], "to": to, "terms": "sale", "owner": to}
                event = self._made("transfer", day, {"animal": ref, **sides})
        return event

    def _leaves(self, place: int) -> None:
        self.living[place] = self.living[-1]
        self.living.pop()

    def _lot(self, one: Animal, day: int) -> Event:
        assert one.counts is not None
        tank = self.tanks[one.enclosure]
        draw, sex = self.random.random(), self.random.choice("mfu")
        if draw < 0.6 and one.counts.get(sex, 0) > 3:
            n = self.random.randint(1, min(3, one.counts[sex] - 2))
            one.counts[sex] -= n
            dead = {"how_many": {sex: n}, "from": tank, "cause": "not_determined"}
            return self._made("death", day, {"lot": one.ref, **dead})
        if draw < 0.7:
            house = one.enclosure // TANKS
            one.enclosure = house * TANKS + (one.enclosure + 1) % TANKS
            return self._made("move", day, {"lot": one.ref, "to": self.tanks[one.enclosure]})
        if draw < 0.85 and one.counts.get("u", 0) > 20:
            one.counts["u"] -= self.random.randint(0, 2)
        seen = {s: n for s, n in one.counts.items() if n}
        return self._made("count", day, {"lot": one.ref, "how_many": seen, "enclosure": tank})

    # --- corrections --------------------------------------------------------------------------------

    def _correction(self, day: int, *, strike: bool) -> Event | None:
        """Of the newest event of a living animal: a move to elsewhere, a figure mended, a hatching a day earlier."""
        for _ in range(40):
            one = self.random.choice(self.living)
            if one.last is None or one.day >= day:
                continue
            newest, event = one.last
            if strike and event.kind == "measurement":
                one.last = None
                return event._replace(
                    kind="void", payload={}, event_id=self._event_id(day), supersedes=newest, reason="slip"
                )
            if strike:
                continue
            mended = self._mended(one, event)
            if mended is None:
                continue
            mended = mended._replace(event_id=self._event_id(day), supersedes=newest, reason="slip")
            one.last = (mended.event_id, mended)
            return mended
        return None

    def _mended(self, one: Animal, event: Event) -> Event | None:
        if event.kind == "measurement":
            return event._replace(payload={**event.payload, "value": str(int(event.payload["value"]) + 1)})
        if event.kind == "move":
            house = one.was // TANKS
            others = [n for n in range(house * TANKS, house * TANKS + TANKS) if n not in (one.was, one.enclosure)]
            one.enclosure = self.random.choice(others)
            return event._replace(payload={**event.payload, "to": self.tanks[one.enclosure]})
        if event.kind == "hatching" and len(event.edtf) == 10:
            text = date.fromordinal(date.fromisoformat(event.edtf).toordinal() - self.random.randint(1, 3)).isoformat()
            return event._replace(edtf=text, first=text, last=text)
        return None
