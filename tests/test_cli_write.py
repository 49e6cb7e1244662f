"""The writing commands: what is written, what is refused with which exit code, and that trying writes nothing."""

from __future__ import annotations

import os
from pathlib import Path

import cli_house
import pytest

from ledger.store.errors import ReadOnly
from ledger.store.sqlite import SqliteStore
from reports import cli_ask, cli_book, cli_new, cli_record

WELL, FOUND, USAGE, REFUSED, CONFLICT, INTEGRITY, ENVIRONMENT = range(7)
CUTTLE = "taxon=Sepia officinalis"


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


@pytest.fixture
def seated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sits at a terminal: what is missing is asked for."""
    for module in (cli_book, cli_new, cli_record):
        monkeypatch.setattr(module, "terminal", lambda: True)


# --- new ------------------------------------------------------------------------------------------


def test_new_writes_a_book_that_knows_its_maker(tmp_path: Path) -> None:
    house = cli_house.House(tmp_path / "b.sqlite")
    made = house.run("new", *cli_house.NEW, "--person", "ADA", "--name", "Ada Quill")
    assert made.exit_code == WELL
    assert "a new book at" in made.output
    assert house.position() == 3
    # the maker's login is in the book, so nobody need say --by
    noted = house.run("record", "note", "topic=diet", "text=Squid.", "occurred=today")
    assert noted.exit_code == WELL and "by ADA" in noted.output


def test_new_leaves_what_stands_there(house: cli_house.House) -> None:
    before = house.path.read_bytes()
    assert house.run("new", *cli_house.NEW, "--person", "ADA").exit_code == CONFLICT
    assert house.path.read_bytes() == before


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        (("--time-zone", "Nowhere/Atall"), REFUSED),
        (("--number-pattern", "no place for a number"), REFUSED),
        (("--hemisphere", "east"), REFUSED),
    ],
)
def test_a_refused_house_leaves_no_file(tmp_path: Path, changed: tuple[str, str], code: int) -> None:
    house = cli_house.House(tmp_path / "b.sqlite")
    refused = house.run("new", *cli_house.NEW, "--person", "ADA", *changed)
    assert refused.exit_code == code, refused.output
    assert "No book is made." in refused.output
    assert not house.path.exists()


def test_new_says_what_it_needs_and_asks_only_at_a_terminal(tmp_path: Path) -> None:
    missing = cli_house.House(tmp_path / "b.sqlite").run("new", "--code", "MS")
    assert missing.exit_code == USAGE
    assert "--house, --time-zone, --hemisphere, --person" in missing.output


def test_new_asks_at_a_terminal(tmp_path: Path, seated: None) -> None:
    house = cli_house.House(tmp_path / "b.sqlite")
    made = house.run("new", input="Marrow Sound Aquarium\nMS\nEurope/Lisbon\n\n\nADA\n")
    assert made.exit_code == WELL, made.output
    assert "[MS-{year}-{n:04}]" in made.output


# --- record ---------------------------------------------------------------------------------------


def test_record_shows_what_it_does_and_writes_it(house: cli_house.House) -> None:
    done = house.run("record", "death", "animal=MS-2026-0002", "occurred=yesterday", "--by", "ADA")
    assert done.exit_code == WELL, done.output
    assert "H1" in done.output and "−1 (0.0.1)" in done.output
    assert "holds Sepia officinalis" in done.output and "1 → 0" in done.output
    assert "Recorded as #15, @15." in done.output


def test_a_dry_run_writes_nothing(house: cli_house.House) -> None:
    before = house.path.read_bytes()
    tried = house.run("record", "death", "animal=MS-2026-0002", "occurred=yesterday", "--by", "ADA", "--dry-run")
    assert tried.exit_code == WELL
    assert "1 → 0" in tried.output and "Dry run: nothing is recorded." in tried.output
    assert house.path.read_bytes() == before


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        (("death", "lot=MS-2026-0001", "how_many=99", "occurred=yesterday"), REFUSED, "too-few"),
        (("death", "animal=MS-9999-0001", "occurred=yesterday"), REFUSED, "unknown-name"),
        (("death", "animal=MS-2026-0002"), REFUSED, "occurred"),
        (("death", "animal=MS-2026-0002", "occurred=2026-13"), REFUSED, "bad-date"),
        (("death", "animal=MS-2026-0002", "occurred=yesterday", "colour=red"), REFUSED, "colour"),
        (("deth", "animal=MS-2026-0002"), USAGE, "death is near"),
        (("death", "animal"), USAGE, "field=value"),
        (("death", "animal=MS-2026-0002", "count=x"), USAGE, "whole number"),
        (("death", "animal=MS-2026-0002", "occurred=yesterday", "--accept", "late"), USAGE, "--because"),
        (("death", "animal=MS-2026-0002", "--accept", "not-there", "--because", "x"), USAGE, "no warning"),
    ],
)
def test_what_cannot_be_recorded(house: cli_house.House, typed: tuple[str, ...], code: int, said: str) -> None:
    before = house.path.read_bytes()
    refused = house.run("record", *typed, "--by", "ADA")
    assert refused.exit_code == code, refused.output
    assert said in refused.output
    assert house.path.read_bytes() == before


def test_who_records_must_be_in_the_book(house: cli_house.House, monkeypatch: pytest.MonkeyPatch) -> None:
    unknown = house.run("record", "note", "topic=diet", "text=x", "occurred=today", "--by", "ZZ")
    assert unknown.exit_code == REFUSED and "there are ADA" in unknown.output
    monkeypatch.setenv("LOGNAME", "somebody-else")
    nobody = house.run("record", "note", "topic=diet", "text=x", "occurred=today")
    assert nobody.exit_code == USAGE and "--by CODE (ADA)" in nobody.output


def test_several_animals_in_one_entry(house: cli_house.House) -> None:
    fields = ("animal=MS-2026-0098", "count=3", "sex=1.1.1", CUTTLE, "enclosure=H1", "occurred=yesterday")
    done = house.run("record", "hatching", *fields, "--by", "ADA")
    assert done.exit_code == WELL, done.output
    assert "MS-2026-0098 to MS-2026-0100" in done.output and "+3 (1.1.1)" in done.output
    assert "Recorded as #15 to #17, @17." in done.output
    inside = house.run("census", "--known-at", "@16")
    assert inside.exit_code == USAGE and "@14" in inside.output and "@17" in inside.output


def test_a_warning_is_accepted_with_a_reason(house: cli_house.House) -> None:
    typed = ("record", "move", "animal=MS-2026-0002", "to=T3", "occurred=2026-01-20", "--by", "ADA")
    asked = house.run(*typed)
    assert asked.exit_code == REFUSED, asked.output
    assert "warning: late" in asked.output and "--accept late --because" in asked.output
    done = house.run(*typed, "--accept", "late", "--because", "Sheet found behind the pump.")
    assert done.exit_code == WELL, done.output


def test_record_asks_at_a_terminal_and_proposes_the_next_number(house: cli_house.House, seated: None) -> None:
    answers = ["monday-ish", "yesterday", "2x", "nowhere", "hosp", "", "officinalis", "?", "sex=m", "", ""]
    done = house.run("record", "hatching", "--by", "ADA", input="\n".join(answers) + "\n")
    assert done.exit_code == WELL, done.output
    assert "'monday-ish' is not a date" in done.output
    assert "“nowhere” is not in the book" in done.output
    assert "First number [MS-2026-0003]" in done.output
    assert "MS-2026-0003 to MS-2026-0004" in done.output
    assert "+2 (2.0.0)" in done.output
    assert "Recorded as #15 to #16, @16." in done.output


def test_a_refused_field_is_asked_for_again(house: cli_house.House, seated: None) -> None:
    answers = ["yesterday", "MS-2026-0001", "30.0.0", "", "how_many=1", "", "yes"]
    done = house.run("record", "death", "--by", "ADA", input="\n".join(answers) + "\n")
    assert "37 in T3" in done.output
    assert "too-few" in done.output and "Mend it" in done.output
    assert done.exit_code == WELL, done.output
    left = house.run("record", "death", "--by", "ADA", input="yesterday\nMS-2026-0001\n99\n\n\n")
    assert left.exit_code == REFUSED and left.output.endswith("Nothing is recorded.\n")


def test_a_word_of_no_list_is_asked_for_again(house: cli_house.House, seated: None) -> None:
    answers = ["yesterday", "MS-2026-0002", "cause=eaten", "", "predation", "yes"]
    done = house.run("record", "death", "--by", "ADA", input="\n".join(answers) + "\n")
    assert done.exit_code == WELL, done.output
    assert "bad-field" in done.output and "cause is 'eaten'" in done.output


def test_no_is_an_answer_and_with_all_fields_given_nothing_is_asked(house: cli_house.House, seated: None) -> None:
    no = house.run("record", "death", "--by", "ADA", input="yesterday\nMS-2026-0002\n\nno\n")
    assert no.exit_code == WELL and "Nothing is recorded." in no.output
    assert house.position() == 14
    given = house.run("record", "death", "animal=MS-2026-0002", "occurred=yesterday", "--by", "ADA", input="")
    assert given.exit_code == WELL and house.position() == 15


def test_the_end_of_input_stops_without_a_word_of_python(house: cli_house.House, seated: None) -> None:
    stopped = house.run("record", "death", "--by", "ADA", input="yesterday\n")
    assert stopped.exit_code == 130
    assert "Stopped" in stopped.output and house.position() == 14


def test_choices_of_a_closed_list() -> None:
    assert "loan" in cli_ask.choices("transfer", "terms")
    assert cli_ask.choices("death", "note") == []
    assert "permits" in cli_ask.list_fields("transfer")


# --- load -----------------------------------------------------------------------------------------


def _death(**changes: object) -> dict[str, object]:
    return {"kind": "death", "occurred": "2026-11-01", "payload": {"lot": "MS-2026-0001", "how_many": 1}, **changes}


def test_a_file_lands_whole_or_not_at_all(house: cli_house.House, tmp_path: Path) -> None:
    bad = _death(payload={"lot": "MS-2026-0001", "how_many": 99})
    sheet = cli_house.written(tmp_path / "sheet.jsonl", [_death(), _death(), bad])  # type: ignore[list-item]
    before = house.path.read_bytes()
    refused = house.run("load", sheet, "--by", "ADA")
    assert refused.exit_code == REFUSED
    assert "sheet.jsonl, line 3 (death of MS-2026-0001)" in refused.output
    assert house.path.read_bytes() == before


def test_a_repeat_passes_over_what_is_recorded(house: cli_house.House, tmp_path: Path) -> None:
    entries = [_death(), _death(), {**_death(), "payload": {"lot": "MS-2026-0001", "how_many": 2}}]
    sheet = cli_house.written(tmp_path / "sheet.jsonl", entries)  # type: ignore[arg-type]
    accept = ("--by", "ADA", "--accept", "very-like", "--because", "Two bodies.")
    tried = house.run("load", sheet, "--dry-run", *accept)
    assert tried.exit_code == WELL and "3 would be recorded; nothing is" in tried.output, tried.output
    loaded = house.run("load", sheet, *accept)
    assert loaded.exit_code == WELL and "Recorded 3 as #15 to #17, @17." in loaded.output, loaded.output
    again = house.run("load", sheet, *accept)
    assert again.exit_code == WELL
    assert "3 recorded already (#15 to #17), passed over." in again.output and "Nothing new." in again.output
    # a longer sheet goes on behind what is known; a mended note does not make a row another one
    entries = [*entries, _death(occurred="2026-11-03")]
    entries[0] = {**_death(), "payload": {**_death()["payload"], "note": "On the intake."}}  # type: ignore[dict-item]
    longer = house.run("load", cli_house.written(tmp_path / "sheet.jsonl", entries), *accept)  # type: ignore[arg-type]
    assert longer.exit_code == WELL and "Recorded 1 as #18, @18." in longer.output, longer.output


def test_one_id_with_other_content_is_a_conflict(house: cli_house.House, tmp_path: Path) -> None:
    id_ = "01990000-0000-7000-8000-000000000001"
    sheet = cli_house.written(tmp_path / "a.jsonl", [_death(event_id=id_)])  # type: ignore[list-item]
    assert house.run("load", sheet, "--by", "ADA").exit_code == WELL
    other = cli_house.written(tmp_path / "b.jsonl", [_death(event_id=id_, occurred="2026-11-02")])  # type: ignore[list-item]
    conflict = house.run("load", other, "--by", "ADA")
    assert conflict.exit_code == CONFLICT and "b.jsonl, line 1" in conflict.output


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ('{"kind": "note"', REFUSED, "sheet.jsonl, line 1"),
        ('{"kind": "note", "kind": "note"}', REFUSED, "the key `kind` twice"),
        ('{"kind": "note", "occurred": "2026-01-03", "payload": {}, "recorded": "x"}', REFUSED, "recorded"),
        ('{"kind": "note", "occurred": "2026-01-03", "payload": {}, "seq": 4}', REFUSED, "seq"),
        ("", USAGE, "no entry in"),
    ],
)
def test_files_that_cannot_be_loaded(house: cli_house.House, tmp_path: Path, text: str, code: int, said: str) -> None:
    sheet = tmp_path / "sheet.jsonl"
    sheet.write_text(text, encoding="utf-8")
    refused = house.run("load", sheet, "--by", "ADA")
    assert refused.exit_code == code, refused.output
    assert said in refused.output


def test_a_file_that_is_not_there_is_the_machines_trouble(house: cli_house.House, tmp_path: Path) -> None:
    missing = house.run("load", tmp_path / "none.jsonl", "--by", "ADA")
    assert missing.exit_code == ENVIRONMENT and "none.jsonl" in missing.output


# --- correct and strike out -----------------------------------------------------------------------


def test_correct_supersedes_and_only_the_newest(house: cli_house.House) -> None:
    done = house.run("correct", "#12", "how_many=2", "--reason", "mistake", "--because", "Two bodies.", "--by", "ADA")
    assert done.exit_code == WELL, done.output
    assert "#12 (death of MS-2026-0001)" in done.output and "Recorded as #15" in done.output
    conflict = house.run("correct", "12", "how_many=1", "--reason", "mistake", "--by", "ADA")
    assert conflict.exit_code == CONFLICT and "#15" in conflict.output
    same = house.run("correct", "#15", "how_many=2", "--reason", "mistake", "--by", "ADA")
    assert same.exit_code == REFUSED and "nothing-changed" in same.output


def test_strike_out_is_final(house: cli_house.House) -> None:
    done = house.run("strike-out", "#12", "--reason", "mistake", "--by", "ADA")
    assert done.exit_code == WELL, done.output
    again = house.run("strike-out", "#12", "--reason", "mistake", "--by", "ADA")
    assert again.exit_code == CONFLICT and "struck-out" in again.output
    held = house.rows("census")["rows"]
    assert sum(row["total"] for row in held if row["taxon"] == "Chromis viridis") == 40


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (("correct", "#999", "how_many=2", "--reason", "slip"), REFUSED),
        (("correct", "the last", "how_many=2", "--reason", "slip"), USAGE),
        (("correct", "#12", "--reason", "slip"), USAGE),
        (("correct", "#12", "how_many=2", "--reason", "whim"), USAGE),
        (("correct", "#12", "how_many=2"), USAGE),
        (("strike-out", "#999", "--reason", "slip"), REFUSED),
        (("strike-out", "#1", "--reason", "mistake"), REFUSED),
    ],
)
def test_corrections_that_cannot_be(house: cli_house.House, typed: tuple[str, ...], code: int) -> None:
    refused = house.run(*typed, "--by", "ADA")
    assert refused.exit_code == code, refused.output
    assert house.position() == 14


def test_a_protected_book_is_the_machines_trouble(house: cli_house.House, monkeypatch: pytest.MonkeyPatch) -> None:
    if os.geteuid():
        house.path.chmod(0o400)
    else:  # file rights do not bind root: let the store say what it says to anybody else

        def protected(*_: object) -> None:
            raise ReadOnly("the book may not be written")

        monkeypatch.setattr(SqliteStore, "begin", protected)
    refused = house.run("record", "death", "animal=MS-2026-0002", "occurred=yesterday", "--by", "ADA")
    assert refused.exit_code == ENVIRONMENT


def test_a_fault_of_the_program_is_one_sentence(
    house: cli_house.House, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(cli_record, "correct", broken)
    fault = house.run("correct", "#12", "how_many=2", "--reason", "slip", "--by", "ADA")
    assert fault.exit_code == ENVIRONMENT
    assert fault.output.count("\n") == 1 and "ZeroDivisionError" in fault.output
    monkeypatch.setenv("TIDEMARK_DEBUG", "1")
    assert "Traceback" in house.run("correct", "#12", "how_many=2", "--reason", "slip", "--by", "ADA").output


def test_every_reason_of_the_record_can_be_given(house: cli_house.House) -> None:
    from ledger.words import CORRECTION_REASONS
    from reports.cli_record import REASONS

    assert sorted(REASONS) == sorted(CORRECTION_REASONS)
    done = house.run("strike-out", "#12", "--reason", "merged_records", "--by", "ADA")
    assert done.exit_code == WELL, done.output
