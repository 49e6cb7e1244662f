"""Open pedigrees entered as a real book: parents, siblings and kinships are those of the tables.

Sources and licences: `data/pedigree/README.md`. Siblings are worked out here from the table of parents, plainly: full
where both parents are known and the same two, in whatever role; half where exactly one is shared.
"""

from __future__ import annotations

import csv
import json
from contextlib import closing
from datetime import date
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple

import pytest

import ledger
from ledger.chance import SeededChance
from ledger.findings import CODES
from ledger.read import AsOf, Copy, Names
from reports.kin import FULL, HALF, OFFSPRING, PARENT, kin
from reports.kinship import Kinship
from reports.parents import family

DATA = Path(__file__).parent / "data"
ACCEPT = {c.name: "taken as it is" for c in CODES if c.weight == "warning"}
PEDIGREES = sorted(path.parent.name for path in (DATA / "pedigree").glob("*/pedigree.csv"))
UNCERTAIN = sorted(path.parent.name for path in (DATA / "uncertain_parentage").glob("*/animals.csv"))
ON = date(2024, 1, 1)


class Loaded(NamedTuple):
    copy: Copy
    names: Names
    asof: AsOf
    ids: dict[str, str]  # id of the table -> id of the book


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def in_order(pedigree: list[dict[str, str]]) -> list[dict[str, str]]:
    """Parents before their young, as they can be entered."""
    waiting, done, out = list(pedigree), {""}, []
    while waiting:
        ready = [row for row in waiting if {row["sire"], row["dam"]} <= done]
        assert ready, "a circle"
        out += ready
        done |= {row["id"] for row in ready}
        waiting = [row for row in waiting if row["id"] not in done]
    return out


def loaded(entries: list[tuple[str, dict[str, Any]]]) -> Loaded:
    """A book in memory with these entries, and what is read of it."""
    book = ledger.new_book(
        ":memory:",
        person={"person": "CL", "name": "A clerk", "role": "registrar"},
        house={"house": "AA", "name": "First house", "time_zone": "Europe/Lisbon", "hemisphere": "north"},
        chance=SeededChance(1, "2024-06-01T08:00:00Z"),
        occurred="2019-01-01",
    )
    # the taxon can be of both sexes at once: some tables have one animal in both roles, or mated with itself
    fish = {"taxon": "Piscis fictus", "rank": "species", "class": "Fishes", "sexual_system": "both_at_once"}
    tank = {"enclosure": "A1", "name": "Tank", "house": "AA", "purpose": "reserve"}
    every = [("taxon", fish), ("enclosure", tank), *entries]
    batch = [{"kind": kind, "occurred": "2020-01-01", "payload": payload} for kind, payload in every]
    for cut in range(0, len(batch), 400):
        outcome = book.append(batch[cut : cut + 400], by="CL", accept=ACCEPT)
        assert outcome.landed, outcome.findings[:2]
    copy = Copy(book.store)
    asof = AsOf(ON, copy.head.position)
    names = Names(copy, asof)
    ids = {row["number"]: row["subject"] for row in names.numbers.iter_rows(named=True)}
    return Loaded(copy, names, asof, ids)


def animal(number: str, **more: Any) -> tuple[str, dict[str, Any]]:
    known = {field: value for field, value in more.items() if value}
    return "opening", {"animal": number, "taxon": "Piscis fictus", "enclosure": "A1", **known}


def of_table(name: str) -> tuple[Loaded, dict[str, tuple[str, str]]]:
    """The pedigree as a book, and its parents as the table has them: id -> (sire, dam)."""
    pedigree = rows(DATA / "pedigree" / name / "pedigree.csv")
    book = loaded([animal(row["id"], dam=row["dam"], sire=row["sire"]) for row in in_order(pedigree)])
    return book, {row["id"]: (row["sire"], row["dam"]) for row in pedigree}


@pytest.mark.parametrize("name", PEDIGREES)
def test_kinships_are_those_of_the_table(name: str) -> None:
    book, _ = of_table(name)
    table = rows(DATA / "pedigree" / name / "kinship.csv")
    wanted = {(row["a"], row["b"]): float(row["kinship"]) for row in table}
    assert wanted
    with closing(book.copy):
        known = Kinship(family(book.copy, book.asof).of, {book.ids[one] for two in wanted for one in two})
    got = {two: known.between(*(book.ids[one] for one in two)) for two in wanted}
    assert got == pytest.approx(wanted, abs=1e-12)


