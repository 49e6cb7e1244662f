"""The command `pairs`, its page with pictures, and the notebook: what they say, and that they say the same."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import cli_house
import pytest
from test_page import is_whole

import ledger
from ledger.chance import SeededChance
from ledger.read import Copy
from reports import bond_charts, notebook, pair_page, theme
from reports.pairs import SCHEMA

NOTEBOOK = notebook.NOTEBOOK.with_name("pair_histories.ipynb")
TAXON = "Hippocampus kuda"
COMMON = "<b>seahorse</b>"
HOUSE = {"house": "MS", "name": "Marrow Sound Aquarium", "time_zone": "Europe/Lisbon", "hemisphere": "north"}
STORY = [
    ("enclosure", "2025-01-01", {"enclosure": "T3", "name": "Tank 3", "house": "MS", "purpose": "reserve"}),
    ("taxon", "2025-01-01", {"taxon": TAXON, "rank": "species", "common_name": COMMON, "class": "Actinopterygii",
     "sexual_system": "gonochoristic", "mates": "one"}),
    *(("opening", "2025-01-01", {"animal": n, "sex": n[0].lower(), "taxon": TAXON, "enclosure": "T3"})
      for n in ("F1", "M1", "M2")),
    ("pairing", "2025-01-10", {"a": "F1", "b": "M1", "basis": "greeting"}),
    ("courtship", "2025-02-01", {"by": ["F1"], "with": ["M1"], "act": "greeting", "seen": 2, "watched": 3}),
    ("death", "2025-05-05/2025-05-07", {"animal": "M1"}),
    ("pairing", "2025-06-20", {"a": "F1", "b": "M2", "basis": "introduced"}),
    ("brood", "2025-07-01", {"brood": "B1", "taxon": TAXON, "dam": "F1", "sire": "M2", "carrier": "M2",
     "mode": "pouch"}),
]  # fmt: skip
ON = "2025-12-31"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> cli_house.House:
    place = tmp_path_factory.mktemp("pairs") / "tidemark.sqlite"
    chance = SeededChance("pairs", "2026-01-05T09:00:00Z")
    book = ledger.new_book(str(place), person={"person": "ADA"}, house=HOUSE, chance=chance, occurred="2025-01-01")
    entries = [{"kind": kind, "occurred": day, "payload": payload} for kind, day, payload in STORY]
    outcome = book.append(entries, by="ADA", accept={"late": "told in the test"})
    assert outcome.landed, outcome.findings
    book.close()
    return cli_house.House(place)


@pytest.fixture(scope="module")
def made(house: cli_house.House) -> pair_page.PairPage:
    copy = Copy(ledger.open_book(str(house.path)).store)
    return pair_page.from_words(copy, on=ON, house="MS", known_at=f"@{copy.head.position}")


def test_the_table_says_what_it_stands_on_and_how_each_bond_stood(house: cli_house.House) -> None:
    said = house.run("pairs", "--on", ON)
    assert said.exit_code == 0, said.output
    head, first, second = said.output.splitlines()[0], *said.output.splitlines()[4:6]
    assert "Marrow Sound Aquarium · pairs on 2025-12-31" in head and "@" in head
    for words in ("F1 f", "M1 m", "death of M1, 2025-05-07", "117 (115 to 117)", "F1: M2 after 44 d", "2025-02-01"):
        assert words in first
    assert "stands" in second and "195" in second
    assert "2 bonds: 1 standing; 1 died." in said.output


def test_csv_and_json_have_every_column(house: cli_house.House) -> None:
    rows = house.rows("pairs", "--on", ON)["rows"]
    assert [list(row) for row in rows] == [list(SCHEMA)] * 2
    assert (rows[0]["days"], rows[0]["end"], rows[0]["seen"], rows[0]["events"]) == (117, "2025-05-07", 2, [11])
    table = list(csv.DictReader(io.StringIO(house.run("pairs", "--on", ON, "--format", "csv").stdout)))
    assert table[0].keys() == SCHEMA.keys() and table[0]["a_wait"] == "44"


def test_the_other_tables_and_what_is_refused(house: cli_house.House) -> None:
    (wait,) = house.rows("pairs", "--on", ON, "--waiting", "--taxon", COMMON)["rows"]
    assert (wait["animal"], wait["days"], wait["state"], wait["introduced"]) == ("F1", 44, "re_paired", True)
    courting = house.rows("pairs", "--on", ON, "--courtship")["rows"]
    assert [(row["who"], row["whom"], row["bouts"], row["broods_without"]) for row in courting] == [
        *(("F1", "M1", 1, 0), ("F1", "M2", 0, 1)),
    ]
    assert house.rows("pairs", "--on", ON, "--fidelity")["rows"] == []
    assert "1 waits: 1 ended with a mate" in house.run("pairs", "--on", ON, "--waiting").output
    refused = house.run("pairs", "--taxon", "Draco magnus")
    assert refused.exit_code == 3 and "no taxon “Draco magnus”" in refused.output
    assert house.run("pairs", "--waiting", "--fidelity").exit_code == 2


def test_the_page_is_whole_and_is_never_written_over(house: cli_house.House, tmp_path: Path) -> None:
    target = tmp_path / "pairs.html"
    assert house.run("pairs", "--on", ON, "--html", target).exit_code == 0
    text = target.read_text(encoding="utf-8")
    words = " ".join(is_whole(text).words)
    for said in ("death of M1", "2 bonds, 1 of them standing", "as known at log position @13", COMMON):
        assert said in words
    assert text.count("<svg") == 1 and 'role="img" aria-label="2 bonds' in text
    assert house.run("pairs", "--html", target).exit_code == 2
    assert target.read_text(encoding="utf-8") == text


def test_the_picture_has_a_bar_a_bond_a_block_a_brood_and_a_mark_an_end(made: pair_page.PairPage) -> None:
    bars, broods = made.frames["bars"], made.frames["broods"]
    assert bars.select("who", "mark").rows() == [
        *((TAXON, bond_charts.HEAD), ("F1 and M1", "died"), ("F1 and M2", bond_charts.STANDS)),
    ]
    assert broods["brood"].to_list() == ["B1"] and broods["who"].to_list() == ["F1 and M2"]
    drawn = theme.svg(bond_charts.timeline(bars, broods))
    assert "death of M1" in drawn and theme.SAND in drawn
    assert {"died", "parted", "left_together", "back_alone"} < bond_charts.ENDS.keys()


def test_a_curve_is_drawn_and_told_apart_only_where_departures_part_it(made: pair_page.PairPage) -> None:
    from reports.waiting import Episode, curve

    alike = [Episode(-1, day, event=True) for day in range(10)]
    drawn = theme.svg(bond_charts.repairing(curve(alike)))
    assert "had a mate again" in drawn and "had nothing else ended the wait" not in drawn
    parted = [*alike, *(Episode(-1, day, event=False, departed=True) for day in range(10))]
    assert "had nothing else ended the wait" in theme.svg(bond_charts.repairing(curve(parted)))
    assert "<svg" not in made.waits.html, "one event is no curve"


def test_the_notebook_gives_the_same_parts_and_is_thin(house: cli_house.House, made: pair_page.PairPage) -> None:
    position = re.search(r"@(\d+)", made.head.html)
    assert position
    wanted = {"book": str(house.path), "on": ON, "house": "MS", "known_at": position[0]}
    text = notebook.rendered(NOTEBOOK, wanted, "Pairs", "foot")
    is_whole(text)
    for part in made.parts:
        assert part.html in text
    book = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    assert book["metadata"]["kernelspec"]["name"] == "python3"
    stripped = subprocess.run([sys.executable, "-m", "nbstripout", "--verify", str(NOTEBOOK)], check=False)
    assert stripped.returncode == 0
