"""Mostly plausible histories: entries in typed form, proposed from what the oracle says stands.

Everything is drawn through `pick(n)`, a number from 0 to n - 1, so that hypothesis and a seeded generator drive
the same code. Two member houses (AA, BB), one outside party (PX), three enclosures each (A1…B3), two taxa.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from tests.oracle.census import Oracle, at
from tests.oracle.log import Fact, ident
from tests.oracle.world import HOLDER, OWNER, PLACE, SEX

Pick = Callable[[int], int]
Entry = dict[str, Any]
Cell = tuple[str, ...]  # taxon, sex, place, holder, owner, standing

START = date(2024, 3, 4).toordinal()
SPAN = 26  # days a history may take
HOUSES = ("AA", "BB")
PARTY = "PX"
TAXA = ("Hippocampus fictus", "Amphiprion fictus")
LETTER = {"male": "m", "female": "f", "hermaphrodite": "h", "unknown": "u"}
ONE_DAY = ("count", "split", "merge", "draw", "join")


def day_text(first: int, last: int) -> str:
    a, z = date.fromordinal(first).isoformat(), date.fromordinal(last).isoformat()
    return a if first == last else f"{a}/{z}"


def register() -> list[Entry]:
    """What the histories refer to, beyond the first house and person."""
    day = "2020-01-01"
    out = [
        {
            "kind": "house",
            "occurred": day,
            "payload": {"house": "BB", "name": "Second house", "time_zone": "Europe/Lisbon", "hemisphere": "north"},
        },
        {
            "kind": "party",
            "occurred": day,
            "payload": {"party": PARTY, "name": "A partner", "sort": "institution"},
        },
    ]
    for house in HOUSES:
        out += [
            {
                "kind": "enclosure",
                "occurred": day,
                "payload": {"enclosure": f"{house[0]}{n}", "name": f"Tank {n}", "house": house, "purpose": "exhibit"},
            }
            for n in (1, 2, 3)
        ]
    out += [
        {"kind": "taxon", "occurred": day, "payload": {"taxon": t, "rank": "species", "class": "Actinopterygii"}}
        for t in TAXA
    ]
    return out


class Scene:
    """What a person at the desk would see: the oracle's census by subject, and the names of ids."""

    def __init__(self, oracle: Oracle) -> None:
        self.oracle = oracle
        self.names: dict[str, str] = {}
        self.numbers = 0
        self.known = 0
        self.today = START

    def read(self, events: list[Mapping[str, Any]]) -> None:
        self.oracle.read(events)
        for event in events:
            self.known = event["seq"]
            for value in event["payload"].values():
                if isinstance(value, Mapping) and "as" in value:
                    self.names.setdefault(value["id"], value["as"])

    def name(self, of: str) -> str:
        return self.names.get(of, of)

    def subjects(self, prefix: str) -> list[str]:
        return [s for s in self.oracle.facts(self.known) if s.startswith(prefix)]

    def cells(self, subject: str, on: int) -> dict[Cell, int]:
        line = self.oracle.certain(subject, self.known)
        return at(line, on) if line else {}

    def new_number(self, letter: str) -> str:
        self.numbers += 1
        return f"{letter}-{self.numbers:03}-{chr(97 + self.numbers % 26)}"


def days(pick: Pick, day: int, one: bool) -> str:
    """A day, or a short range around it (two in five, unless the kind needs one day)."""
    wide = 0 if one else (0, 0, 0, 0, 0, 0, 1, 2, 3, 4)[pick(10)]
    before, after = ((0, 0), (1, 0), (0, 1), (1, 2), (2, 1))[wide]
    return day_text(day - before, day + after)


def enclosure(pick: Pick, house: str) -> str:
    return f"{house[0]}{pick(3) + 1}"


def other(house: str) -> str:
    return HOUSES[1 - HOUSES.index(house)]


