"""`life` and `find` at the command: what they print, their formats, the page they write, and what they refuse."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import cli_house
import pytest
from test_page import is_whole

WELL, USAGE, REFUSED = 0, 2, 3
LOT, CUTTLE = "MS-2026-0001", "MS-2026-0002"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> cli_house.House:
    return cli_house.fresh(tmp_path_factory.mktemp("life"))


def test_it_is_grouped_by_topic_with_dates_beneath_each_other(house: cli_house.House) -> None:
    text = house.run("life", CUTTLE, "--on", "2026-04-01").stdout
    lines = text.splitlines()
    assert lines[0].startswith(f"life of {CUTTLE} by 2026-04-01 · as known ")
    assert "held" not in lines[0] and "All houses" not in lines[0]
    dated = {line.index("2026-01-02") for line in lines if line.count("2026-01-02") == 1 and "Came" not in line}
    assert len(dated) == 1
    (place,) = [line for line in lines if line.startswith("Enclosures")]
    assert "H1 Hospital" in place and " 90 " in place
    assert sum(line.startswith("Numbers, names and marks") for line in lines) == 1
    assert "90 days in the enclosures of a house, in 1 stay." in text


def test_a_lot_shows_its_balance_and_the_caution(house: cli_house.House) -> None:
    text = house.run("life", LOT, "--on", "2026-12-31").stdout
    assert "57 (0.0.57)" in text and "loan, Marrow Sound Aquarium to Ostrey Sea Centre" in text
    assert "licensed people" in text
    assert "licensed people" not in house.run("life", CUTTLE, "--on", "2026-04-01").stdout


def test_json_has_the_card_the_balances_and_the_evidence(house: cli_house.House) -> None:
    answer = house.rows("life", LOT, "--on", "2026-12-31")
    assert next(row["item"] for row in answer["card"]) == "identification" and "basis" not in answer
    assert [row["total"] for row in answer["balances"]] == [60, 60, 57, 57, 57]
    roots = {root for row in answer["rows"] for root in row["events"]}
    assert {row["root"] for row in answer["evidence"]} == roots
    assert answer["number"] == LOT and answer["on"] == "2026-12-31"


def test_csv_is_a_line_a_row(house: cli_house.House) -> None:
    rows = list(csv.DictReader(io.StringIO(house.run("life", CUTTLE, "--format", "csv").stdout)))
    assert {row["topic"] for row in rows} >= {"origin", "mark", "place"}
    assert all(row["events"].startswith("#") for row in rows)


def test_the_entries_behind_it(house: cli_house.House) -> None:
    answer = house.rows("life", CUTTLE, "--evidence")
    assert [row["kind"] for row in answer["rows"]] == ["opening"]
    assert "Came with the building." in answer["rows"][0]["said"]


def test_a_page_into_a_file_or_a_folder(house: cli_house.House, tmp_path: Path) -> None:
    assert house.run("life", CUTTLE, "--into", tmp_path).exit_code == WELL
    assert house.run("life", LOT, "--html", tmp_path / "lot.html").exit_code == WELL
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"life-{CUTTLE}.html", "lot.html"]
    is_whole((tmp_path / "lot.html").read_text(encoding="utf-8"))
    for wrong in (("--into", tmp_path / "none"), ("--html", tmp_path / "none" / "x.html"), ("--html", tmp_path)):
        result = house.run("life", CUTTLE, *wrong)
        assert result.exit_code == USAGE and "Traceback" not in result.output


def test_what_nobody_bears_is_refused_with_the_way_out(house: cli_house.House) -> None:
    result = house.run("life", "MS-1999-0001")
    assert result.exit_code == REFUSED and "tidemark find MS-1999-0001" in result.output
    result = house.run("life", CUTTLE, "--on", "2025-01-01")
    assert result.exit_code == REFUSED and "ask of a later day" in result.output
    assert house.run("life", CUTTLE, "--format", "xml").exit_code == USAGE
    assert house.run("find", " - ").exit_code == USAGE


def test_find_lists_bearers_and_says_what_next(house: cli_house.House) -> None:
    result = house.run("find", "0002")
    assert result.exit_code == WELL and f"Next: tidemark life {CUTTLE}" in result.stdout
    rows = house.rows("find", "T3", "--on", "2026-02-05")["rows"]
    assert [(row["number"], row["about"], row["from"]) for row in rows] == [(LOT, "0.0.55", "2026-01-02")]
    nothing = house.run("find", "zz")
    assert nothing.exit_code == WELL and "A part needs 3 characters." in nothing.stdout
    assert json.loads(house.run("find", "zzz", "--format", "json").stdout)["rows"] == []
