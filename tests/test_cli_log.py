"""The log as a registrar reads it, and one entry whole."""

from __future__ import annotations

import json
from pathlib import Path

import cli_house
import pytest

WELL, USAGE, REFUSED = 0, 2, 3
LOT, CUTTLE = "MS-2026-0001", "MS-2026-0002"


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


def test_the_newest_stand_last_and_say_where_they_are(house: cli_house.House) -> None:
    result = house.run("log", "--last", "2")
    assert result.exit_code == WELL
    lines = [line for line in result.output.splitlines() if line.lstrip().startswith("#")]
    assert [line.split()[0] for line in lines] == ["#13", "#14"]
    assert "move" in lines[0] and "2.0" not in lines[0] and LOT in lines[0] and "2 from H1 to T3" in lines[0]
    assert "the last 2 of 14 entries" in result.output


@pytest.mark.parametrize(
    ("sought", "kinds"),
    [
        (("--animal", CUTTLE), ["opening"]),
        (("--animal", "MS:" + LOT, "--kind", "move"), ["move", "move"]),
        (("--kind", "enclosure-closed"), []),
        (("--on", "2026-02-10"), ["death"]),
        (("--from", "2020-01-01", "--to", "yesterday"), []),
        (("--by", "ADA", "--kind", "death"), ["death"]),
        (("--by", "ADA", "--last", "1"), ["transfer"]),
    ],
)
def test_sought(house: cli_house.House, sought: tuple[str, ...], kinds: list[str]) -> None:
    assert [row["kind"] for row in house.rows("log", *sought)["rows"]] == kinds


@pytest.mark.parametrize(
    ("sought", "code"),
    [(("--animal", "MS-9"), REFUSED), (("--by", "ZZ"), REFUSED), (("--kind", "deth"), USAGE), (("--on", "x"), USAGE)],
)
def test_what_cannot_be_sought_is_said(house: cli_house.House, sought: tuple[str, ...], code: int) -> None:
    assert house.run("log", *sought).exit_code == code


def test_mistake_slip_learnt_and_struck_out_are_told_apart(house: cli_house.House) -> None:
    by = ("--by", "ADA")
    assert (
        house.run("correct", "12", "how_many=2", "--reason", "mistake", "--because", "Recounted.", *by).exit_code
        == WELL
    )
    assert house.run("correct", "15", "cause=trauma", "--reason", "learnt", *by).exit_code == WELL
    assert house.run("strike-out", "14", "--reason", "slip", *by).exit_code == WELL
    states = {row["seq"]: row["state"] for row in house.rows("log")["rows"] if row["state"]}
    assert states == {
        12: "corrected by #15",
        14: "struck out by #17",
        15: "completed by #16",
        16: "completes #15",
    }
    # a void and what was corrected belong to the animal's log, as it was recorded
    assert [row["seq"] for row in house.rows("log", "--animal", LOT)["rows"]] == [9, 11, 12, 13, 14, 15, 16, 17]
    shown = house.run("show", "#15").output
    assert "completed by #16" in shown
    assert "corrects #12: how many 3 → 2; “Recounted.”" in shown
    assert "completes #15: cause nothing → trauma" in shown


def test_one_entry_whole_with_its_texts_and_what_it_did(house: cli_house.House) -> None:
    shown = house.run("show", "10").output
    assert "Came with the building." in shown and "possible days" not in shown
    assert "+1 (0.0.1)" in shown and "late: " not in shown
    death = house.run("show", "12").output
    assert "−3 (0.0.3)" in death and "late: Taken over from the card index." in death
    assert house.run("show", "1").exit_code == WELL
    assert house.run("show", "99").exit_code == REFUSED


def test_one_entry_for_a_program(house: cli_house.House) -> None:
    result = house.run("show", "10", "--format", "json")
    answer = json.loads(result.stdout)
    assert answer["seq"] == 10 and answer["content"]["payload"]["note"] == "Came with the building."
    assert answer["line"] == [10]
    assert house.run("show", answer["event_id"], "--format", "json").stdout == result.stdout


def test_text_of_the_book_never_acts(house: cli_house.House) -> None:
    noted = house.run(
        "record", "note", "topic=diet", f"text={cli_house.EVIL}", f"animal={CUTTLE}", "occurred=today", "--by", "ADA"
    )
    assert noted.exit_code == WELL
    for command in (("log",), ("show", "15"), ("show", "15", "--format", "json")):
        said = house.run(*command).output
        assert "\x1b" not in said and "\u202e" not in said
