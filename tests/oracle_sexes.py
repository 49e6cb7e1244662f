"""Sex changes and open places by plain walking, day by day over a list of facts; it knows no journal and no fast code.

A fact is what somebody recorded: who, what, between which days. Its place in the list is its log position. The walk
asks every day who was where, of which sex, in which unit, and keeps the queue of open places by hand.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

DAY0 = date(2024, 1, 1)
SYSTEMS = {"t-p": "male_first", "t-q": "female_first", "t-b": "both_ways"}
UNITS = {"u-p": ("t-p", "pair_with_non_breeders"), "u-h": ("t-q", "harem"), "u-m": ("t-q", "many_male_group")}
DOMINANT = {"t-p": "female", "t-q": "male", "t-b": ""}
HOW = {"gone": lambda f: WORDS[f.data["how"]], "move": lambda _: "moved out", "done": lambda _: "sex change"}
WORDS = {"died": "death", "sold": "transfer", "escaped": "escape"}


def day(n: int) -> date:
    return DAY0 + timedelta(days=n)


@dataclass
class Fact:
    """`kind`: come, member, move, gone, back, sexed, sign, done, given_up, order, void. Days are numbers from DAY0."""

    kind: str
    who: str
    first: int
    last: int
    data: dict[str, Any] = field(default_factory=dict)
    no: int = 0  # position in the log


@dataclass
class Spot:
    """An open place: who left, how, by which fact, between which days; and what became of it."""

    who: str
    how: str
    no: int
    first: int
    last: int
    state: str = "open"
    by: str = ""
    arrival: bool = False
    for_change: Any = None


@dataclass
class Shift:
    """A change: its first sign and its end, as facts, and the losses it is set against."""

    who: str
    n: int
    sign: Fact | None
    end: Fact | None
    losses: list[tuple[Spot, bool]] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)

    @property
    def to(self) -> str:
        return (self.sign or self.end).data["to"]

    @property
    def done(self) -> bool:
        return self.end is not None and self.end.kind == "done"

    @property
    def named(self) -> int:
        return (self.sign or self.end).data.get("opened_by", 0) or (
            self.end.data.get("opened_by", 0) if self.end else 0
        )


class Walker:
    """The facts that stand at a position, asked day by day."""

    def __init__(self, facts: list[Fact], known: int, on: int) -> None:
        seen = [f for f in facts if f.no <= known]
        struck = {f.data["what"] for f in seen if f.kind == "void"}
        self.facts = [f for f in seen if f.kind != "void" and f.no not in struck]
        self.on = on
        self.taxon = {f.who: f.data["taxon"] for f in self.facts if f.kind == "come"}
        self.units = dict(UNITS)
        self.shifts = self.pair_up()

    def assume(self) -> Walker:
        """Lots of females that become male, in no unit, are units of their own."""
        inside = {f.who for f in self.facts if f.kind == "member"}
        for who, taxon in self.taxon.items():
            place, counts = self.at(who, self.on)
            if who.startswith("g-") and SYSTEMS[taxon] == "female_first" and who not in inside and place and counts:
                males = max(self.at(who, d)[1].get("male", 0) for d in range(self.on + 1))
                self.units[who] = (taxon, "many_male_group" if males > 1 else "harem")
        return self

    # --- who is where -----------------------------------------------------------------------------

    def steps(self, who: str, upto: int) -> list[Fact]:
        kinds = ("come", "move", "gone", "back", "sexed", "done")
        own = [f for f in self.facts if f.who == who and f.kind in kinds and f.last <= upto]
        return sorted(own, key=lambda f: (f.last, f.no))

    def after(self, steps: list[Fact]) -> tuple[str, dict[str, int]]:
        """Place ("" for none) and numbers by sex, after these steps."""
        place, counts = "", {}
        for f in steps:
            if f.kind == "come":
                place, counts = f.data["place"], dict(f.data["counts"])
            elif f.kind in ("move", "back"):
                place = f.data["place"]
            elif f.kind == "gone" and f.who.startswith("a-"):
                place = ""
            elif f.kind == "gone":
                counts[f.data["sex"]] -= f.data["n"]
            else:
                was = f.data["was"]
                counts[was] -= f.data["n"]
                counts[f.data["to"]] = counts.get(f.data["to"], 0) + f.data["n"]
        return place, {sex: n for sex, n in counts.items() if n > 0}

    def at(self, who: str, d: int) -> tuple[str, dict[str, int]]:
        return self.after(self.steps(who, d))

    def belongs(self, unit: str, d: int) -> list[str]:
        out = {unit} if unit.startswith("g-") else set()
        for f in self.facts:
            if f.kind == "member" and f.data["unit"] == unit and f.last <= d:
                until = f.data.get("until")
                if until is None or d < until[1]:
                    out.add(f.who)
        return sorted(out)

    def home(self, unit: str, d: int, before: str) -> str:
        weight: dict[str, int] = {}
        for who in self.belongs(unit, d):
            place, counts = self.at(who, d)
            if place and self.taxon[who] == self.units[unit][0]:
                weight[place] = weight.get(place, 0) + sum(counts.values())
        weight = {p: n for p, n in weight.items() if n}
        if not weight:
            return ""
        most = [p for p, n in weight.items() if n == max(weight.values())]
        return before if before in most else min(most)

    # --- changes ------------------------------------------------------------------------------------

    def pair_up(self) -> list[Shift]:
        signs: list[Shift] = []
        ended: list[Shift] = []
        order = {"sign": 0, "done": 1, "given_up": 1}
        for f in sorted((f for f in self.facts if f.kind in order), key=lambda f: (f.last, order[f.kind], f.no)):
            if f.last > self.on:
                continue
            if f.kind == "sign":
                signs += [Shift(f.who, 1, f, None) for _ in range(f.data["n"])]
                continue
            for _ in range(f.data["n"]):
                fits = [s for s in signs if s.who == f.who and s.to == f.data["to"]]
                if f.data.get("of"):
                    fits = [s for s in signs if s.sign.no == f.data["of"]]
                if fits:
                    one = fits[-1] if f.who.startswith("a-") else fits[0]
                    signs.remove(one)
                    one.end = f
                    ended.append(one)
                else:
                    ended.append(Shift(f.who, 1, None, f))
        return ended + signs

    def stage(self, s: Shift) -> str:
        if s.end is not None:
            return "completed" if s.done else "given up"
        place, counts = self.at(s.who, self.on)
        return "under way" if place and sum(counts.values()) else "gone before completion"


class Queue:
    """The open places of one unit for one sex, walked from the first day to the day asked about."""

    def __init__(self, w: Walker, unit: str, sex: str) -> None:
        self.w, self.unit, self.sex = w, unit, sex
        self.taxon, sort = w.units[unit]
        self.many = sort == "many_male_group" and sex == "male" and self.taxon == "t-q"
        self.spots: list[Spot] = []
        self.now: dict[str, dict[str, int]] = {}
        self.place, self.had = "e-1", False
        self.inside: list[str] = []
        self.lookup: dict[int, dict[str, dict[str, int]]] = {}
        for d in range(w.on + 1):
            self.live(d)
            self.lookup[d] = self.now

    def live(self, d: int) -> None:
        w = self.w
        inside = w.belongs(self.unit, d)
        home = w.home(self.unit, d, self.place)
        now = {}
        for who in inside:
            place, counts = w.at(who, d)
            if place == home and place and counts and w.taxon[who] == self.taxon:
                now[who] = counts
        outs, ins = self.flows(d, now, inside, home)
        count = sum(c.get(self.sex, 0) for c in self.now.values())
        for no, who, how, n, first, last in sorted(outs):
            count -= n
            for _ in range(n if self.many else int(count == 0)):
                self.spots.append(Spot(who, how, no, first, last))
        for spot in self.spots:
            s = spot.for_change
            stopped = s is not None and s.end is not None and s.end.kind == "given_up" and s.end.last <= d
            if spot.state == "taken" and (stopped or s.who not in now):
                spot.state, spot.by, spot.for_change = "open", "", None
        for no, who, n in sorted(ins):
            self.fill(no, who, n, count)
            count += n
        for s in sorted(
            w.shifts, key=lambda s: (s.sign.last if s.sign else 0, s.sign.no if s.sign else 0, s.end.no if s.end else 0)
        ):
            if s.sign is not None and s.sign.last == d and s.to == self.sex and s.who in now:
                spot = self.pick(s)
                if spot:
                    spot.state, spot.by, spot.for_change = "taken", s.who, s
                    self.link(s, spot)
        self.now, self.inside, self.place = now, inside, home or self.place
        self.had = self.had or any(c.get(self.sex) for c in now.values())

    def flows(self, d: int, now: dict[str, Any], inside: list[str], home: str) -> tuple[list[Any], list[Any]]:
        outs, ins = [], []
        for who in sorted({*self.now, *now}):
            today = [f for f in self.w.steps(who, d) if f.last == d]
            if who.startswith("g-") and who in self.inside and who in inside and home in ("", self.place):
                for f in today:
                    if f.kind in ("gone", "done") and f.data.get("sex", f.data.get("was")) == self.sex:
                        how = "sex change" if f.kind == "done" else WORDS[f.data["how"]]
                        outs.append((f.no, who, how, f.data["n"], f.first, f.last))
                    if f.kind == "done" and f.data["to"] == self.sex:
                        ins.append((f.no, who, f.data["n"]))
                continue
            n = now.get(who, {}).get(self.sex, 0) - self.now.get(who, {}).get(self.sex, 0)
            cause = today[-1] if today else None
            if n > 0:
                ins.append((cause.no if cause else self.membership(who, d, "in"), who, n))
            elif n < 0:
                outs.append(self.out(who, -n, cause, d))
        return outs, ins

    def out(self, who: str, n: int, cause: Fact | None, d: int) -> tuple[int, str, str, int, int, int]:
        if cause is not None:
            words = {"move": "moved out", "done": "sex change"}
            how = words.get(cause.kind) or WORDS[cause.data["how"]]
            return cause.no, who, how, n, cause.first, cause.last
        no = self.membership(who, d, "out")
        if no:
            fact = next(f for f in self.w.facts if f.no == no)
            return no, who, "left the unit", n, *fact.data["until"]
        return 0, who, "stayed behind", n, d, d

    def membership(self, who: str, d: int, way: str) -> int:
        for f in self.w.facts:
            if f.kind == "member" and f.who == who and f.data["unit"] == self.unit:
                until = f.data.get("until")
                if (way == "in" and f.last == d) or (way == "out" and until and until[1] == d):
                    return f.no
        return 0

    def waiting(self) -> list[Spot]:
        return [s for s in self.spots if s.state != "filled"]

    def pick(self, s: Shift | None) -> Spot | None:
        opened = [p for p in self.spots if p.state == "open"]
        if s is not None and s.named:
            opened = [p for p in opened if p.no == s.named] + opened
        return opened[0] if opened else None

    def link(self, s: Shift, spot: Spot) -> None:
        named = [p for p in self.spots if s.named and p.no == s.named]
        s.losses.append((named[0] if named else spot, bool(named)))
        s.spots.append(spot)

    def fill(self, no: int, who: str, n: int, count: int) -> None:
        mine = [s for s in self.w.shifts if s.done and s.who == who and s.end.no == no and s.to == self.sex]
        mine.sort(key=lambda s: (s.sign.last if s.sign else s.end.last, s.sign.no if s.sign else s.end.no))
        for i in range(n if self.many else 1):
            s = mine[i] if i < len(mine) else None
            if self.many:
                held = [p for p in self.waiting() if s is not None and p.for_change is s]
                spot = held[0] if held else self.pick(s)
            else:
                spot = self.waiting()[0] if count == 0 and self.waiting() else None
            if spot is not None:
                spot.state, spot.by, spot.arrival, spot.for_change = "filled", who, s is None, s
                if s is not None and not s.losses:
                    self.link(s, spot)

    # --- answers --------------------------------------------------------------------------------------

    def holders(self) -> dict[str, int]:
        return {who: c[self.sex] for who, c in self.now.items() if c.get(self.sex)}

    def state(self) -> str:
        if not self.had:
            return "never had one"
        if not self.holders():
            return "place open" if any(p.state == "open" for p in self.spots) else "change under way"
        came = any(p.state == "filled" and p.arrival and p.by in self.holders() for p in self.spots)
        return "filled by arrival" if came and not self.many else "stands"

    def row(self) -> dict[str, Any]:
        """The columns of succession that a walk can tell."""
        opened = [p for p in self.spots if p.state == "open"]
        waits = self.waiting()
        one = (opened or waits or [None])[0]
        return {
            "state": self.state(),
            "mfu": mfu(self.now),
            "places_open": len(opened),
            "places_taken": len(waits) - len(opened),
            "open_since": day(one.last) if one else None,
            "open_since_possible": day(one.first) if one else None,
            "opened_by": f"{one.who}, {one.how}" if one else "",
            "days_open": self.w.on - one.last if one else None,
        }


def mfu(present: dict[str, dict[str, int]]) -> str:
    return ".".join(str(sum(c.get(sex, 0) for c in present.values())) for sex in ("male", "female", "unknown"))


def rank(w: Walker, unit: str, who: str, before: int) -> tuple[str, date | None]:
    """`2 of 4` and the day, by the last order of the unit that names the animal and was over before."""
    orders = [f for f in w.facts if f.kind == "order" and f.data["unit"] == unit and f.last <= w.on and f.last < before]
    for f in sorted(orders, key=lambda f: (f.last, f.no), reverse=True):
        flat = [who for group in f.data["ranks"] for who in group]
        if who in flat:
            group = next(g for g in f.data["ranks"] if who in g)
            return f"{flat.index(group[0]) + 1} of {len(flat)}", day(f.last)
    return "", None


def answers(facts: list[Fact], known: int, on: int) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Units (id -> columns of succession, of those with members) and changes (columns of sexes, one animal a row)."""
    w = Walker(facts, known, on).assume()
    queues = {unit: Queue(w, unit, DOMINANT[taxon]) for unit, (taxon, _) in w.units.items()}
    units = {unit: q.row() for unit, q in queues.items() if q.now}
    for unit, row in units.items():
        if w.units[unit][0] == "t-p":
            males = Queue(Walker(facts, known, on), unit, "male")  # of its own: a change is set against one queue
            spot = males.waiting()[0] if males.waiting() and not males.holders() else None
            row["male_place_days"] = on - spot.last if spot else None
    return units, [change(w, queues, s) for s in w.shifts]


