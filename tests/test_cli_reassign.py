"""Two animals that were taken for one another, and an entry struck out with all that hangs on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cli_house
import pytest

from reports import cli_reassign

WELL, USAGE, REFUSED, CONFLICT = 0, 2, 3, 4
A, B, YOUNG = "MS-2026-0101", "MS-2026-0102", "MS-2026-0103"
WHY = ("--because", "The tags were read the wrong way round.", "--by", "ADA")


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    made = cli_house.fresh(tmp_path)
    came = {"taxon": "Sepia officinalis", "enclosure": "H1", "sex": "female"}
    rows = [
        *(("opening", "2026-01-02", {**came, "animal": number}) for number in (A, B)),
        ("move", "2026-10-01", {"animal": A, "to": "T3"}),
        ("note", "2026-11-01", {"animal": A, "topic": "diet", "text": "Took the squid."}),
        ("hatching", "2026-11-02", {"animal": YOUNG, "taxon": "Sepia officinalis", "enclosure": "H1", "dam": A}),
        ("move", "2026-11-03", {"animal": B, "to": "T3"}),
        ("death", "2026-11-04", {"animal": A, "cause": "trauma"}),
        ("marking", "2026-11-05", {"animal": B, "scheme": "tag", "value": "7"}),
    ]
    sheet = cli_house.written(
        tmp_path / "pair.jsonl",
        [
            {"kind": kind, "occurred": day, "payload": payload, "observed_by": ["ADA"], "source": {"kind": "day_sheet"}}
            for kind, day, payload in rows
        ],
    )
    assert made.run("load", sheet, "--by", "ADA", "--accept", "late", "--because", "Late.").exit_code == WELL
    return made


def swap(house: cli_house.House, *options: str) -> Any:
    return house.run("reassign", A, B, "--from", "2026-11-01", *options)


def said(house: cli_house.House, number: str) -> list[str]:
    """What stands of an animal, in the order of its days."""
    rows = house.rows("log", "--animal", number)["rows"]
    stands = [r for r in rows if r["superseded_by"] is None and r["kind"] != "void" and r["subject"] == number]
    return [r["kind"] for r in sorted(stands, key=lambda r: (r["occurred"], r["seq"]))]


def test_what_was_entered_of_the_one_is_entered_anew_for_the_other(house: cli_house.House) -> None:
    result = house.run("reassign", A, B, "--from", "2026-10-01", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    assert said(house, A) == ["opening", "move", "marking"]
    assert said(house, B) == ["opening", "move", "note", "death"]
    log = {row["seq"]: row for row in house.rows("log", "--kind", "death")["rows"]}
    old, new = log[21], log[max(log)]
    assert old["state"].startswith("struck out by")
    assert new["subject"] == B and f"reassigned from #21, of {A}" in new["words"]
    # what is about another animal is corrected, not struck out
    (young,) = [r for r in house.rows("log", "--animal", YOUNG)["rows"] if r["superseded_by"] is None]
    assert f"dam {B}" in young["words"] and young["state"] == "corrects #19"
    whole = house.run("show", str(new["seq"])).output
    assert "observed by       ADA" in whole and "day sheet" in whole
    assert house.run("verify").exit_code == WELL


def test_it_is_shown_first_and_needs_a_yes(house: cli_house.House, monkeypatch: pytest.MonkeyPatch) -> None:
    before = house.position()
    call = ("reassign", A, B, "--from", "2026-10-01", *WHY)
    result = house.run(*call)
    assert result.exit_code == USAGE and "--yes" in result.output and "#21" in result.output
    assert house.run(*call, "--dry-run").exit_code == WELL
    monkeypatch.setattr(cli_reassign, "terminal", lambda: True)
    assert "Nothing is recorded." in house.run(*call, input="no\n").output
    assert house.position() == before
    assert house.run(*call, input="yes\n").exit_code == WELL
    assert house.position() > before


def test_only_of_that_time(house: cli_house.House) -> None:
    result = house.run("reassign", A, B, "--from", "2026-11-01", "--until", "2026-11-02", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    assert said(house, A) == ["opening", "move", "death"]
    assert said(house, B) == ["opening", "note", "move", "marking"]


def test_arrivals_stay(house: cli_house.House) -> None:
    result = house.run("reassign", A, B, "--from", "2026-01-01", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    assert "Stays: #15, opening" in result.output and "Stays: #16, opening" in result.output


@pytest.mark.parametrize(
    ("call", "code"),
    [
        ((A, A, "--from", "2026-11-01"), USAGE),
        ((A, "MS-2026-0001", "--from", "2026-11-01"), USAGE),
        ((A, "MS-9", "--from", "2026-11-01"), REFUSED),
        ((A, B, "--from", "2026-11-20"), REFUSED),
        ((A, B, "--from", "2026-11-20", "--until", "2026-11-01"), USAGE),
        ((A, B, "--from", "2026-13-01"), USAGE),
    ],
)
def test_what_cannot_be_put_round(house: cli_house.House, call: tuple[str, ...], code: int) -> None:
    assert house.run("reassign", *call, "--yes", *WHY).exit_code == code


def test_it_needs_a_because_and_clear_dates(house: cli_house.House) -> None:
    assert swap(house, "--yes", "--by", "ADA").exit_code == USAGE
    noted = house.run(
        "record", "note", "topic=diet", "text=x", f"animal={A}", "occurred=2026-10/2026-11", "--by", "ADA"
    )
    assert noted.exit_code == WELL, noted.output
    vague = swap(house, "--yes", *WHY)
    assert vague.exit_code == REFUSED and "either side" in vague.output


def test_struck_out_with_all_that_hangs_on_it(house: cli_house.House) -> None:
    alone = house.run("strike-out", "15", "--reason", "mistake", "--by", "ADA")
    assert alone.exit_code == REFUSED
    call = ("strike-out", "15", "--reason", "mistake", "--with-all", *WHY)
    shown = house.run(*call)
    assert shown.exit_code == USAGE and "--yes" in shown.output
    result = house.run(*call, "--yes")
    assert result.exit_code == WELL, result.output
    assert said(house, B) == ["opening", "move", "marking"]
    log = house.rows("log", "--animal", A)["rows"]
    assert not [r for r in log if r["subject"] == A and r["kind"] != "void" and r["superseded_by"] is None]
    # a young that only named it stays, without that dam
    (young,) = [r for r in house.rows("log", "--animal", YOUNG)["rows"] if r["superseded_by"] is None]
    assert "dam" not in young["words"] and young["state"] == "corrects #19"
    assert house.run("verify").exit_code == WELL


def test_what_nothing_hangs_on_is_struck_out_alone(house: cli_house.House) -> None:
    result = house.run("strike-out", "21", "--reason", "slip", "--with-all", "--yes", "--by", "ADA")
    assert result.exit_code == WELL and "nothing hangs on it" in result.output
    again = house.run("strike-out", "21", "--reason", "slip", "--with-all", "--yes", "--by", "ADA")
    assert again.exit_code == CONFLICT


def test_an_enclosure_with_all_that_stood_in_it(house: cli_house.House) -> None:
    (closet,) = [r["seq"] for r in house.rows("log", "--kind", "enclosure")["rows"] if r["subject"] == "T3"]
    result = house.run("strike-out", closet, "--reason", "mistake", "--with-all", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    assert house.run("verify").exit_code == WELL
