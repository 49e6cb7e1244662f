"""Mostly plausible histories: entries in typed form, proposed from what the oracle says stands.

Two member houses (AA, BB), one outside party (PX), three enclosures each (A1…B3), two taxa.
"""

from __future__ import annotations

from typing import Any

from oracle.log import Fact, ident
from oracle.lots import lot_act
from oracle.scene import (
    HOUSES,
    ONE_DAY,
    PARTY,
    SPAN,
    START,
    TAXA,
    Cell,
    Entry,
    Pick,
    Scene,
    day_text,
    days,
    enclosure,
    other,
    send,
    underway,
)
from oracle.world import HOLDER, OWNER, PLACE, SEX

STANDINGS = ("collection", "study", "feeder")


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


def arrival(pick: Pick, scene: Scene, day: int) -> Entry:
    """A new animal or lot, one way or another."""
    house = HOUSES[pick(4) == 0]
    animal = pick(2) == 0
    kinds = ("opening", "hatching", "birth", "acquisition", "propagation", "loan", "sale", "held_for_another")
    kind = kinds[pick(8)]
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
    return {"kind": kind, "occurred": days(pick, day), "payload": p}


def animal_act(pick: Pick, scene: Scene, subject: str, day: int) -> Entry | None:
    """Something that may happen to an animal that stands where it stands on that day."""
    p: dict[str, Any] = {"animal": scene.name(subject)}
    cells = scene.cells(subject, day)
    if not cells:
        kind, more = _gone(pick, scene, subject, day)
    else:
        cell = next(iter(cells))
        where = "held" if cell[PLACE].startswith("e-") else "away" if cell[PLACE].startswith("o-") else "lost"
        where = "underway" if cell[PLACE] == "in_transit" else where
        told = {"held": _held, "away": _away, "lost": _lost, "underway": _underway}
        kind, more = told[where](pick, scene, cell)
    if not kind:
        return None
    more = underway(pick, kind, more, day)
    if kind == "propagation":  # of what is made; the animal itself is what it was made from, and nothing remained
        p = {"made_from": p["animal"], "animal": scene.new_number("N"), "source_remains": False}
    return {"kind": kind, "occurred": days(pick, day, one=kind in ONE_DAY), "payload": p | more}


def _gone(pick: Pick, scene: Scene, subject: str, day: int) -> tuple[str, dict[str, Any]]:
    """Back from where nobody followed it; a finding after the end."""
    house = HOUSES[pick(3) == 0]
    sold = any(place.startswith("o-") and n > 0 for place, n in scene.places(subject, day).items())
    if pick(3) and sold:
        terms = ("sale", "loan", "donation")[pick(3)]
        return "transfer", {"from": PARTY, "to": house, "terms": terms, "enclosure": enclosure(pick, house)}
    if "unknown" in scene.sexes(subject) and pick(8):
        return "sexing", {"to": ("male", "female")[pick(2)]}
    return "", {}


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
    if choice < 9 and pick(3) == 0:
        return "propagation", {"enclosure": enclosure(pick, house), "made_how": "division"}
    if choice < 9:
        return "standing_change", {"standing": STANDINGS[pick(3)]}
    if choice < 10:
        return ("death", "escape", "missing", "release")[pick(4)], {}
    if choice < 11:
        return "title_change", {"owner": PARTY if owner == house else house}
    if choice < 12:
        lots = scene.like({cell[0]}, scene.subjects("g-"), pick)
        return ("join", {"into": scene.name(lots[pick(len(lots))])}) if lots else ("", {})
    return send(pick, scene, house, owner)


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


def _underway(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    return ("death", {"in_transit": True}) if pick(3) == 0 else _changes(pick, scene, cell)


def _lost(pick: Pick, scene: Scene, cell: Cell) -> tuple[str, dict[str, Any]]:
    choice = pick(5)
    if choice < 3:
        return "recovery", {"enclosure": enclosure(pick, HOUSES[pick(4) == 0])}
    if choice < 4:
        return "death", {}
    return _changes(pick, scene, cell)


def entry(pick: Pick, scene: Scene) -> Entry | None:
    """One entry: mostly of today or the days after, one time in four of a day long past."""
    animals, lots = scene.subjects("a-"), scene.subjects("g-")
    late = pick(4) == 0
    scene.today = min(scene.today + (0 if late else pick(3)), START + SPAN)
    day = START + pick(scene.today - START + 1) if late else scene.today
    if (not animals and not lots) or pick(7 + 2 * len(animals + lots)) < 3:
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
