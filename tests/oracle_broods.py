"""Broods and their young by plain walking: a story told animal by animal, the five states worked out from its events.

`Story` plays at being a nursery. It knows every animal and its true days; what it records is what a keeper can see, so
some deaths are found only by a count. `plain` reads the events as written, without the journal, and says what became of
each hatching whose lot never held others.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from case_runner import WARNINGS
from told_books import Told, animal, entry

START = date(2025, 1, 1)
DAYS = 110
CHROMIS = "Chromis viridis"


def day(n: int) -> str:
    return (START + timedelta(days=n)).isoformat()


@dataclass
class Beast:
    """One true animal: of which hatching, born when, in which subject since when, dead or gone on which day."""

    hatching: int
    born: int
    at: str
    since: int
    dead: int | None = None
    left: int | None = None
    out: list[list[int]] = field(default_factory=list)  # escapes: day, and the day it was back

    @property
    def escaped(self) -> bool:
        return bool(self.out) and len(self.out[-1]) == 1

    @property
    def there(self) -> bool:
        return self.dead is None and self.left is None and not self.escaped


@dataclass
class Story:
    """A book of broods with the truth beside it. `hatchings`: label of each, by number."""

    seed: int
    today: int = 0
    beasts: list[Beast] = field(default_factory=list)
    silent: list[Beast] = field(default_factory=list)  # dead, and nobody has seen it
    lots: list[str] = field(default_factory=list)
    animals: list[str] = field(default_factory=list)
    hatchings: int = 0
    numbers: int = 0

    def __post_init__(self) -> None:
        self.rng = random.Random(self.seed)
        self.told = Told(
            animal("F1", "f", "2024-12-01", taxon=CHROMIS),
            animal("M1", "m", "2024-12-01", taxon=CHROMIS),
        )
        for n in range(3):
            self.write("brood", day(n), brood=f"B{n}", taxon=CHROMIS, dam="F1", sire="M1", mode="nest")

    def write(self, kind: str, occurred: str, **payload: Any) -> bool:
        """Record it today; True where it landed. `label` and keys that are no names of Python come as `also`."""
        also = payload.pop("also", {})
        one = {**entry(kind, occurred, **payload), **also, "recorded": f"{day(self.today)}T20:00:00Z"}
        return bool(self.told.run.batch(one, WARNINGS).landed)

    def new(self, letter: str) -> str:
        self.numbers += 1
        return f"{letter}{self.numbers}"

    def members(self, subject: str) -> list[Beast]:
        return [b for b in self.beasts if b.at == subject and b.there]

    def tell(self, steps: int) -> Story:
        """So many steps, then a last count of every lot, so that all silent deaths are found."""
        acts = (self.hatch, self.hatch, self.die, self.die, self.die_unseen, self.die_unseen, self.leave, self.split)
        acts += (self.draw, self.count, self.count, self.found_late, self.escape, self.join, self.recover)
        for _ in range(steps):
            self.today += self.rng.choice((0, 1, 1, 2, 3, 5))
            if self.today > DAYS:
                break
            self.rng.choice(acts)()
        self.today = max(self.today, DAYS) + 1
        for lot in self.lots:
            self.count(lot)
        return self

    # --- what happens ----------------------------------------------------------------------------

    def hatch(self) -> None:
        n, what = self.rng.randint(2, 9), self.rng.choice(("lot", "lot", "animal", "into"))
        begin = self.today - self.rng.choice((0, 0, 0, 2))
        occurred = day(self.today) if begin == self.today else f"{day(max(0, begin))}/{day(self.today)}"
        true = self.rng.randint(max(0, begin), self.today)
        facts: dict[str, Any] = {"taxon": CHROMIS, "enclosure": "N1"}
        if self.rng.random() < 0.8:
            facts["brood"] = f"B{self.rng.randrange(3)}"
        if what == "animal":
            n, at = 1, self.new("A")
            facts |= {"animal": at, "sex": "u"}
        elif what == "into" and self.lots:
            at = self.rng.choice(self.lots)
            facts |= {"into": at, "how_many": {"u": n}}
        else:
            at = self.new("G")
            facts |= {"lot": at, "how_many": {"u": n}}
        if self.write("hatching", occurred, also={"label": f"h{self.hatchings}"}, **facts):
            self.beasts += [Beast(self.hatchings, true, at, true) for _ in range(n)]
            self.hatchings += 1
            if what == "animal":
                self.animals.append(at)
            elif at not in self.lots:
                self.lots.append(at)

    def some(self, subjects: list[str], most: int = 4) -> tuple[str, list[Beast]]:
        """Some animals of one subject; none where it has none."""
        subject = self.rng.choice(subjects) if subjects else ""
        here = self.members(subject)
        return subject, self.rng.sample(here, self.rng.randint(1, min(most, len(here)))) if here else []

    def about(self, subject: str, n: int) -> dict[str, Any]:
        return {"animal": subject} if subject in self.animals else {"lot": subject, "how_many": n}

    def die(self) -> None:
        subject, dead = self.some(self.lots + self.animals)
        begin = self.today - self.rng.choice((0, 0, 3))
        true = self.rng.randint(begin, self.today)
        dead = [b for b in dead if b.since <= true]
        occurred = day(self.today) if begin == self.today else f"{day(max(0, begin))}/{day(self.today)}"
        if dead and self.write("death", occurred, **self.about(subject, len(dead))):
            for b in dead:
                b.dead = true

    def die_unseen(self) -> None:
        _, dead = self.some(self.lots)
        for b in dead:
            b.dead = self.today
            self.silent.append(b)

    def found_late(self) -> None:
        """A body that lay there: the death is entered for its true day."""
        if not self.silent:
            return
        b = self.rng.choice(self.silent)
        assert b.dead is not None
        if self.write("death", day(b.dead), lot=b.at, how_many=1):
            self.silent.remove(b)

    def leave(self) -> None:
        subject, gone = self.some(self.lots + self.animals)
        facts = {"to": "OSC", "terms": "donation", "also": {"from": "MS"}}
        if gone and self.write("transfer", day(self.today), **self.about(subject, len(gone)), **facts):
            for b in gone:
                b.left = self.today

    def escape(self) -> None:
        subject, gone = self.some(self.lots + self.animals, 2)
        if gone and self.write("escape", day(self.today), **self.about(subject, len(gone))):
            for b in gone:
                b.out.append([self.today])

    def recover(self) -> None:
        away = [b for b in self.beasts if b.escaped]
        if not away:
            return
        back = self.rng.choice(away)
        if self.write("recovery", day(self.today), **self.about(back.at, 1), enclosure="N1"):
            back.out[-1].append(self.today)

    def split(self) -> None:
        lot, some = self.some(self.lots)
        new = self.new("G")
        if some and self.write("split", day(self.today), lot=lot, new=new, how_many={"u": len(some)}):
            self.lots.append(new)
            self.passed(some, new)

    def draw(self) -> None:
        lot, some = self.some(self.lots, 1)
        new = self.new("A")
        if some and self.write("draw", day(self.today), lot=lot, new=new, sex="u"):
            self.animals.append(new)
            self.passed(some, new)

    def join(self) -> None:
        one, some = self.some(self.animals, 1)
        if some and self.lots and self.rng.random() < 0.5:
            lot = self.rng.choice(self.lots)
            if self.write("join", day(self.today), animal=one, into=lot):
                self.passed(some, lot)

    def passed(self, some: Iterable[Beast], at: str) -> None:
        for b in some:
            b.at, b.since = at, self.today

    def count(self, lot: str | None = None) -> None:
        if lot is None:
            if not self.lots:
                return
            lot = self.rng.choice(self.lots)
        if self.write("count", day(self.today), lot=lot, how_many=len(self.members(lot)), enclosure="N1"):
            self.silent = [b for b in self.silent if b.at != lot]


# --- the truth, and what the events alone say -------------------------------------------------------


def truth(story: Story, hatching: int, on: int, limit: int = 30) -> Counter[str]:
    """What really became of the young of a hatching: alive, dead_30, left_30, not_yet."""
    out: Counter[str] = Counter()
    for b in (b for b in story.beasts if b.hatching == hatching):
        last = b.born + limit
        end = min((d for d in (b.dead, b.left) if d is not None), default=None)
        out_then = any(o[0] <= min(last, on) and (len(o) == 1 or o[1] > on) for o in b.out)
        if end is not None and end <= min(last, on):
            out["dead_30" if end == b.dead else "left_30"] += 1
        elif out_then:
            out["left_30"] += 1
        else:
            out["not_yet" if on < last else "alive"] += 1
    return out


Written = dict[str, Any]  # an event of the log


def standing(events: Iterable[Written], known: int) -> list[Written]:
    """What stands at a position, by day and place in the log."""
    by_id = {e["event_id"]: e for e in events if e["seq"] <= known}
    gone = {e["supersedes"] for e in by_id.values() if e["supersedes"]}
    left = [e for id_, e in by_id.items() if id_ not in gone and e["kind"] != "void"]
    return sorted(left, key=lambda e: (e["occurred"]["last"], e["kind"] == "count", e["seq"]))


def _days(event: Written) -> tuple[date, date]:
    first, last = (date.fromisoformat(event["occurred"][k]) for k in ("first", "last"))
    return first, last


def _id(event: Written, name: str) -> str:
    return str((event["payload"].get(name) or {}).get("id") or "")


def plain(events: list[Written], known: int, on: date, limit: int = 30) -> dict[int, dict[str, int]]:
    """Hatching (its position) -> live and the five states, for exact hatchings whose animals never met others."""
    told = standing(events, known)
    out = {}
    for born in (e for e in told if e["kind"] == "hatching"):
        first, last = _days(born)
        if first != last or last > on or _id(born, "into"):
            continue
        found = _one(told, born, last, on, limit)
        if found is not None:
            out[born["seq"]] = found
    return out


def _one(told: list[Written], born: Written, birth: date, on: date, limit: int) -> dict[str, int] | None:
    family = _family(told, born)
    if family is None:
        return None
    live = sum((born["payload"].get("how_many") or {"u": 1}).values())
    until = birth + timedelta(days=limit)
    out = {"live": live, "dead_30": 0, "left_30": 0, "cannot_say": 0}
    for kind, first, last, n in _losses(told, born, live, family):
        if n < 0:
            return None  # a count that finds more
        if max(first, birth) > min(until, on) or (last > on and on < until):
            continue  # after the first days, or not yet
        within = (last - birth).days <= limit
        out["cannot_say" if not within else "left_30" if kind == "transfer" else "dead_30"] += n
    there = live - out["dead_30"] - out["left_30"] - out["cannot_say"]
    yet = on < until
    return out | {"alive": 0 if yet else there, "not_yet": there if yet else 0}


def _family(told: list[Written], born: Written) -> dict[str, date] | None:
    """Subjects its young were in, each with the day it began; None where others were ever among them."""
    begun = {_id(born, "lot") or _id(born, "animal"): _days(born)[1]}
    for e in told:
        source, target = _id(e, "lot") or _id(e, "animal"), _id(e, "new") or _id(e, "into")
        if e["kind"] in ("split", "draw", "join"):
            if source in begun and target not in begun and e["kind"] != "join":
                begun[target] = _days(e)[1]
            elif (source in begun) != (target in begun):
                return None
        elif (e["kind"] == "hatching" and target in begun) or (e["kind"] == "escape" and source in begun):
            return None
    return begun


def _losses(
    told: list[Written], born: Written, live: int, begun: dict[str, date]
) -> Iterable[tuple[str, date, date, int]]:
    """Deaths, transfers and what counts found gone: kind, first and last possible day, how many."""
    balance = Counter({_id(born, "lot") or _id(born, "animal"): live})
    since = dict(begun)
    for e in told:
        subject = _id(e, "lot") or _id(e, "animal")
        if subject not in begun or e is born:
            continue
        first, last = _days(e)
        n = sum((e["payload"].get("how_many") or {"n": 1}).values())
        if e["kind"] in ("split", "draw", "join"):
            balance[_id(e, "new") or _id(e, "into")] += n
        elif e["kind"] == "count":
            n = balance[subject] - n
            first = since[subject] + timedelta(days=1)
            since[subject] = last
        elif e["kind"] not in ("death", "transfer"):
            continue
        balance[subject] -= n
        if e["kind"] in ("death", "transfer", "count") and n:
            yield e["kind"], first, last, n


def true_survival(story: Story, hatching: int, limit: int = 30) -> float | None:
    """The product limit over the true days of every animal of a hatching; None where nobody was there to the end."""
    exits = []
    for b in (b for b in story.beasts if b.hatching == hatching):
        ends = [(b.dead, True), (b.left, False), *((o[0], False) for o in b.out if len(o) == 1)]
        told = [(d - b.born, died) for d, died in ends if d is not None and d - b.born <= limit]
        exits.append(min(told, default=(limit, False)))
    share = 1.0
    for age in range(limit + 1):
        risk = sum(d >= age for d, _ in exits)
        dead = sum(died for d, died in exits if d == age)
        share *= 1 - dead / risk if risk else 1
    return share if share == 0 or any(d >= limit for d, _ in exits) else None
