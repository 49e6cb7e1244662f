"""What may happen to a lot that stands in one place or in several: part acts mostly, and acts on all of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from oracle.scene import (
    HOUSES,
    LETTER,
    ONE_DAY,
    PARTY,
    START,
    TAXA,
    Entry,
    Pick,
    Scene,
    days,
    enclosure,
    numbers,
    send,
    told_or_not,
    underway,
)
from oracle.world import ARRIVALS, HOLDER, OWNER, PLACE, SEX


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
    more = underway(pick, kind, more, day)
    if kind == "count" and pick(5) == 0:
        more["before"] = True
    elif kind == "count" and pick(5) == 0:
        more["stands_for"] = date.fromordinal(day - 1 - pick(3)).isoformat()
    if kind == "merge" and pick(2):
        base, more = {"lot": more["into"]}, {**more, "into": base["lot"]}
        more.pop("from", None)
    if not kind:
        return None
    if "into" in more and kind in ARRIVALS:
        base = {}
    return {"kind": kind, "occurred": days(pick, day, one=kind in ONE_DAY), "payload": {**base, **more}}


def _into(pick: Pick, scene: Scene, subject: str) -> tuple[str, dict[str, Any]]:
    house = HOUSES[pick(4) == 0]
    kind = ("hatching", "birth", "acquisition", "propagation")[pick(4)]
    p: dict[str, Any] = {"into": scene.name(subject), "how_many": {"u": 1 + pick(4)}}
    p["enclosure"] = enclosure(pick, house)
    if kind == "acquisition":
        p["manner"] = "wild_collection"
    cells = scene.cells(subject, START + 10**4)
    if not cells:
        return kind, p | {"taxon": TAXA[0]}
    first = min(cells, key=lambda c: [scene.name(x) for x in c])
    if pick(2):
        p["taxon"] = scene.name(first[0])
    if pick(8):
        p["owner"] = scene.name(first[OWNER])
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
    if choice < 7:
        return _died_or_moved(pick, house, part, choice)
    if choice < 10:
        return "count", _count(pick, scene, lot, place, several=several)
    if choice < 12:
        return _sexes(pick, sexes, {k: part[k] for k in part if k in ("from", "owned_by")})
    if choice < 16:
        return _lost_or_said(pick, scene, lot, part, choice)
    if choice < 20:
        return _passed(pick, scene, subject, part, house)
    if choice < 21:
        return _into(pick, scene, subject)
    return _send_part(pick, scene, lot, place, several=several)


def _died_or_moved(pick: Pick, house: str, part: dict[str, Any], choice: int) -> tuple[str, dict[str, Any]]:
    part = part | {"how_many": told_or_not(pick, part["how_many"])}
    if choice < 3:
        untold = list(part["how_many"]) == ["u"] and pick(3) == 0
        return "death", part | ({"sex_found": ("male", "female")[pick(2)]} if untold else {})
    return "move", (part if choice < 6 else {}) | {"to": enclosure(pick, house)}


def _lost_or_said(pick: Pick, scene: Scene, lot: Lot, part: dict[str, Any], choice: int) -> tuple[str, dict[str, Any]]:
    if choice < 13:
        return "redetermination", {"taxon": TAXA[scene.name(next(iter(lot.cells))[0]) == TAXA[0]]}
    if choice < 15:
        part = part | {"how_many": told_or_not(pick, part["how_many"])}
        return ("escape", "missing", "release", "fed_out")[pick(4)], part
    some = {k: part[k] for k in part if k in ("how_many", "from")} if pick(2) else {}
    if pick(3) == 0:
        return "standing_change", some | {"standing": ("collection", "study", "feeder")[pick(3)]}
    return "title_change", some | {"owner": (PARTY, *HOUSES)[pick(3)]}


def _count(pick: Pick, scene: Scene, lot: Lot, place: str, *, several: bool) -> dict[str, Any]:
    counted = {LETTER[s]: max(0, n + (0, 0, 0, -1, 1, -2)[pick(6)]) for s, n in lot.at[place].items()}
    where = {"enclosure": scene.name(place)} if several or pick(2) else {}
    counted = told_or_not(pick, counted)
    if pick(4) == 0:
        where["is"] = ("deaths_not_seen", "young_not_seen", "miscount_of_estimate")[pick(3)]
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


def _passed(pick: Pick, scene: Scene, subject: str, part: dict[str, Any], house: str) -> tuple[str, dict[str, Any]]:
    part = {k: v for k, v in part.items() if k != "owned_by"}
    to = {"to": enclosure(pick, house)} if pick(2) else {}
    choice = pick(3)
    if choice == 0:
        return "split", part | to | {"new": scene.new_number("L")}
    if choice == 1:
        letter = next(iter(part.pop("how_many")))
        word = next(w for w, k in LETTER.items() if k == letter)
        return "draw", part | to | {"new": scene.new_number("N"), "sex": word}
    lots = scene.like(scene.taxa(subject), [s for s in scene.subjects("g-") if s != subject], pick)
    if not lots:
        return "", {}
    more = {"to": enclosure(pick, house)} if pick(2) else {}
    return "merge", part | more | {"into": scene.name(lots[pick(len(lots))])}


def _send_part(pick: Pick, scene: Scene, lot: Lot, place: str, *, several: bool) -> tuple[str, dict[str, Any]]:
    house = lot.holder(scene, place)
    kind, p = send(pick, scene, house, lot.owners[place][0])
    if pick(4):
        p["how_many"] = told_or_not(pick, numbers(pick, lot.at[place]))
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
    part: dict[str, Any] = {"how_many": told_or_not(pick, numbers(pick, lot.at[word])), "from": word}
    if pick(4) == 0:
        return "death", part
    return "recovery", part | {"enclosure": enclosure(pick, HOUSES[pick(4) == 0])}
