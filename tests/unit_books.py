"""Random histories of social units: facts for the oracle, and the same as hand-written rows of a book on paper."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from typing import Any

from oracle_sexes import SYSTEMS, UNITS, Fact, Walker, day
from paper_books import Paper, ref

LAST = 120
ANIMALS = {"t-p": ["a-p1", "a-p2", "a-p3", "a-p4"], "t-q": ["a-q1", "a-q2", "a-q3", "a-q4", "g-q"], "t-b": ["a-b1"]}
TAXON = {who: taxon for taxon, own in ANIMALS.items() for who in own}
LED = {"a-p1": "female", "a-p2": "male", "a-q1": "male", "a-q2": "female", "a-q3": "female"}
JOINS = {  # subject -> unit -> how often it belongs to it
    **{f"a-p{n}": {"u-p": 0.9} for n in (1, 2, 3, 4)},
    **{f"a-q{n}": {"u-h": 0.9, "u-m": 0.1} for n in (1, 2, 3)},
    "a-q4": {"u-h": 0.2, "u-m": 0.8},
    "g-q": {"u-m": 0.7, "u-h": 0.1},
}
OTHER = {"male": "female", "female": "male"}
SOURCES = {"died": ("dead", "", ""), "sold": ("o-p", "o-p", "o-p"), "escaped": ("escaped", "", "h-a")}
REASON = {"died": "died", "sold": "transfer_out", "escaped": "escaped"}


def facts_of(rng: random.Random, steps: int = 45) -> list[Fact]:
    """What was recorded, in order. The steps of one animal follow each other by day, none overlapping."""
    told: list[Fact] = []
    free = dict.fromkeys(TAXON, 0)  # subject -> first day its next step may have

    def tell(kind: str, who: str, wide: int = 0, **data: Any) -> Fact:
        first = free.get(who, 0) + rng.randint(0, 12)
        last = first + (rng.randint(0, 5) if wide and rng.random() < 0.5 else 0)
        if kind != "order" and who in free:
            free[who] = last + 1
        told.append(Fact(kind, who, first, last, data, len(told) + 1))
        return told[-1]

    for who, taxon in TAXON.items():
        sexes = ("male", "female", "unknown")
        first = LED.get(who) if rng.random() < 0.7 else None
        counts = {"male": 2, "female": 6, "unknown": 1} if who == "g-q" else {first or rng.choice(sexes): 1}
        tell("come", who, 0, taxon=taxon, counts=counts, place=rng.choice(("e-1",) * 5 + ("e-2",)))
        for unit, share in JOINS.get(who, {}).items():
            if rng.random() < share:
                join(rng, told, who, unit)
    while len(told) < steps:
        who = rng.choice(sorted(TAXON, key=lambda w: free[w])[:5])
        if free[who] > LAST - 20:
            break
        step(rng, told, who, tell)
        if told[-1].kind in ("gone", "move") and rng.random() < 0.8:
            heir(rng, told, free, tell)
    return told


def heir(rng: random.Random, told: list[Fact], free: dict[str, int], tell: Any) -> None:
    """Soon after somebody went, another of the taxon begins to change."""
    walker = Walker(told, 10**6, LAST * 9)
    taxon, after = TAXON[told[-1].who], told[-1].last
    fit = OTHER[{"t-p": "female"}.get(taxon, "male")]
    others = [w for w in ANIMALS[taxon] if walker.at(w, LAST * 9)[0] and walker.at(w, LAST * 9)[1].get(fit)]
    busy = {s.who for s in walker.shifts if s.end is None and s.who.startswith("a-")}
    if others := [w for w in others if w not in busy and free[w] <= after + 20]:
        who = rng.choice(others)
        free[who] = max(free[who], after)
        tell("sign", who, 1, n=1, to=OTHER[fit])


def join(rng: random.Random, told: list[Fact], who: str, unit: str) -> None:
    first = rng.randint(0, 30)
    until = None
    if rng.random() < 0.25:
        a = first + rng.randint(5, 60)
        until = (a, a + rng.randint(0, 3))
    told.append(Fact("member", who, first, first + rng.randint(0, 3), {"unit": unit, "until": until}, len(told) + 1))


def step(rng: random.Random, told: list[Fact], who: str, tell: Any) -> None:
    """One more fact about a subject, of those that may happen to it as it stands after all its facts."""
    walker = Walker(told, 10**6, LAST * 9)
    place, counts = walker.at(who, LAST * 9)
    own = [f for f in walker.facts if f.who == who]
    roll = rng.random()
    if roll < 0.08 and own and own[-1].no == len(told) and own[-1].kind != "come":
        tell("void", "", what=own[-1].no)
    elif roll < 0.16:
        order(rng, told)
    elif not place or not counts:
        gone = [f for f in own if f.kind == "gone"]
        if who.startswith("a-") and counts and gone[-1].data["how"] == "escaped":
            tell("back", who, 1, place=rng.choice(("e-1", "e-2")))
    elif roll < (0.6 if who in ("a-p1", "a-q1", "g-q") else 0.3):
        leave(rng, who, place, counts, tell)
    else:
        sex_of(rng, walker, who, counts, tell)


def order(rng: random.Random, told: list[Fact]) -> None:
    unit = rng.choice(list(UNITS))
    names = [a for a in ANIMALS[UNITS[unit][0]] if a.startswith("a-")]
    rng.shuffle(names)
    ranks = [names[:1], names[1:3], names[3:]] if rng.random() < 0.4 else [[a] for a in names]
    first = rng.randint(0, LAST // 2)
    told.append(Fact("order", unit, first, first + rng.randint(0, 2), {"unit": unit, "ranks": ranks}, len(told) + 1))


def leave(rng: random.Random, who: str, place: str, counts: dict[str, int], tell: Any) -> None:
    """Some or all go, or move to the other tank."""
    sex, how = rng.choice(sorted(counts)), rng.choice(("died", "sold", "escaped", "escaped", "moved"))
    if who.startswith("g-"):
        how = "sold" if how == "sold" else "died"
        tell("gone", who, 1, how=how, sex=sex, n=rng.randint(1, min(2, counts[sex])))
    elif how == "moved":
        tell("move", who, 1, place="e-2" if place == "e-1" else "e-1")
    else:
        tell("gone", who, 1, how=how)


def sex_of(rng: random.Random, walker: Walker, who: str, counts: dict[str, int], tell: Any) -> None:
    """It is sexed, or a stage of a change is seen."""
    lost = [f.no for f in walker.facts if f.kind in ("gone", "move", "done")]
    named = {"opened_by": rng.choice(lost)} if lost and rng.random() < 0.15 else {}
    signs = [s.sign for s in walker.shifts if s.who == who and s.end is None]
    top = {"t-p": "female", "t-q": "male"}.get(TAXON[who], "male")  # mostly they change to the sex that leads
    fit = [s for s in sorted(counts) if s == OTHER[top]]
    sex, roll = rng.choice(fit if fit and rng.random() < 0.8 else sorted(counts)), rng.random()
    if sex == "unknown" and roll < 0.5:
        tell("sexed", who, 1, was="unknown", to=rng.choice(("male", "female")), n=1)
    elif signs and roll < 0.7:
        late = rng.choice(signs)
        link = {"of": late.no} if rng.random() < 0.5 else {}
        was = OTHER[late.data["to"]]
        if roll < 0.12:
            tell("given_up", who, 1, n=1, to=late.data["to"], **link)
        elif counts.get(was):
            tell("done", who, 1, n=1, was=was, to=late.data["to"], **link)
    elif sex in OTHER and roll > 0.92:
        tell("done", who, 1, n=1, was=sex, to=OTHER[sex], **named)
    elif sex in OTHER and roll < 0.3 and len(signs) < 1 + who.startswith("g-"):
        tell("sign", who, 1, n=1, to=OTHER[sex], **named)


# --- the same as a book on paper ----------------------------------------------------------------------


def cell(taxon: str, sex: str, place: str) -> tuple[str, ...]:
    return (taxon, sex, place, "h-a", "h-a")


def lines_of(facts: list[Fact], offset: int) -> Counter[tuple[Any, ...]]:
    """Journal lines of facts that stand: (effect, subject, counts on, could from, cell, reason) -> how many."""
    out: Counter[tuple[Any, ...]] = Counter()
    walker = Walker(facts, 10**6, 10**6)
    for who, taxon in TAXON.items():
        steps = walker.steps(who, 10**6)
        for i, f in enumerate(steps):
            before, after = walker.after(steps[:i]), walker.after(steps[: i + 1])
            out.update(legs_of(f, offset, taxon, before, after))
    return Counter({key: n for key, n in out.items() if n})


def legs_of(f: Fact, offset: int, taxon: str, before: Any, after: Any) -> Counter[tuple[Any, ...]]:
    out: Counter[tuple[Any, ...]] = Counter()
    reason = {"come": "brought_forward", "move": "re_housed", "back": "recovered", "sexed": "sexed"}.get(f.kind)
    reason = reason or ("sex_changed" if f.kind == "done" else REASON[f.data["how"]])

    def leg(at: tuple[str, ...], n: int) -> None:
        out[offset + f.no, f.who, day(f.last), day(f.first), at, reason] += n

    if f.kind == "gone" and f.who.startswith("g-"):
        place, holder, owner = SOURCES[f.data["how"]]
        leg(cell(taxon, f.data["sex"], after[0]), -f.data["n"])
        leg((taxon, f.data["sex"], place, holder, owner), f.data["n"])
        return out
    for (place, counts), sign in ((before, -1), (after, 1)):
        for sex, n in counts.items():
            leg(cell(taxon, sex, place) if place else nowhere(f, taxon, sex), sign * n)
    if f.kind == "come":
        for sex, n in after[1].items():
            leg((taxon, sex, "brought_forward", "", ""), -n)
    return Counter({k: n for k, n in out.items() if n})


def nowhere(f: Fact, taxon: str, sex: str) -> tuple[str, ...]:
    """Where an animal without an enclosure is: where the fact sent it, or whence it came back."""
    how = f.data["how"] if f.kind == "gone" else "escaped"
    return (taxon, sex, *SOURCES[how])


def register() -> Iterator[tuple[str, dict[str, Any]]]:
    """The house, its two tanks, the taxa and the units."""
    place = {"time_zone": "Europe/Lisbon"}
    yield "book", {"clock_kind": "simulated", "log_id": "00", "rules": 1, **place}
    yield "house", {"house": ref("h-a", "AA"), "name": "House A", "hemisphere": "north", **place}
    yield "party", {"party": ref("o-p", "PX"), "name": "Partner", "sort": "institution"}
    for tank in ("e-1", "e-2"):
        yield "enclosure", {"enclosure": ref(tank, tank), "name": tank, "house": ref("h-a", "AA"), "purpose": "exhibit"}
    for taxon, system in SYSTEMS.items():
        yield "taxon", {"taxon": ref(taxon, taxon), "rank": "species", "sexual_system": system}
    for unit, (taxon, sort) in UNITS.items():
        home = {"enclosure": ref("e-1", "e-1")}
        yield "social_unit", {"unit": ref(unit, unit), "sort": sort, "taxa": [ref(taxon, taxon)], **home}


def book_of(facts: list[Fact]) -> tuple[Paper, list[int]]:
    """A book that records the facts one by one; and the position after each."""
    paper = Paper()
    offset = paper.batch([(kind, "2020-01-01", payload) for kind, payload in register()])
    positions, had, standing = [], Counter[Any](), list[Fact]()
    for f in facts:
        standing = [g for g in standing if g.no != f.data["what"]] if f.kind == "void" else [*standing, f]
        now = lines_of(standing, offset)
        change = Counter(now)
        change.subtract(had)
        had = now
        lines = [as_line(key, n) for key, n in change.items() if n]
        kind, payload = entry(f, offset)
        days = f"{day(f.first)}/{day(f.last)}" if f.first != f.last else day(f.first).isoformat()
        struck = offset + f.data["what"] if f.kind == "void" else 0
        positions.append(paper.batch([(kind, days, payload)], lines, supersedes=struck))
    return paper, positions


def as_line(key: tuple[Any, ...], n: int) -> dict[str, Any]:
    effect, subject, on, could, at, reason = key
    names = dict(zip(("taxon", "sex", "place", "holder", "owner"), at, strict=True))
    dates = {"counts_on": on.isoformat(), "could_from": could.isoformat()}
    return {
        "effect": effect,
        "subject": subject,
        **dates,
        **names,
        "standing": "collection",
        "reason": reason,
        "delta": n,
    }


def entry(f: Fact, offset: int) -> tuple[str, dict[str, Any]]:
    """Kind and stored payload of a fact."""
    own = {"lot" if f.who.startswith("g-") else "animal": ref(f.who, f.who)}
    if f.kind == "void":
        return "void", {}
    if f.kind == "order":
        return "hierarchy", {"unit": ref(f.who, f.who), "order": [[ref(a, a) for a in g] for g in f.data["ranks"]]}
    if f.kind == "member":
        until = f.data["until"]
        more = {"until": f"{day(until[0])}/{day(until[1])}"} if until else {}
        return "association", {**own, "relation": "member", "unit": ref(f.data["unit"], f.data["unit"]), **more}
    if f.kind in ("sign", "done", "given_up"):
        stage = {"sign": "first_sign", "done": "completed", "given_up": "given_up"}[f.kind]
        named = {k: f"id-{offset + f.data[k]}" for k in ("of", "opened_by") if f.data.get(k)}
        was = f.data.get("was") or {"male": "female", "female": "male"}[f.data["to"]]
        amount = {"how_many": {was[0]: 1}} if f.who.startswith("g-") else {"was": was}
        return "sex_change", {**own, "stage": stage, "to": f.data["to"], **amount, **named}
    kinds = {"come": "opening", "move": "move", "back": "recovery", "sexed": "sexing"}
    gone = {"died": "death", "sold": "transfer", "escaped": "escape"}
    return kinds.get(f.kind) or gone[f.data["how"]], {**own, "enclosure": ref("e-1", "e-1"), "to": f.data.get("to")}
