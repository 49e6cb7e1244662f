"""The reading commands: what they stand on, the exact JSON, and that text from a book never acts."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import cli_house
import pytest

import ledger
from reports import cli_read

ROOT = Path(__file__).resolve().parent.parent
WELL, FOUND, USAGE, REFUSED, CONFLICT, INTEGRITY, ENVIRONMENT = range(7)
HEAVY = ("duckdb", "polars", "sqlmodel", "sqlalchemy", "altair", "pyarrow", "pydantic", "jupyterlab")
HARMLESS = "red [bold]b[/] <script>"
READING = (
    ("census", "--on", "2026-03-01"),
    ("year", "2026"),
    ("register", "--from", "2026-01-01"),
    ("over-time", "--to", "2026-06-30"),
    ("log",),
    ("open-items", "--on", "2026-03-05"),
    ("corrections",),
    ("stock-take", "H1"),
)


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


def _process(*args: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a shell starts it."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", **environment}
    command = [sys.executable, "-m", "reports.cli", *map(str, args)]
    return subprocess.run(command, capture_output=True, text=True, env=env, check=False, timeout=120)


# --- help -----------------------------------------------------------------------------------------


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nfrom reports.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit as end:\n    assert not end.code\n"
        f"sys.stderr.write(' '.join(m for m in {HEAVY!r} if m in sys.modules))"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True, timeout=60)
    assert ran.stderr == ""
    for command in ("new", "record", "load", "correct", "strike-out", "census", "year", "register", "over-time"):
        assert command in ran.stdout
    for command in ("kinds", "schema", "check", "verify", "demo", "lab", "report", "log", "show", "reassign"):
        assert command in ran.stdout


@pytest.mark.parametrize("command", ["new", "record", "load", "census", "year", "check", "demo", "log", "reassign"])
def test_every_command_has_its_help(command: str) -> None:
    shown = cli_house.run(command, "--help")
    assert shown.exit_code == WELL and "Usage" in shown.output


def test_nothing_typed_shows_the_help_and_nonsense_is_usage() -> None:
    assert "Usage" in cli_house.run().output
    assert cli_house.run("nonsense").exit_code == USAGE
    assert cli_house.run("year", "soon").exit_code == USAGE


# --- what an answer stands on ---------------------------------------------------------------------


def test_a_table_says_house_dates_basis_position_and_whether_it_adds_up(house: cli_house.House) -> None:
    said = house.run("census", "--on", "2026-03-01", "--known-at", "@14").output.splitlines()
    assert said[0].startswith("Marrow Sound Aquarium · census on 2026-03-01 · held · as known 20")
    assert said[0].endswith("Z, @14")
    assert said[-1] == "38 animals. Adds up: 2 of 2 taxa sum to zero over all accounts."


def test_the_json_is_exact(house: cli_house.House) -> None:
    answer = house.rows("census", "--on", "2026-03-01")
    assert list(answer) == ["on", "known_at", "position", "head", "basis", "rows"]
    book = ledger.open_book(str(house.path))
    assert (answer["position"], answer["head"]) == book.head
    book.close()
    assert answer["on"] == "2026-03-01" and answer["basis"] == "Held by Marrow Sound Aquarium"
    assert {row["taxon"]: row["total"] for row in answer["rows"]} == {"Chromis viridis": 37, "Sepia officinalis": 1}
    assert next(row["common_name"] for row in answer["rows"] if row["total"] == 1) == cli_house.ODD
    year = house.rows("year", "2026")
    assert list(year) == ["from", "to", "known_at", "position", "head", "basis", "rows"]
    assert (year["from"], year["to"]) == ("2026-01-01", "2026-12-31")
    row = next(row for row in year["rows"] if row["taxon"] == "Chromis viridis")
    assert (row["opening"], row["transfer_out"], row["died_older"], row["closing"]) == (0, 20, 3, 37)
    assert list(row).index("opening") < list(row).index("closing")


def test_the_head_is_that_of_the_position(house: cli_house.House) -> None:
    book = ledger.open_book(str(house.path))
    leaf = book.store.event(3).leaf.hex()
    book.close()
    then = house.rows("census", "--known-at", "@3")
    assert (then["position"], then["head"], then["rows"]) == (3, leaf, [])


def test_the_lot_of_sixty_stands_where_it_should(house: cli_house.House) -> None:
    by_place = house.rows("census", "--on", "2026-03-02", "--by", "enclosure,taxon")["rows"]
    held = {row["enclosure"]: row["total"] for row in by_place if row["taxon"] == "Chromis viridis"}
    assert held == {"T3": 37}
    owned = house.rows("census", "--on", "2026-03-02", "--owned")["rows"]
    away = [row for row in owned if row["whose"] == "ours_elsewhere"]
    assert [(row["taxon"], row["total"]) for row in away] == [("Chromis viridis", 20)]


def test_a_year_that_starts_in_april(house: cli_house.House) -> None:
    answer = house.rows("year", "2026", "--starts", "04-01")
    assert (answer["from"], answer["to"]) == ("2026-04-01", "2027-03-31")
    assert house.run("year", "2026", "--starts", "02-29").exit_code == USAGE
    assert house.run("year", "2026", "--starts", "soon").exit_code == USAGE


def test_csv_is_rows_alone(house: cli_house.House) -> None:
    result = house.run("year", "2026", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert {row["taxon"] for row in rows} == {"Chromis viridis", "Sepia officinalis"}
    assert "as known" in result.stderr
    empty = house.run("census", "--on", "2020-01-01", "--format", "csv")
    assert empty.stdout.startswith("class,taxon,") and empty.stdout.count("\n") == 1


@pytest.mark.parametrize("command", READING, ids=lambda command: command[0])
@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_text_from_a_book_never_acts(house: cli_house.House, command: tuple[str, ...], form: str) -> None:
    result = house.run(*command, "--format", form)
    assert result.exit_code == WELL, result.output
    assert not set(result.output) & set("\x1b\u202e\x9b")
    if command[0] in ("census", "year", "register") and form != "json":
        assert HARMLESS in result.output or command[0] == "register"


def test_taxa_bear_names_of_the_day_asked_about_or_of_today_and_enclosures_those_of_the_day(
    house: cli_house.House,
) -> None:
    renamed = ("enclosure_changed", "enclosure=T3", "name=Reef tank", "occurred=2026-06-01", "--by", "ADA")
    assert house.run("record", *renamed).exit_code == WELL
    name = ("taxon_renamed", "taxon=Chromis viridis", "name=Chromis atripectoralis", "occurred=2026-06-01")
    assert house.run("record", *name, "--by", "ADA").exit_code == WELL
    on = ("census", "--on", "2026-03-15", "--by", "enclosure,taxon")

    def seen(*more: str) -> set[tuple[str, str]]:
        rows = house.rows(*on, *more)["rows"]
        return {(row["enclosure_name"], row["taxon"]) for row in rows if row["enclosure_name"] != "Hospital"}

    assert seen() == {("Tank 3", "Chromis viridis")}
    assert seen("--names", "today") == {("Tank 3", "Chromis atripectoralis")}
    assert seen("--names", "today", "--known-at", "@14") == {("Tank 3", "Chromis atripectoralis")}
    later = house.rows("census", "--on", "2026-07-01", "--by", "enclosure")["rows"]
    assert "Reef tank" in {row["enclosure_name"] for row in later}
    for command in (("year", "2026"), ("register",), on):
        said = house.run(*command, "--names", "today")
        assert said.exit_code == WELL and "taxa by names of today" in said.output
    assert house.run(*on, "--names", "then").exit_code == USAGE


def test_a_book_that_is_asked_about_a_day_to_come_says_so(house: cli_house.House) -> None:
    assert "nothing is known yet" in house.run("census", "--on", "2099-01-01").output


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        (("census", "--on", "2026-02-30"), USAGE, "not a day"),
        (("census", "--known-at", "@99"), USAGE, "beyond the log's last position"),
        (("census", "--known-at", "2026-03-01T10:00"), USAGE, "time zone"),
        (("census", "--house", "XX"), USAGE, "MS (Marrow Sound Aquarium)"),
        (("census", "--format", "xml"), USAGE, "table, csv, json"),
        (("census", "--by", "colour"), USAGE, "taxon, class, enclosure"),
        (("register", "--from", "2026-05-01", "--to", "2026-04-01"), USAGE, "after its end"),
        (("over-time", "--every", "hour"), USAGE, "day, week, month"),
        (("over-time", "--from", "1900-01-01", "--every", "day"), USAGE, "longer step"),
        (("over-time", "--chart", "x.pdf"), USAGE, ".svg or .png"),
        (("year", "2026", "--house", "all"), WELL, "All houses of the book"),
    ],
)
def test_questions_that_cannot_be_answered(
    house: cli_house.House, typed: tuple[str, ...], code: int, said: str
) -> None:
    answer = house.run(*typed)
    assert answer.exit_code == code, answer.output
    assert said in answer.output


def test_books_that_cannot_be_opened(tmp_path: Path) -> None:
    missing = cli_house.House(tmp_path / "none.sqlite").run("census")
    assert missing.exit_code == ENVIRONMENT and "tidemark new" in missing.output
    assert not (tmp_path / "none.sqlite").exists()
    for name, data in (("text.sqlite", b"not a book at all, and long enough to be one\n" * 99), ("empty.sqlite", b"")):
        (tmp_path / name).write_bytes(data)
        wrong = cli_house.House(tmp_path / name).run("census")
        assert wrong.exit_code == INTEGRITY, (name, wrong.output)
        assert wrong.output.count("\n") == 1


def test_the_book_is_found_by_the_environment_or_the_folder(
    house: cli_house.House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(house.path.parent)
    assert cli_house.run("census").exit_code == WELL
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("TIDEMARK_BOOK", str(house.path))
    assert cli_house.run("census").exit_code == WELL


# --- register, over time, report ------------------------------------------------------------------


def test_the_register_and_the_census_over_time(house: cli_house.House, tmp_path: Path) -> None:
    ways = [row["way"] for row in house.rows("register", "--from", "2026-02-01", "--to", "2026-03-31")["rows"]]
    assert ways == ["out", "out"]
    chart = tmp_path / "chart.svg"
    drawn = house.run("over-time", "--from", "2026-01-01", "--to", "2026-03-31", "--chart", chart)
    assert drawn.exit_code == WELL, drawn.output
    assert "<svg" in chart.read_text(encoding="utf-8")


def test_series_of_days_end_on_the_day_asked_about() -> None:
    days = cli_read.days_of(date(2026, 1, 31), date(2026, 4, 30), "month")
    assert [day.isoformat() for day in days] == ["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30"]
    assert cli_read.days_of(date(2026, 1, 1), date(2026, 1, 15), "week")[0] == date(2026, 1, 1)
    assert len(cli_read.days_of(date(2020, 1, 1), date(2026, 1, 1), "year")) == 7


def test_the_annual_report_is_one_page(house: cli_house.House, tmp_path: Path) -> None:
    done = house.run("report", "2026", "--into", tmp_path)
    assert done.exit_code == WELL, done.output
    page = (tmp_path / "annual-report-2026.html").read_text(encoding="utf-8")
    assert "Marrow Sound Aquarium" in page and "<script>" not in page
    assert house.run("report", "2026", "--into", tmp_path / "none").exit_code == USAGE


# --- kinds, proof ---------------------------------------------------------------------------------


def test_kinds_and_schemas() -> None:
    listed = cli_house.run("kinds").output
    assert "hatching" in listed and "void" in listed
    assert "cause" in cli_house.run("kinds", "death").output
    assert "properties" in json.loads(cli_house.run("schema", "sex-change").stdout)
    unknown = cli_house.run("schema", "deth")
    assert unknown.exit_code == USAGE and "death is near" in unknown.output


def test_check_and_verify_of_a_good_book(house: cli_house.House) -> None:
    checked = house.run("check")
    assert checked.exit_code == WELL and "Nothing found." in checked.output
    assert json.loads(house.run("check", "--format", "json").stdout)["rows"] == []
    verified = house.run("verify")
    assert verified.exit_code == WELL and "all as written" in verified.output


def test_one_changed_word_is_found(house: cli_house.House) -> None:
    data = house.path.read_bytes()
    assert data.count(b"Came with the building.") == 1
    house.path.write_bytes(data.replace(b"Came with the building.", b"Came with the buildinG."))
    assert house.run("verify").exit_code == INTEGRITY


# --- in a process of its own ----------------------------------------------------------------------


def test_a_closed_pipe_is_no_error(house: cli_house.House) -> None:
    command = f'"{sys.executable}" -m reports.cli census --by enclosure,taxon --book "{house.path}" | head -n 1'
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    shell = ["bash", "-o", "pipefail", "-c", command]
    ran = subprocess.run(shell, capture_output=True, text=True, env=env, check=False, timeout=60)
    assert (ran.returncode, ran.stderr) == (WELL, "")
    assert ran.stdout.count("\n") == 1


def test_a_plain_process_without_colour_and_in_any_encoding(house: cli_house.House) -> None:
    refused = _process("record", "death", "animal=X", "occurred=today", "--by", "ADA", "--book", house.path)
    assert refused.returncode == REFUSED and "\x1b" not in refused.stderr
    answer = _process("census", "--format", "json", "--book", house.path, PYTHONUTF8="0", PYTHONIOENCODING="ascii")
    assert json.loads(answer.stdout)["position"] == 14
    table = _process("census", "--book", house.path, PYTHONUTF8="0", PYTHONIOENCODING="ascii")
    assert table.returncode == WELL and "Marrow Sound Aquarium" in table.stdout


def test_animals_of_joint_owners_are_apart_from_the_owned(house: cli_house.House) -> None:
    shares = ("members=OSC", "members=MS", "shares=1/3", "shares=2/3")
    joint = ("party", "party=JNT", "name=Joint Holders", "sort=joint", *shares)
    made = house.run("record", *joint, "occurred=2026-03-01", "--by", "ADA")
    assert made.exit_code == WELL, made.output
    entry = ("lot=MS-2026-0003", "how_many=4", "taxon=Chromis viridis", "enclosure=T3", "owner=JNT")
    assert house.run("record", "opening", *entry, "occurred=2026-03-02", "--by", "ADA").exit_code == WELL
    said = house.run("census", "--on", "2026-03-02", "--owned").stdout
    assert "58 animals. Apart from these, ours in part: 4 animals." in said and "ours in part, 2/3" in said
    assert "ours in part" not in house.run("census", "--on", "2026-03-02").stdout
    whole = house.run("year", "2026", "--owned").stdout
    assert "+ 61 in − 3 out = 58. Not in it: 4 ours in part (tidemark census --owned)." in whole
    assert "ours in part" not in house.run("year", "2026").stdout
