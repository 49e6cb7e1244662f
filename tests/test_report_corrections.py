"""Corrections told apart: slips, mistakes, what was struck out; what was learnt completes and is no correction."""

from __future__ import annotations

from datetime import date

import pytest
from told_books import Told, animal, entry, lot

from reports.common import Basis, Period
from reports.corrections import completed, corrections

ALWAYS = Period(date(2015, 1, 1), date(2030, 12, 31))


def rows(told: Told, recorded: Period = ALWAYS, *, learnt: bool = False, known: int = 0) -> list[dict]:
    copy, names, asof = told.asked("2026-01-01", known)
    ask = completed if learnt else corrections
    return ask(copy, names, recorded, asof.known, Basis("held", names.find("house", "MS"))).to_dicts()


def mend(event: str, day: str, changes: dict, reason: str) -> dict:
    wish = {"event": event, "changes": changes, "reason": reason, "recorded": f"{day}T09:00:00Z"}
    return {"correct": wish | ({"text": "two swam off"} if reason == "mistake" else {})}


@pytest.fixture(scope="module")
def told() -> Told:
    told = Told(
        lot("MS-1", 40),
        animal("MS-2"),
        entry("death", "2024-02-01", lot="MS-1", how_many=5, label="five"),
        entry("death", "2024-02-02", animal="MS-2", cause="not_determined", label="seal"),
        entry("move", "2024-02-03", lot="MS-1", to="R2", label="moved"),
        mend("five", "2024-02-10", {"how_many": 3}, "mistake"),
        mend("seal", "2024-02-22", {"cause": "parasites"}, "learnt"),
        mend("moved", "2024-02-23", {"to": "R3"}, "slip"),
    )
    newest = f"#{told.seq('moved') + 1}"  # the mended death
    told.tell({"strike_out": {"event": newest, "reason": "mistake", "recorded": "2024-03-01T23:30:00Z"}})
    return told


def test_each_is_a_row_with_what_it_moved(told: Told) -> None:
    mended, slipped, struck = rows(told)
    assert [r["reason"] for r in (mended, slipped, struck)] == ["mistake", "slip", "mistake"]
    assert [r["done"] for r in (mended, slipped, struck)] == ["corrected", "corrected", "struck out"]
    assert (mended["kind"], mended["what"], mended["why"]) == ("death", "MS-1", "two swam off")
    assert mended["changed"] == "how many: 5 → 3" and mended["superseded"] == told.seq("five")
    assert mended["moved"] == 2 and "Kelp tank +2 from 2024-02-01" in mended["moved_words"]
    assert slipped["moved"] == 0 and "Reserve two −37" in slipped["moved_words"].replace("−35", "−37")
    assert struck["moved"] == 3 and struck["superseded"] == mended["event"] and struck["days"] == "2024-02-01"


def test_what_was_learnt_is_completed_and_nothing_else(told: Told) -> None:
    (seal,) = rows(told, learnt=True)
    assert (seal["done"], seal["kind"], seal["what"]) == ("completed", "death", "MS-2")
    assert seal["changed"] == "cause: not determined → parasites"
    assert (seal["moved"], seal["moved_words"]) == (0, "")


def test_the_time_is_that_of_recording_by_the_calendar_of_the_book(told: Told) -> None:
    february = Period(date(2024, 2, 1), date(2024, 2, 29))
    assert [r["done"] for r in rows(told, february)] == ["corrected", "corrected"]
    assert rows(told, Period(date(2024, 2, 11), date(2024, 2, 22))) == []
    assert len(rows(told, february, learnt=True)) == 1


def test_what_was_not_known_yet_is_not_there(told: Told) -> None:
    assert rows(told, known=told.seq("moved")) == []


def test_a_wrong_animal_names_the_entry_made_anew() -> None:
    told = Told(animal("MS-2"), animal("MS-3"), entry("death", "2024-02-01", animal="MS-2", label="wrong"))
    told.run.labels["wrong"] = told.seq("wrong")
    told.run.chance.at("2024-02-05T09:00:00Z")
    book = told.run.book
    outcome = book.append(
        [
            {"kind": "void", "occurred": "2024-02-01", "supersedes": f"#{told.seq('wrong')}",
             "reason": {"code": "mistake"}, "payload": {}},
            {"kind": "death", "occurred": "2024-02-01", "payload": {"animal": "MS-3"}},
        ],
        by="ADA",
        accept={"late": "told in the test"},
    )  # fmt: skip
    assert outcome.landed, outcome.findings
    (row,) = rows(told)
    assert row["done"] == "struck out" and row["anew"] == f"#{outcome.events[1][0]}"


def test_a_number_typed_anew_shows_the_old_and_the_new_one() -> None:
    told = Told(
        animal("MS-2", label="came"),
        entry("move", "2024-02-03", animal="MS-2", to="R2", label="moved"),
        entry("permit", "2024-02-04", permit="IMP-12", authority="CWO", label="paper"),
        mend("came", "2024-02-05", {"animal": "MS-22"}, "mistake"),
        mend("moved", "2024-02-06", {"animal": "MS-22", "to": "R3"}, "mistake"),
        mend("paper", "2024-02-07", {"permit": "IMP-21"}, "slip"),
    )
    number, moved, paper = rows(told)
    assert (number["what"], number["changed"], number["moved"]) == ("MS-22", "animal: MS-2 → MS-22", 0)
    assert moved["changed"] == "to: Reserve two → Reserve three"  # it is the same animal, called by its number
    assert paper["changed"] == "permit: IMP-12 → IMP-21"