def numbers(pick: Pick, sexes: Mapping[str, int], most: int = 3) -> dict[str, int]:
    """A few of those that are there; one time in sixteen more than there are."""
    have = [s for s, n in sexes.items() if n > 0]
    if not have:
        return {"u": 1}
    first = have[pick(len(have))]
    out = {LETTER[first]: min(sexes[first], 1 + pick(most)) + (pick(16) == 15)}
    if len(have) > 1 and pick(4) == 0:
        second = have[(have.index(first) + 1) % len(have)]
        out[LETTER[second]] = min(sexes[second], 1 + pick(2))
    return out


def arrival(pick: Pick, scene: Scene, day: int) -> Entry:
    """A new animal or lot, one way or another."""
    house = HOUSES[pick(4) == 0]
    animal = pick(2) == 0
    kind = ("opening", "hatching", "birth", "acquisition", "loan", "sale", "held_for_another")[pick(7)]
    p: dict[str, Any] = {"taxon": TAXA[pick(4) == 0], "enclosure": enclosure(pick, house)}
    if animal:
        p |= {"animal": scene.new_number("N"), "sex": ("male", "female", "unknown")[pick(3)]}
    else:
        p |= {"lot": scene.new_number("L"), "how_many": {"m": pick(4), "f": pick(4), "u": 1 + pick(6)}}
    if kind == "acquisition":
        p["manner"] = "wild_collection"
    if kind in ("loan", "sale", "held_for_another"):
        p |= {"from": PARTY, "to": house, "terms": kind}
        kind = "transfer"
    elif pick(6) == 0:
        p["owner"] = (PARTY, other(house))[pick(2)]
    return {"kind": kind, "occurred": days(pick, day, False), "payload": p}


def animal_act(pick: Pick, scene: Scene, subject: str, day: int) -> Entry | None:
    """Something that may happen to an animal that stands where it stands on that day."""
    p: dict[str, Any] = {"animal": scene.name(subject)}
    cells = scene.cells(subject, day)
    if not cells:
        kind, more = _gone(pick, p)
    else:
        cell = next(iter(cells))
        where = "held" if cell[PLACE].startswith("e-") else "away" if cell[PLACE].startswith("o-") else "lost"
        kind, more = {"held": _held, "away": _away, "lost": _lost}[where](pick, scene, cell)
    if not kind:
        return None
    return {"kind": kind, "occurred": days(pick, day, kind in ONE_DAY), "payload": p | more}