def change(w: Walker, queues: dict[str, Queue], s: Shift) -> dict[str, Any]:
    first = s.sign or s.end
    losses = [spot for spot, _ in s.losses]
    unit = next((u for u, q in queues.items() if any(p in q.spots for p in losses)), None)
    if unit is None:
        unit = next((u for u, q in queues.items() if s.who in q.lookup.get(first.last, {})), None)
    loss, recorded = (losses[0], s.losses[0][1]) if losses else (None, False)
    said = next((f for f in w.facts if f.no == s.named and not recorded), None)
    if said is not None:  # the entry names a loss that opened no place of the unit
        loss, recorded = Spot(said.who, HOW[said.kind](said), said.no, said.first, said.last), True
    row: dict[str, Any] = {
        "animal": s.who,
        "stage": w.stage(s),
        "unit": unit or "",
        "sign_low": day(s.sign.first) if s.sign else None,
        "sign_high": day(s.sign.last) if s.sign else None,
        "completed_low": day(s.end.first) if s.done else None,
        "completed_high": day(s.end.last) if s.done else None,
        "loss": f"{loss.who}, {loss.how}" if loss else "",
        "loss_on": day(loss.last) if loss else None,
        "loss_by": "recorded" if recorded else "presumed" if loss else "no loss on record",
    }
    for name, a, z in (("loss_to_sign", loss, s.sign), ("loss_to_completed", loss, s.end if s.done else None)):
        row[f"{name}_low"] = z.first - a.last if a and z else None
        row[f"{name}_high"] = z.last - a.first if a and z else None
    both = s.sign is not None and s.done
    row["sign_to_completed_low"] = max(0, s.end.first - s.sign.last) if both else None
    row["sign_to_completed_high"] = s.end.last - s.sign.first if both else None
    row["rank"], row["rank_seen"] = rank(w, unit, s.who, loss.first if loss else first.first) if unit else ("", None)
    row["unit_mfu"] = mfu(queues[unit].now) if unit else ""
    return row
