"""Pair histories by walking day after day: the plain oracle of `reports/bonds.py`, `bond_days.py` and `waits.py`.

It knows nothing of stretches. Where an animal stood is read from the census of every day, where it could have stood
from the open states of every day, and facts from the entries as they stand. Written from the definitions D1 to D4.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from ledger.read import AsOf, Copy, Names

DAY = timedelta(days=1)
SEQUENCE = ("male_first", "female_first", "some_born_male", "male_first_then_both")


@dataclass
class Walked:
    """One bond as walked, and its two waits: subject -> (exit, state) or the reason why there is none."""

    pair: int
    a: str
    b: str
    start: date
    end: date | None
    how: str
    days: int = 0
    together: int = 0
    apart: int = 0
    unsaid: int = 0
    waits: dict[str, Any] = field(default_factory=dict)


class Walk:
    """The world of one question, day by day."""

    def __init__(self, copy: Copy, names: Names, asof: AsOf, first: date) -> None:
        self.on, self.names = asof.on, names
        self.days = [first + n * DAY for n in range((asof.on - first).days + 1)]
        self.at: dict[str, dict[date, tuple[str, str, str, str]]] = defaultdict(dict)
        for day in self.days:
            for row in copy.cells(AsOf(day, asof.known)).iter_rows(named=True):
                place, n = row["place"], row["n"]
                if n > 0 and (place[1:2] == "-" or place in ("in_transit", "escaped", "missing")):
                    self.at[row["subject"]][day] = (place, row["holder"], row["sex"], row["taxon"])
        self.could: dict[tuple[str, date], set[str]] = defaultdict(set)
        for row in copy.possible(self.days, asof.known).iter_rows(named=True):
            if row["n"] > 0:
                self.could[row["subject"], row["day"]].add(row["place"])
        self.events = copy.standing(("pairing", "parting", "transfer", "sex_change"), asof.known)

    def place(self, x: str, day: date) -> str:
        return self.at[x].get(day, ("", "", "", ""))[0]

    def house(self, x: str, day: date) -> str:
        """The house it was on hand at; empty where it was on hand nowhere."""
        place, holder, *_ = self.at[x].get(day, ("", "", "", ""))
        return holder if place.startswith("e-") else ""

    def whose(self, x: str, day: date) -> str:
        """With whom it was: a house, a party, `lost`, `way`; empty where nowhere."""
        place = self.place(x, day)
        return self.house(x, day) or ("lost" if place in ("escaped", "missing") else place)

    def one_mate(self, x: str) -> bool:
        return any(self.mates(taxon) == "one" for *_, taxon in self.at[x].values())

    def mates(self, taxon: str) -> str:
        thing = self.names.thing(taxon)
        return str(thing.fields.get("mates")) if thing else ""

    def changes(self, x: str) -> bool:
        thing = self.names.thing(next((taxon for *_, taxon in self.at[x].values()), ""))
        return thing is not None and thing.fields.get("sexual_system") in SEQUENCE

    # --- bonds ------------------------------------------------------------------------------------

    def bonds(self) -> list[Walked]:
        pairings = [e for e in self.events if e.kind == "pairing"]
        told = [(self._since(e), e) for e in pairings if (e.first or e.last) <= self.on]
        told = sorted((t for t in told if t[0][0] <= self.on), key=lambda t: (t[0][1], t[1].root))
        self.paired = [(span[1], _id(e, "a"), _id(e, "b")) for span, e in told]
        out: list[Walked] = []
        used: set[int] = set()
        for (begun, last), e in told:
            a, b = _id(e, "a"), _id(e, "b")
            if self._gone_for_good(a, e.first or e.last) or self._gone_for_good(b, e.first or e.last):
                continue
            before = [w for w in out if {w.a, w.b} == {a, b}]
            if before and (before[-1].end is None or before[-1].end > last):
                continue
            after = before[-1].end if before else None
            first = begun
            if "since" not in e.payload:
                first = min(max(begun, *(min(self.at[x]) for x in (a, b) if self.at[x])), last)
            walked = self._walk(e.root, (a, b), (first, last), after, used)
            if walked.start <= self.on:
                out.append(walked)
        for walked in out:
            self._wait(walked, out)
        return out

    def _since(self, e: Any) -> tuple[date, date]:
        day = date.fromisoformat(e.payload["since"]) if "since" in e.payload else None
        return (min(day, e.last),) * 2 if day else (e.first or e.last, e.last)

    def _gone_for_good(self, x: str, by: date) -> bool:
        """Whether it had stood somewhere, and stood nowhere from a day before `by` to the end."""
        there = [day for day in self.days if self.place(x, day)]
        return bool(there) and max(there) + DAY < by

    def _walk(
        self, root: int, two: tuple[str, str], span: tuple[date, date], after: date | None, used: set[int]
    ) -> Walked:
        a, b = two
        first, last = span
        ends: list[tuple[date, int, str]] = []
        for e in self.events:
            mine = e.kind == "parting" and {_id(e, "a"), _id(e, "b")} == {a, b} and e.root not in used
            if mine and max([first, *([after] if after else [])]) <= e.last <= self.on:
                ends.append((e.last, 9, f"parted {e.root}"))
        lost = [*self._goings(a, b, span), *self._goings(b, a, span)]
        ends += [end for end in lost if end[2] != "left_together"]
        if self.changes(a) or self.changes(b):
            ends += self._same_sex(two, first)
        if ends:
            day, _, how = min(ends)
            used.update(int(h.split()[1]) for d, _, h in ends if d == day and h.startswith("parted"))
            return self._count(Walked(root, a, b, min(last, day), day, how.split()[0]), day)
        if lost:
            day = min(lost)[0]
            return self._count(Walked(root, a, b, min(last, day), None, "left_together"), day)
        return self._count(Walked(root, a, b, last, None, ""), self.on + DAY)

    def _goings(self, x: str, y: str, span: tuple[date, date]) -> list[tuple[date, int, str]]:
        """What took x from y, day by day from the first on which they could have been a pair."""
        out: list[tuple[date, int, str]] = []
        for day in self.days[1:]:
            was, now = self.whose(x, day - DAY), self.whose(x, day)
            if day < span[0] or was in ("", now):
                continue
            if was in ("lost", "in_transit"):
                out += [] if now else [(day, 0, "gone")]
                continue
            back = next((d for d in self.days if d >= day and self.house(x, d)), None)
            if back is not None and back <= span[1]:
                continue  # before the bond: what is done on the day of a pairing comes before it
            out += self._departed((x, y), day, now, back) or []
            if self._with(x, y, day) and not now.startswith("h-") and back is None:
                other = any(self.house(y, d) for d in self.days if d >= day)
                out += [] if other else [(day, 7, "left_together")]
        return out

    def _departed(
        self, two: tuple[str, str], day: date, now: str, back: date | None
    ) -> list[tuple[date, int, str]] | None:
        x, y = two
        if now.startswith("h-") and self.whose(x, day - DAY).startswith("o-"):
            return None  # it came back
        if now == "lost":
            if back is not None and not self._repaired(two, day, back):
                return None
            return [(day, 6, "lost")]
        if self._with(x, y, day):
            if now.startswith("h-"):
                return None
            other = next((d for d in self.days if d >= day and self.house(y, d)), None)
            if back is not None and other is not None:
                return [(day, 4, "left")] if self._repaired(two, day, max(back, other)) else None
            if back is not None or other is not None:
                return [(back or other or day, 5, "back_alone")]
            return None
        return [(day, 4 if now or self._sent(x, day) else 0, "left" if now or self._sent(x, day) else "gone")]

    def _with(self, x: str, y: str, day: date) -> bool:
        """Whether x and y went by one transfer that counts on that day: same days, same receiver."""
        mine, other = self._sent(x, day), self._sent(y, day)
        both_go = self.whose(x, day - DAY) == self.whose(y, day - DAY) and self.whose(x, day) == self.whose(y, day)
        return both_go and bool(mine & other)

    def _sent(self, x: str, day: date) -> set[tuple[Any, ...]]:
        return {
            (e.first, e.last, e.payload["to"]["id"])
            for e in self.events
            if e.kind == "transfer" and _id(e, "animal") == x and (e.first or e.last) <= day <= e.last
        }

    def _repaired(self, two: tuple[str, str], first: date, last: date) -> bool:
        if not self.one_mate(two[0]):
            return False
        return any(first <= day <= last and len({a, b} & set(two)) == 1 for day, a, b in self.paired)

    def _same_sex(self, two: tuple[str, str], first: date) -> list[tuple[date, int, str]]:
        out = []
        for e in self.events:
            x = _id(e, "animal")
            if e.kind != "sex_change" or e.payload["stage"] != "completed" or x not in two:
                continue
            y = two[0] if x == two[1] else two[1]
            for day in self.days[1:]:
                if not max(first, e.first or e.last) <= day <= e.last:
                    continue
                was, now = self.at[x].get(day - DAY), self.at[x].get(day)
                mate = self.at[y].get(day)
                changed = was and now and was[2] != now[2] and now[2] == e.payload["to"]
                if changed and mate and mate[2] == now[2] and now[2] in ("male", "female"):
                    out.append((day, 8, "sex_changed"))
        return out

    def _count(self, w: Walked, stop: date) -> Walked:
        day = w.start
        while day < stop:
            w.days += 1
            one = self.could[w.a, day] or {self.place(w.a, day)}
            other = self.could[w.b, day] or {self.place(w.b, day)}
            if w.end == stop or w.how == "left_together":  # the days before its end are the range of the end
                one, other = self._without_end(w, w.a, day, one), self._without_end(w, w.b, day, other)
            lost = one <= {"escaped", "missing"} or other <= {"escaped", "missing"}
            if "" in one | other:
                w.unsaid += 1
            elif lost or not one & other:
                w.apart += 1
            elif len(one) == 1 and one == other and next(iter(one)).startswith("e-"):
                w.together += 1
            else:
                w.unsaid += 1
            day += DAY
        return w

    def _without_end(self, w: Walked, x: str, day: date, could: set[str]) -> set[str]:
        """Where it could have been, had the end itself not come yet: not where the end brought it."""
        stop = w.end or next(d for d in self.days if d >= day and self.place(x, d) != self.place(x, d - DAY))
        there = self.place(x, stop)
        gone_by_it = there != self.place(x, stop - DAY) and (self._sent(x, stop) or there in ("escaped", "missing"))
        left = could - {there} if gone_by_it else could
        return left or could

    # --- waits --------------------------------------------------------------------------------------

    def _wait(self, w: Walked, every: list[Walked]) -> None:
        for x in (w.a, w.b):
            w.waits[x] = self._waited(w, x, every)

    def _waited(self, w: Walked, x: str, every: list[Walked]) -> Any:
        if w.end is None:
            return None
        if w.how not in ("parted", "sex_changed", "back_alone") and self._went(w.how, x, w.end):
            return None
        came = next((d for d in self.days if d >= w.end and self.house(x, d)), None)
        if came is None:
            return None
        others = [o for o in every if o is not w and x in (o.a, o.b)]
        held = [o for o in others if o.start < w.end and (self._stop(o) > w.end)]
        if held:
            return (0, "event") if self.one_mate(x) and came == w.end else None
        following = min((o for o in others if o.start >= w.end), key=lambda o: (o.start, o.pair), default=None)
        if following and following.start < came:
            return None
        for day in self.days:
            if day < came:
                continue
            if following and following.start == day:
                return ((day - w.end).days, "event")
            if day > came and self._leaves(x, day):
                return ((day - w.end).days, "departed")
        return ((self.on - w.end).days, "waiting")

    def _stop(self, o: Walked) -> date:
        return o.end or (o.start + o.days * DAY)

    def _went(self, how: str, x: str, day: date) -> bool:
        """Whether it was x that died, was lost or went on that day."""
        was, now = self.whose(x, day - DAY), self.whose(x, day)
        if how == "left":
            return was != now and was.startswith("h-")
        return was != now and now == ("" if how == "gone" else "lost")

    def _leaves(self, x: str, day: date) -> bool:
        was, now = self.whose(x, day - DAY), self.whose(x, day)
        back = now.startswith("h-") and not was.startswith("h-")
        if was in (now, "") or back:
            return False
        return now != "lost" or not any(self.house(x, d) for d in self.days if d >= day)


def _id(e: Any, name: str) -> str:
    return str((e.payload.get(name) or {}).get("id", ""))