def _gone(pick: Pick, p: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Back from where nobody followed it; a finding after the end."""
    house = HOUSES[pick(3) == 0]
    if pick(3):
        terms = ("sale", "loan", "donation")[pick(3)]
        return "transfer", {"from": PARTY, "to": house, "terms": terms, "enclosure": enclosure(pick, house)}
    return "sexing", {"to": ("male", "female")[pick(2)]}


def _changes(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    if pick(4) == 0:
        more: dict[str, Any] = {"taxon": TAXA[scene.name(cell[0]) == TAXA[0]]}
        if pick(4) == 0:
            more["holds_since"] = "birth"
        return "redetermination", more
    if cell[SEX] == "unknown":
        more = {"to": ("male", "female")[pick(2)]}
        if pick(5) == 0:
            more["holds_since"] = "birth"
        return "sexing", more
    stage = ("completed", "completed", "completed", "first_sign")[pick(4)]
    return "sex_change", {"to": "female" if cell[SEX] == "male" else "male", "stage": stage}


def _held(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    house, owner = scene.name(cell[HOLDER]), scene.name(cell[OWNER])
    choice = pick(16)
    if choice < 4:
        return "move", {"to": enclosure(pick, house)}
    if choice < 8:
        return _changes(pick, scene, cell)
    if choice < 10:
        return ("death", "escape", "missing", "release")[pick(4)], {}
    if choice < 11:
        return "title_change", {"owner": PARTY if owner == house else house}
    if choice < 12:
        lots = scene.subjects("g-")
        return ("join", {"into": scene.name(lots[pick(len(lots))])}) if lots else ("", {})
    return _send(pick, scene, house, owner)


def _send(pick: Pick, scene: Scene, house: str, owner: str) -> tuple[str, dict[str, Any]]:
    """Out of a house: the terms fit the title, nearly always."""
    to = (PARTY, other(house))[pick(2)]
    if owner == house:
        terms = ("loan", "loan", "sale", "donation", "breeding_loan")[pick(5)]
    else:
        terms, to = "loan_return", owner if pick(8) else to
    if pick(16) == 15:
        terms = "loan_return"
    p: dict[str, Any] = {"from": house, "to": to, "terms": terms}
    if to in HOUSES:
        p["enclosure"] = enclosure(pick, to)
    return "transfer", p


def _away(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    owner = scene.name(cell[OWNER])
    choice = pick(8)
    if choice < 4:
        house = owner if owner in HOUSES else HOUSES[0]
        back = {"from": scene.name(cell[PLACE]), "to": house, "terms": "loan_return"}
        return "transfer", back | {"enclosure": enclosure(pick, house)}
    if choice < 5:
        return "death", {}
    if choice < 6:
        return "title_change", {"owner": (PARTY, *HOUSES)[pick(3)]}
    return _changes(pick, scene, cell)


def _lost(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    choice = pick(5)
    if choice < 3:
        return "recovery", {"enclosure": enclosure(pick, HOUSES[pick(4) == 0])}
    if choice < 4:
        return "death", {}
    return _changes(pick, scene, cell)


class Lot:
    """Where a lot's animals stand on a day, as its keeper would say it."""

    def __init__(self, scene: Scene, subject: str, day: int) -> None:
        self.scene = scene
        self.cells = dict(sorted(scene.cells(subject, day).items(), key=lambda c: [scene.name(x) for x in c[0]]))
        self.at: dict[str, dict[str, int]] = {}
        self.owners: dict[str, list[str]] = {}
        for cell, n in self.cells.items():
            sexes = self.at.setdefault(cell[PLACE], {})
            sexes[cell[SEX]] = sexes.get(cell[SEX], 0) + n
            owners = self.owners.setdefault(cell[PLACE], [])
            owners += [scene.name(cell[OWNER])] if scene.name(cell[OWNER]) not in owners else []

    def places(self, prefix: str) -> list[str]:
        """By name: ids are drawn at random, and a history must not depend on them."""
        return sorted((p for p in self.at if p.startswith(prefix)), key=self.scene.name)

    def holder(self, scene: Scene, place: str) -> str:
        return next(scene.name(c[HOLDER]) for c in self.cells if c[PLACE] == place)


def lot_act(pick: Pick, scene: Scene, subject: str, day: int) -> Entry | None:
    """Something that may happen to a lot or to part of it."""
    lot = Lot(scene, subject, day)
    base: dict[str, Any] = {"lot": scene.name(subject)}
    held, away = lot.places("e-"), lot.places("o-")
    lost = [w for w in ("escaped", "missing") if w in lot.at]
    where = pick(10)
    if lost and where < 3:
        kind, more = _lost_part(pick, scene, lot, lost[pick(len(lost))])
    elif away and where < 7:
        kind, more = _away_part(pick, scene, lot, away[pick(len(away))])
    elif held:
        kind, more = _held_part(pick, scene, subject, lot, held[pick(len(held))])
    else:
        kind, more = _into(pick, scene, subject)
    if kind == "merge" and pick(2):
        base, more = {"lot": more["into"]}, {**more, "into": base["lot"]}
        more.pop("from", None)
    if not kind:
        return None
    return {"kind": kind, "occurred": days(pick, day, kind in ONE_DAY), "payload": {**base, **more}}


def _into(pick: Pick, scene: Scene, subject: str) -> tuple[str, dict[str, Any]]:
    house = HOUSES[pick(4) == 0]
    kind = ("hatching", "birth", "acquisition")[pick(3)]
    p: dict[str, Any] = {"into": scene.name(subject), "how_many": {"u": 1 + pick(4)}, "enclosure": enclosure(pick, house)}
    if kind == "acquisition":
        p["manner"] = "wild_collection"
    cells = scene.cells(subject, START + 10**4)
    if cells:
        p["taxon"] = scene.name(next(iter(cells))[0])
    else:
        p["taxon"] = TAXA[0]
    return kind, p


def _whose(pick: Pick, lot: Lot, place: str) -> dict[str, str]:
    owners = lot.owners[place]
    return {"owned_by": owners[pick(len(owners))]} if len(owners) > 1 and pick(8) else {}


def _held_part(pick: Pick, scene: Scene, subject: str, lot: Lot, place: str) -> tuple[str, dict[str, Any]]:
    sexes, house = lot.at[place], lot.holder(scene, place)
    several = len(lot.places("e-")) > 1
    frm = {"from": scene.name(place)} if several or pick(3) == 0 else {}
    part = {"how_many": numbers(pick, sexes)} | frm | _whose(pick, lot, place)
    choice = pick(24)
    if choice < 3:
        found = {"sex_found": ("male", "female")[pick(2)]} if list(part["how_many"]) == ["u"] and pick(3) == 0 else {}
        return "death", part | found
    if choice < 6:
        return "move", part | {"to": enclosure(pick, house)}
    if choice < 7:
        return "move", {"to": enclosure(pick, house)}
    if choice < 10:
        return "count", _count(pick, scene, lot, place, several)
    if choice < 12:
        return _sexes(pick, sexes, {k: part[k] for k in part if k in ("from", "owned_by")})
    if choice < 13:
        return "redetermination", {"taxon": TAXA[scene.name(next(iter(lot.cells))[0]) == TAXA[0]]}
    if choice < 15:
        return ("escape", "missing", "release")[pick(3)], part
    if choice < 16:
        owner = {"owner": (PARTY, *HOUSES)[pick(3)]}
        return "title_change", owner | ({k: part[k] for k in part if k in ("how_many", "from")} if pick(2) else {})
    if choice < 20:
        return _passed(pick, scene, subject, lot, part, house)
    if choice < 21:
        return _into(pick, scene, subject)
    return _send_part(pick, scene, lot, place, several)


def _count(pick: Pick, scene: Scene, lot: Lot, place: str, several: bool) -> dict[str, Any]:
    counted = {LETTER[s]: max(0, n + (0, 0, 0, -1, 1, -2)[pick(6)]) for s, n in lot.at[place].items()}
    where = {"enclosure": scene.name(place)} if several or pick(2) else {}
    return {"how_many": counted, **where, **_whose(pick, lot, place)}


def _sexes(pick: Pick, sexes: Mapping[str, int], where: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    known = [s for s in sexes if s in ("male", "female")]
    if sexes.get("unknown") and pick(2):
        to = ("male", "female")[pick(2)]
        return "sexing", where | {"how_many": {"u": min(sexes["unknown"], 1 + pick(2))}, "to": to}
    if not known:
        return "", {}
    sex = known[pick(len(known))]
    to = "female" if sex == "male" else "male"
    p = where | {"how_many": {LETTER[sex]: min(sexes[sex], 1 + pick(2))}, "to": to, "stage": "completed"}
    p.pop("owned_by", None)
    return "sex_change", p


def _passed(
    pick: Pick, scene: Scene, subject: str, lot: Lot, part: dict[str, Any], house: str
) -> tuple[str, dict[str, Any]]:
    part = {k: v for k, v in part.items() if k != "owned_by"}
    to = {"to": enclosure(pick, house)} if pick(2) else {}
    choice = pick(3)
    if choice == 0:
        return "split", part | to | {"new": scene.new_number("L")}
    if choice == 1:
        letter = next(iter(part.pop("how_many")))
        word = next(w for w, k in LETTER.items() if k == letter)
        return "draw", part | to | {"new": scene.new_number("N"), "sex": word}
    lots = [s for s in scene.subjects("g-") if s != subject]
    if not lots:
        return "", {}
    return "merge", part | {"into": scene.name(lots[pick(len(lots))])}


def _send_part(pick: Pick, scene: Scene, lot: Lot, place: str, several: bool) -> tuple[str, dict[str, Any]]:
    house = lot.holder(scene, place)
    kind, p = _send(pick, scene, house, lot.owners[place][0])
    if pick(4):
        p["how_many"] = numbers(pick, lot.at[place])
        if several or pick(3) == 0:
            p["leaving"] = scene.name(place)
    return kind, p


def _away_part(pick: Pick, scene: Scene, lot: Lot, place: str) -> tuple[str, dict[str, Any]]:
    part: dict[str, Any] = {"how_many": numbers(pick, lot.at[place])}
    owner, choice = lot.owners[place][0], pick(8)
    if choice < 5:
        back = {"from": scene.name(place), "to": owner, "terms": "loan_return"}
        if owner not in HOUSES:
            return "", {}
        return "transfer", back | {"enclosure": enclosure(pick, owner)} | (part if pick(3) else {})
    if choice < 6:
        return "death", part | {"from": scene.name(place)}
    if choice < 7:
        return "title_change", part | {"owner": PARTY, "from": scene.name(place)}
    return _sexes(pick, lot.at[place], {"from": scene.name(place)})


def _lost_part(pick: Pick, scene: Scene, lot: Lot, word: str) -> tuple[str, dict[str, Any]]:
    part: dict[str, Any] = {"how_many": numbers(pick, lot.at[word]), "from": word}
    if pick(4) == 0:
        return "death", part
    return "recovery", part | {"enclosure": enclosure(pick, HOUSES[pick(4) == 0])}


def entry(pick: Pick, scene: Scene) -> Entry | None:
    """One entry: mostly of today or the days after, one time in four of a day long past."""
    animals, lots = scene.subjects("a-"), scene.subjects("g-")
    late = pick(4) == 0
    scene.today = min(scene.today + (0 if late else pick(3)), START + SPAN)
    day = START + pick(scene.today - START + 1) if late else scene.today
    if not animals and not lots or pick(7 + 2 * len(animals + lots)) < 3:
        return arrival(pick, scene, day)
    if lots and (not animals or pick(5) < 3):
        return lot_act(pick, scene, lots[pick(len(lots))], day)
    return animal_act(pick, scene, animals[pick(len(animals))], day)


def correction(pick: Pick, scene: Scene) -> tuple[int, dict[str, Any], str | None] | None:
    """(event, changed fields, new date or none): a standing event said otherwise."""
    facts = _standing(scene)
    if not facts:
        return None
    f = facts[pick(len(facts))]
    shift, wider = (0, 0, -1, 1, 2)[pick(5)], 0 if f.kind in ONE_DAY else pick(2)
    occurred = day_text(f.first + shift, f.last + shift + wider) if shift or wider else None
    changes: dict[str, Any] = {}
    if pick(2):
        p = f.payload
        if "how_many" in p:
            who = dict(p["how_many"])
            sex = sorted(who)[pick(len(who))] if who else "u"
            changes["how_many"] = {**who, sex: max(0, who.get(sex, 0) + (1, -1)[pick(2)])}
        elif f.kind == "move":
            changes["to"] = scene.name(ident(p["to"]))[0] + str(pick(3) + 1)
        elif "sex" in p and f.kind != "draw":
            changes["sex"] = ("male", "female", "unknown")[pick(3)]
    if not changes and occurred is None:
        changes["note"] = f"better said {pick(1000)}"
    return f.seq, changes, occurred


def _standing(scene: Scene) -> list[Fact]:
    seen = {f.seq: f for facts in scene.oracle.facts(scene.known).values() for f in facts}
    return [seen[k] for k in sorted(seen)]


def struck(pick: Pick, scene: Scene) -> int | None:
    """A standing event to strike out; the newest more often, since it stands in nobody's way."""
    facts = _standing(scene)
    if not facts:
        return None
    return facts[len(facts) - 1 - min(pick(len(facts)), pick(len(facts)))].seq
