"""Sheets parted: rows that share no subject do not wait for one another; the rest can be mended and loaded again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import cli_house
import pytest

from reports import cli_load

WELL, USAGE, REFUSED = 0, 2, 3
LOT, CUTTLE = "MS-2026-0001", "MS-2026-0002"


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


def entry(kind: str, payload: dict[str, Any], day: str = "2026-11-20", **more: Any) -> dict[str, Any]:
    return {"kind": kind, "occurred": day, "payload": payload, **more}


def move(number: str = CUTTLE, to: str = "T3", **more: Any) -> dict[str, Any]:
    return entry("move", {"animal": number, "to": to}, **more)


def death(n: int = 1, of: str = LOT, **more: Any) -> dict[str, Any]:
    return entry("death", {"lot": of, "how_many": n, "from": "T3", "cause": "trauma"}, **more)


def aside(house: cli_house.House, rows: list[dict[str, Any]], *options: str) -> tuple[Any, list[dict[str, Any]]]:
    """What loading them with `--set-aside` says, and the rows set aside."""
    sheet, rest = house.path.with_name("sheet.jsonl"), house.path.with_name("rest.jsonl")
    rest.unlink(missing_ok=True)
    cli_house.written(sheet, rows)
    result = house.run("load", sheet, "--set-aside", rest, "--by", "ADA", *options)
    return result, [json.loads(line) for line in rest.read_text().splitlines()] if rest.exists() else []


def test_good_rows_land_and_the_rest_waits_with_its_findings(house: cli_house.House) -> None:
    before = house.position()
    result, rest = aside(house, [death(900), move(), death(1)])
    assert result.exit_code == REFUSED
    assert house.position() == before + 1
    assert "2 of 3 set aside in" in result.output
    # the second death is of the same lot: it stands or falls with the first
    assert [row["payload"]["how_many"] for row in rest] == [900, 1]
    assert rest[0]["findings"][0]["code"] == "too-few"
    assert "line 1" in rest[0]["findings"][0]["where"]
    assert "sheet.jsonl, line 1" in rest[1]["findings"][0]["found"]


def test_what_is_set_aside_is_mended_and_loaded_again_as_it_is(house: cli_house.House) -> None:
    _, rest = aside(house, [death(900), move()])
    rest[0]["payload"]["how_many"] = 2
    again = cli_house.written(house.path.with_name("again.jsonl"), rest)
    loaded = house.run("load", again, "--by", "ADA")
    assert loaded.exit_code == WELL, loaded.output
    # the same rows once more are known: their findings are no part of them
    for sheet in ("again.jsonl", "sheet.jsonl"):
        repeat = house.run("load", house.path.with_name(sheet), "--set-aside", house.path.with_name("new.jsonl"))
        assert "recorded already" in repeat.output or "set aside" in repeat.output, repeat.output


def test_twins_stay_together_so_that_none_is_taken_for_the_other(house: cli_house.House) -> None:
    twins = [death(1, day="2026-11-19"), death(1, day="2026-11-19")]
    result, rest = aside(house, [*twins, move(to="Nowhere")], "--accept", "very-like", "--because", "Two were found.")
    assert result.exit_code == REFUSED and len(rest) == 1
    assert house.rows("census")["rows"][0]["total"] == 60 - 3 - 20 - 2


def test_without_the_option_any_refusal_keeps_the_whole_file_out(house: cli_house.House) -> None:
    before = house.position()
    sheet = cli_house.written(house.path.with_name("sheet.jsonl"), [death(900), move()])
    result = house.run("load", sheet, "--by", "ADA")
    assert result.exit_code == REFUSED and "--set-aside FILE" in result.output
    assert house.position() == before


def test_a_file_without_fault_is_loaded_whole_and_nothing_is_set_aside(house: cli_house.House) -> None:
    result, rest = aside(house, [death(1), move()])
    assert result.exit_code == WELL, result.output
    assert rest == []


def test_a_dry_run_writes_no_file(house: cli_house.House) -> None:
    before = house.position()
    result, rest = aside(house, [death(900), move()], "--dry-run")
    assert result.exit_code == REFUSED and "1 of 2 would be set aside" in result.output
    assert rest == [] and house.position() == before


def test_an_older_file_is_never_written_over(house: cli_house.House) -> None:
    sheet = cli_house.written(house.path.with_name("sheet.jsonl"), [death(900)])
    result = house.run("load", sheet, "--set-aside", sheet, "--by", "ADA")
    assert result.exit_code == USAGE
    assert "900" in Path(sheet).read_text()


def test_a_line_that_is_no_entry_is_kept_as_it_stands(house: cli_house.House) -> None:
    sheet, rest = house.path.with_name("sheet.jsonl"), house.path.with_name("rest.jsonl")
    sheet.write_text(json.dumps(move()) + '\n{"kind": "death", "occ\n')
    result = house.run("load", sheet, "--set-aside", rest, "--by", "ADA")
    assert result.exit_code == REFUSED
    (odd,) = [json.loads(line) for line in rest.read_text().splitlines()]
    assert odd["unread"] == '{"kind": "death", "occ' and odd["findings"][0]["code"] == "not-an-entry"
    again = house.run("load", rest, "--set-aside", house.path.with_name("rest2.jsonl"), "--by", "ADA")
    assert "could not be read" in again.output
    (kept,) = [json.loads(line) for line in house.path.with_name("rest2.jsonl").read_text().splitlines()]
    assert kept["unread"] == odd["unread"]


def test_a_file_that_is_no_text_cannot_be_parted(house: cli_house.House) -> None:
    sheet = house.path.with_name("sheet.jsonl")
    sheet.write_bytes(json.dumps(move()).encode() + b"\n\xff\xfe\x00\n")
    result = house.run("load", sheet, "--set-aside", house.path.with_name("rest.jsonl"), "--by", "ADA")
    assert result.exit_code == REFUSED and "Nothing is loaded." in result.output


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (entry("note", {"topic": "diet", "text": "Squid.", "animal": CUTTLE}), move(to="Nowhere")),
        (
            entry(
                "hatching", {"animal": "MS-2026-0090", "taxon": "Sepia officinalis", "enclosure": "H1", "dam": CUTTLE}
            ),
            move(to="Nowhere"),
        ),
        (entry("void", {}, supersedes="#12", reason="mistake"), move(to="Nowhere")),
        (move(batch="a"), death(900, batch="a")),
        (move("MS:" + CUTTLE), move(to="Nowhere", day="2026-11-21")),
        (entry("deth", {"animal": CUTTLE}), move()),
        (entry("enclosure_closed", {"enclosure": "T3"}), move(to="T3")),
    ],
    ids=["note", "dam", "superseded", "batch", "house before the number", "unknown kind", "closed"],
)
def test_rows_bound_together(house: cli_house.House, one: dict[str, Any], other: dict[str, Any]) -> None:
    if one.get("supersedes"):
        log = house.rows("log", "--animal", CUTTLE)["rows"]
        one = {**one, "supersedes": f"#{log[0]['seq']}", "occurred": log[0]["occurred"]}
    before = house.position()
    result, rest = aside(house, [one, other])
    assert result.exit_code == REFUSED
    assert len(rest) == 2, result.output
    assert house.position() == before


def test_a_new_enclosure_lands_before_what_stands_in_it_and_binds_nothing(house: cli_house.House) -> None:
    new = {"enclosure": "T9", "name": "Tank 9", "house": "MS", "purpose": "reserve"}
    rows = [move(to="T9"), death(900), entry("enclosure", new, "2026-11-01")]
    result, rest = aside(house, rows)
    assert [row["kind"] for row in rest] == ["death"], result.output
    # and where it is refused, so is what names it, and nothing else
    bad = {**new, "enclosure": "T8", "house": "XX"}
    _, rest = aside(house, [entry("enclosure", bad, "2026-11-01"), move(to="T8", day="2026-11-22"), death(1)])
    assert sorted(row["kind"] for row in rest) == ["enclosure", "move"]


LATE = [death(1, day="2026-05-01"), move(day="2026-05-02"), death(1, day="2026-11-21")]


def test_warnings_are_accepted_once_for_the_whole_file(house: cli_house.House) -> None:
    result, rest = aside(house, LATE)
    assert result.exit_code == REFUSED and "--accept late" in result.output
    assert len(rest) == 3  # the third is of the lot of the first
    result, rest = aside(house, LATE, "--accept", "late", "--because", "Found in a drawer.")
    assert result.exit_code == WELL, result.output
    assert result.output.count("late") == 0


@pytest.mark.parametrize("option", [(), ("--set-aside", "rest.jsonl")])
def test_at_a_terminal_the_reason_is_asked_for_once_a_cause(
    house: cli_house.House, monkeypatch: pytest.MonkeyPatch, option: tuple[str, ...]
) -> None:
    monkeypatch.setattr(cli_load, "terminal", lambda: True)
    monkeypatch.chdir(house.path.parent)
    sheet = cli_house.written(house.path.with_name("sheet.jsonl"), LATE)
    before = house.position()
    refused = house.run("load", sheet, "--by", "ADA", *option, input="\n")
    assert refused.exit_code == REFUSED and house.position() == before
    Path("rest.jsonl").unlink(missing_ok=True)
    result = house.run("load", sheet, "--by", "ADA", *option, input="Found in a drawer.\n")
    assert result.exit_code == WELL, result.output
    assert result.output.count("Why is that right") == 1
    assert house.position() == before + 3
