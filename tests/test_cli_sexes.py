"""The commands `sexes` and `succession`: tables to read, every column in JSON and CSV, refusals in one sentence."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import cli_house
import pytest

from reports import notebook
from reports.sexes import SCHEMA as SEXES
from reports.succession import SCHEMA as SUCCESSION

NOTEBOOK = notebook.NOTEBOOK.with_name("sex_transitions.ipynb")
FISH = "Labroides dimidiatus"
LATE = ("--accept", "late", "--because", "Taken over from the card index.")


def line(kind: str, occurred: str, **payload: Any) -> dict[str, Any]:
    return {"kind": kind, "occurred": occurred, "payload": payload}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> cli_house.House:
    folder: Path = tmp_path_factory.mktemp("sexes")
    made = cli_house.fresh(folder)
    entries = [
        line("taxon", "2026-01-01", taxon=FISH, rank="species", sexual_system="female_first"),
        line("social_unit", "2026-01-01", unit="W", sort="harem", taxa=[FISH], enclosure="T3"),
        *(
            line("opening", "2026-01-02", animal=f"MS-2026-010{n}", sex=sex, taxon=FISH, enclosure="T3")
            for n, sex in enumerate("mff")
        ),
        *(line("association", "2026-01-02", animal=f"MS-2026-010{n}", relation="member", unit="W") for n in range(3)),
        line("death", "2026-02-01", animal="MS-2026-0100"),
        line("sex_change", "2026-02-06", animal="MS-2026-0101", to="m", stage="first_sign"),
    ]
    done = made.run("load", cli_house.written(folder / "more.jsonl", entries), "--by", "ADA", *LATE)
    assert done.exit_code == 0, done.output
    return made


def test_the_tables_say_what_is_presumed(house: cli_house.House) -> None:
    said = house.run("sexes", "--on", "2026-03-01").output
    assert "f → m" in said and "MS-2026-0100, death 2026-02-01 (presumed)" in said
    assert "1 sex change: 1 under way." in said
    said = house.run("succession", "--on", "2026-02-03").output
    assert "place open" in said and "one of 2 females, none identified" in said
    assert "it is in no census" in said and "the longest for 2 days" in said


def test_json_and_csv_have_every_column(house: cli_house.House) -> None:
    for command, schema in (("sexes", SEXES), ("succession", SUCCESSION)):
        told = json.loads(house.run(command, "--on", "2026-03-01", "--format", "json").stdout)
        assert list(told["rows"][0]) == list(schema)
        assert told["on"] == "2026-03-01" and told["position"] > 0
        table = list(csv.reader(io.StringIO(house.run(command, "--on", "2026-03-01", "--format", "csv").stdout)))
        assert table[0] == list(schema) and len(table) == 2


def test_findings_stand_apart(house: cli_house.House) -> None:
    said = house.run("sexes", "--findings", "--on", "2026-03-01").output
    assert "moves no figure" in said and "1 entr" in said


def test_bad_words_are_refused_in_one_sentence(house: cli_house.House) -> None:
    for arguments in (("--on", "soon"), ("--house", "XX"), ("--format", "xml"), ("--known-at", "@999999")):
        for command in ("sexes", "succession"):
            done = house.run(command, *arguments)
            assert done.exit_code == 2 and "Traceback" not in done.output


def test_the_notebook_shows_the_same_figures(house: cli_house.House) -> None:
    parameters = {"book": str(house.path), "on": "2026-03-01", "house": "MS", "known_at": f"@{house.position()}"}
    cells = notebook.executed(NOTEBOOK, parameters).cells
    shown = "".join(str(out.get("data", {}).get("text/html", "")) for c in cells for out in c.get("outputs", ()))
    assert "Who changed sex, and who is next" in shown and "1 sex change after a loss" in shown
    assert "presumed" in shown and "<svg" in shown