def test_the_textbook_relationships() -> None:
    book, _ = of_table("textbook_relationships")
    table = json.loads(
        (DATA / "pedigree" / "textbook_relationships" / "relationships.json").read_text(encoding="utf-8")
    )
    known = Kinship(family(book.copy, book.asof).of, [book.ids[row[end]] for row in table for end in "ab"])
    for row in table:
        assert known.between(book.ids[row["a"]], book.ids[row["b"]]) == row["kinship"], row["relationship"]


@pytest.mark.parametrize("name", PEDIGREES)
def test_parents_siblings_and_young_are_those_of_the_table(name: str) -> None:
    book, parents = of_table(name)
    some = sorted(parents)[:: max(1, len(parents) // 12)]
    back = {subject: number for number, subject in book.ids.items()}
    for one in some:
        frame = kin(book.copy, book.names, book.asof, book.ids[one]).rows
        got: dict[str, set[str]] = {}
        for row in frame.iter_rows(named=True):
            got.setdefault(row["relation"], set()).add(back.get(row["subject"], ""))
        mine = parents[one]
        assert got.get(PARENT, set()) - {""} == set(mine) - {""}
        assert got.get(OFFSPRING, set()) == {x for x, two in parents.items() if one in two}
        known = {p for p in mine if p}
        full = {x for x, two in parents.items() if x != one and all(mine) and sorted(two) == sorted(mine)}
        half = {x for x, two in parents.items() if x != one and known & set(two)} - full
        assert got.get(FULL, set()) == full
        assert got.get(HALF, set()) >= {x for x in half if len(known) == 2 and all(parents[x])}
        assert set().union(*(got.get(r, set()) for r in got if "sibling" in r)) >= full | half


@pytest.mark.parametrize("name", UNCERTAIN)
def test_kinships_over_uncertain_parents(name: str) -> None:
    folder = DATA / "uncertain_parentage" / name
    animals, draws = rows(folder / "animals.csv"), rows(folder / "parent_pairs.csv")
    pairs: dict[str, list[dict[str, str]]] = {}
    for row in draws:
        pair = {role: row[role] for role in ("dam", "sire") if row[role]}
        pairs.setdefault(row["parentage_draw"], []).append({**pair, "weight": str(Fraction(row["probability"]))})
    entries: list[tuple[str, dict[str, Any]]] = []
    for row in animals:
        draw = row["parentage_draw"]
        entries.append(animal(row["id"]))
        shared = sum(other["parentage_draw"] == draw for other in animals) > 1
        if draw and not shared:
            entries.append(("parentage", {"animal": row["id"], "parents": pairs[draw], "basis": "genetic"}))
        elif draw:
            brood = (
                "brood",
                {"brood": draw, "taxon": "Piscis fictus", "mode": "nest", "parents": pairs[draw], "draw": "one"},
            )
            entries = [e for e in entries if e[1].get("animal") != row["id"]]
            entries += [brood] if brood not in entries else []
            born = {"animal": row["id"], "taxon": "Piscis fictus", "enclosure": "A1", "brood": draw}
            entries.append(("birth", born))
    book = loaded(entries)
    expected = json.loads((folder / "expected.json").read_text(encoding="utf-8"))
    known = Kinship(family(book.copy, book.asof).of, [book.ids[row["id"]] for row in animals])
    for a, b, value in expected["expected_kinship"]:
        assert known.between(book.ids[a], book.ids[b]) == pytest.approx(float(Fraction(value)), abs=1e-12), (a, b)
    for one, value in expected["expected_inbreeding"].items():
        assert known.inbreeding(book.ids[one]) == pytest.approx(float(Fraction(value)), abs=1e-12), one


def test_the_tables_can_fail() -> None:
    """The canary: one sire exchanged, and the kinships are others."""
    pedigree = rows(DATA / "pedigree" / "hand_unequal" / "pedigree.csv")
    wanted = {(r["a"], r["b"]): float(r["kinship"]) for r in rows(DATA / "pedigree" / "hand_unequal" / "kinship.csv")}
    changed = 0
    for one, other in combinations([row for row in pedigree if row["sire"]], 2):
        if one["sire"] == other["sire"] or other["sire"] == one["id"]:
            continue
        wrong = [{**row, "sire": other["sire"]} if row is one else row for row in pedigree]
        book = loaded([animal(row["id"], dam=row["dam"], sire=row["sire"]) for row in in_order(wrong)])
        known = Kinship(family(book.copy, book.asof).of, book.ids.values())
        changed += any(known.between(book.ids[a], book.ids[b]) != n for (a, b), n in wanted.items())
        break
    assert changed
