"""Lists a registrar works through, and the sheet of a stock take that comes back filled."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import cli_house
import pytest

WELL, USAGE, REFUSED = 0, 2, 3
LOT, CUTTLE = "MS-2026-0001", "MS-2026-0002"


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


def filled(house: cli_house.House, enclosure: str, found: dict[str, str]) -> Path:
    """The sheet of an enclosure, with what was found of each number."""
    sheet = house.path.with_name(f"{enclosure}.csv")
    sheet.unlink(missing_ok=True)
    assert house.run("stock-take", enclosure, "--into", sheet).exit_code == WELL
    with sheet.open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        row["found"] = found.get(row["number"], "")
    with sheet.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return sheet


def read(house: cli_house.House, sheet: Path, *options: str) -> Any:
    return house.run("stock-take", "--read", sheet, "--on", "2026-11-20", "--by", "ADA", *options)


def test_open_items_are_listed_and_counted(house: cli_house.House) -> None:
    answer = house.rows("open-items", "--on", "2026-03-05")
    assert "Held or owned" in answer["basis"]
    assert {row["item"] for row in answer["rows"]} >= {"cause", "sex"}
    said = house.run("open-items", "--on", "2026-03-05")
    assert said.exit_code == WELL and "1 cause" in said.output and LOT in said.output


def test_open_items_are_lines_of_work_unless_each_is_asked_for(house: cli_house.House) -> None:
    died = ("death", f"lot={LOT}", "how_many=2", "from=T3", "occurred=2026-04-01", "--by", "ADA")
    assert house.run("record", *died, "--accept", "late", "--because", "From a sheet.").exit_code == WELL
    short = house.run("open-items", "--on", "2026-05-05").stdout
    assert "5 deaths without a cause, 10 February 2026 to 1 April 2026" in short and "--all shows each." in short
    whole = house.run("open-items", "--on", "2026-05-05", "--all").stdout
    assert "2 died, cause not determined" in whole and "deaths without" not in whole
    rows = house.rows("open-items", "--on", "2026-05-05")["rows"]
    assert [(r["item"], r["animals"]) for r in rows if r["item"] == "cause"] == [("cause", 3), ("cause", 2)]
    late = house.rows("open-items", "--on", "2026-05-05", "--since", "2026-03-01")["rows"]
    assert [r["animals"] for r in late if r["item"] == "cause"] == [2]
    assert house.run("open-items", "--since", "someday").exit_code == USAGE


def test_a_sheet_goes_out_and_comes_back(house: cli_house.House) -> None:
    shown = house.run("stock-take", "H1")
    assert shown.exit_code == WELL and CUTTLE in shown.output
    before = house.position()
    sheet = filled(house, "T3", {LOT: "36"})
    assert read(house, sheet, "--dry-run").exit_code == WELL and house.position() == before
    result = read(house, sheet, "--seen-by", "ADA")
    assert result.exit_code == WELL and "count unaccounted" in result.output, result.output
    (count,) = house.rows("log", "--kind", "count")["rows"]
    assert count["occurred"] == "2026-11-20" and count["subject"] == LOT
    # the same sheet once more is known
    assert "Already recorded" in read(house, sheet, "--seen-by", "ADA").output


def test_a_blank_says_nothing_and_no_is_a_sighting(house: cli_house.House) -> None:
    blank = read(house, filled(house, "H1", {}))
    assert blank.exit_code == USAGE and "blanks say nothing" in blank.output
    result = read(house, filled(house, "H1", {CUTTLE: "no"}))
    assert result.exit_code == WELL, result.output
    assert [row["kind"] for row in house.rows("log", "--animal", CUTTLE)["rows"]] == ["opening", "sighting"]


def test_what_cannot_be_read_lands_nothing(house: cli_house.House) -> None:
    before = house.position()
    odd = read(house, filled(house, "T3", {LOT: "many"}))
    assert odd.exit_code == REFUSED and "“many”" in odd.output
    assert house.position() == before


@pytest.mark.parametrize(
    ("call", "code"),
    [
        ((), USAGE),
        (("T3", "--read", "x.csv"), USAGE),
        (("T99",), REFUSED),
        (("T3", "--into", "sheet.pdf"), USAGE),
        (("T3", "--on", "someday"), USAGE),
    ],
)
def test_what_is_no_stock_take(house: cli_house.House, call: tuple[str, ...], code: int) -> None:
    assert house.run("stock-take", *call).exit_code == code


def test_a_sheet_is_never_written_over_and_prints_as_a_page(house: cli_house.House) -> None:
    page = house.path.with_name("sheet.html")
    assert house.run("stock-take", "H1", "--into", page).exit_code == WELL
    assert CUTTLE in page.read_text() and "<script>" not in page.read_text()
    assert house.run("stock-take", "H1", "--into", page).exit_code == USAGE


def test_corrections_apart_from_what_was_learnt(house: cli_house.House) -> None:
    by = ("--by", "ADA")
    house.run("correct", "12", "how_many=2", "--reason", "mistake", "--because", "Recounted.", *by)
    house.run("correct", "15", "cause=trauma", "--reason", "learnt", *by)
    (mistake,) = house.rows("corrections")["rows"]
    assert (mistake["reason"], mistake["event"], mistake["superseded"]) == ("mistake", 15, 12)
    (learnt,) = house.rows("corrections", "--completed")["rows"]
    assert (learnt["done"], learnt["event"]) == ("completed", 16)
    said = house.run("corrections").output
    assert "1 correction: 1 mistake" in said
    assert "1 more completed" in said and "Recounted." in said
    assert house.run("corrections", "--from", "2020-01-01", "--to", "2020-12-31").exit_code == WELL
    assert json.loads(house.run("corrections", "--from", "today", "--format", "json").stdout)["from"]
