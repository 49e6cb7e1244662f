"""Real nests in a real book: 344 penguins at 172 nests, the report's figures against plain counts over the table."""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import ledger
from ledger.chance import SeededChance
from ledger.findings import CODES
from ledger.read import AsOf, Copy, Names
from reports.brood_rates import rates
from reports.broods import frame
from reports.census import census
from reports.clutches import clutches
from reports.common import Basis

TABLE = Path(__file__).parent / "data" / "penguin_clutches.csv"
TAXA = {"Adelie": "Pygoscelis adeliae", "Chinstrap": "Pygoscelis antarcticus", "Gentoo": "Pygoscelis papua"}
SEX = {"MALE": "m", "FEMALE": "f", "": "u"}
WARNINGS = {code.name: "records of old" for code in CODES if code.weight == "warning"}
Row = dict[str, str]
Nest = tuple[str, str, str, str]


def table() -> list[Row]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def nest_of(row: Row) -> Nest:
    return row["season"], row["species"], row["island"], row["individual_id"][:-2]


def number(row: Row) -> str:
    """Ids restart: a number of the book says where and when they did."""
    return "-".join((*nest_of(row), row["individual_id"][-2:]))


def entries(rows: list[Row]) -> list[dict[str, Any]]:
    nests: dict[Nest, list[Row]] = defaultdict(list)
    for row in rows:
        nests[nest_of(row)].append(row)
    out = [
        _entry("enclosure", "2007-01-01", enclosure=i, name=f"Colony of {i}", house="MS", purpose="exhibit")
        for i in sorted({row["island"] for row in rows})
    ]
    out += [_entry("taxon", "2007-01-01", taxon=t, rank="species", **{"class": "Aves"}) for t in TAXA.values()]
    for row in rows:
        facts = {"taxon": TAXA[row["species"]], "sex": SEX[row["sex"]], "enclosure": row["island"]}
        out.append(_entry("opening", "2007-10-01", animal=number(row), **facts))
    for nest, birds in nests.items():
        sexes = {row["sex"]: number(row) for row in birds}
        parents = {"dam": sexes["FEMALE"], "sire": sexes["MALE"]} if {"MALE", "FEMALE"} <= set(sexes) else {}
        out.append(
            _entry(
                "brood",
                birds[0]["egg_date"],
                brood="-".join(nest),
                nest=nest[3],
                taxon=TAXA[nest[1]],
                mode="nest",
                enclosure=nest[2],
                carers=[{"carer": number(row)} for row in birds],
                clutch_complete=birds[0]["clutch_complete"] == "Yes",
                **parents,
            )
        )
    return out


def _entry(kind: str, occurred: str, **payload: Any) -> dict[str, Any]:
    return {"kind": kind, "occurred": occurred, "payload": payload}


@pytest.fixture(scope="module")
def asked() -> tuple[Copy, Names, AsOf]:
    person = {"person": "ADA", "name": "Ada Quill", "role": "registrar"}
    house = {"house": "MS", "name": "Marrow Sound Aquarium", "time_zone": "Europe/Lisbon", "hemisphere": "south"}
    chance = SeededChance("penguins", "2010-01-05T09:00:00Z")
    book = ledger.new_book(":memory:", person=person, house=house, chance=chance, occurred="2007-01-01")
    outcome = book.append(entries(table()), by="ADA", accept=WARNINGS)
    assert outcome.landed, [f.sentence() for f in outcome.findings][:5]
    copy = Copy(book.store)
    asof = AsOf(date(2010, 1, 1), copy.head.position)
    return copy, Names(copy, asof), asof


def test_every_bird_has_a_number_though_ids_restart(asked: tuple[Copy, Names, AsOf]) -> None:
    rows = table()
    assert (len(rows), len({row["individual_id"] for row in rows}), len({number(row) for row in rows})) == (
        344,
        190,
        344,
    )
    copy, names, asof = asked
    birds = census(copy, names, asof, Basis("held", ""), ["taxon"])
    assert [int(birds[sex].sum()) for sex in "mfu"] == [168, 165, 11]


def test_172_nests_with_two_birds_each(asked: tuple[Copy, Names, AsOf]) -> None:
    copy, names, asof = asked
    found = clutches(copy, names, asof)
    assert len(found) == 172
    assert {len(one.cares) for one in found} == {2}
    assert len({number for one in found for number in (c.carer for c in one.cares)}) == 344


def test_the_report_counts_as_the_table_does(asked: tuple[Copy, Names, AsOf]) -> None:
    copy, names, asof = asked
    rows, found = table(), frame(clutches(copy, names, asof), names, asof.on)
    assert int(found["complete"].sum()) * 2 == sum(row["clutch_complete"] == "Yes" for row in rows) == 308
    plain: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in rows:
        plain[TAXA[row["species"]], row["season"]].append(row)
    got = {
        (str(taxon), str(season)): group
        for (taxon, season), group in found.with_columns(season=pl.col("brood").str.slice(0, 7)).group_by(
            "taxon", "season"
        )
    }
    assert set(got) == set(plain)
    for key, group in got.items():
        days = [date.fromisoformat(row["egg_date"]) for row in plain[key]]
        assert group.height == len({nest_of(row) for row in plain[key]})
        assert int(group["complete"].sum()) * 2 == sum(row["clutch_complete"] == "Yes" for row in plain[key])
        assert (group["start"].min(), group["start"].max()) == (min(days), max(days))


def test_pairs_are_those_whose_sexes_are_known(asked: tuple[Copy, Names, AsOf]) -> None:
    copy, names, asof = asked
    sexes: dict[Nest, Counter[str]] = defaultdict(Counter)
    for row in table():
        sexes[nest_of(row)][row["sex"]] += 1
    both = sum(set(s) == {"MALE", "FEMALE"} for s in sexes.values())
    pairings = rates(clutches(copy, names, asof), names, asof.on, "pairing")
    settled = pairings.filter(pl.col("group") != "not settled")
    assert (settled.height, int(pairings["broods"].sum())) == (both, 172)
    assert set(pairings["left_out_why"].str.replace(r"^\d+ ", "")) == {"eggs not counted"}


def test_as_of_a_season_only_its_nests_are_there(asked: tuple[Copy, Names, AsOf]) -> None:
    copy, names, asof = asked
    for day in (date(2007, 11, 14), date(2008, 11, 10), date(2009, 6, 1)):
        rows = {nest_of(row) for row in table() if date.fromisoformat(row["egg_date"]) <= day}
        assert len(clutches(copy, names, asof._replace(on=day))) == len(rows)
