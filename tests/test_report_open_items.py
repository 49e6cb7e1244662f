"""Open items: each sort appears when it is open, and goes when it is settled."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from paper_books import Paper, ref, register
from told_books import Told, animal, entry, lot

from ledger.read import AsOf, Copy, Names
from reports.open_groups import grouped
from reports.open_items import ITEMS, open_items


def found(told: Told, on: str, item: str = "", known: int = 0, **limits: int) -> list[dict[str, Any]]:
    copy, names, asof = told.asked(on, known)
    rows = open_items(copy, names, asof, names.find("house", "MS"), **limits).to_dicts()
    assert all(r["item"] in ITEMS and r["days"] == (asof.on - r["since"]).days for r in rows)
    return [r for r in rows if not item or r["item"] == item]


def test_a_cause_is_open_until_it_is_learnt() -> None:
    told = Told(lot("MS-1", 9), entry("death", "2024-02-01", lot="MS-1", how_many=2, label="died"))
    before = told.seq("died")
    (row,) = found(told, "2024-03-01", "cause")
    assert (row["what"], row["about"], row["days"], row["event"]) == (
        "MS-1",
        "2 died, cause not determined",
        29,
        before,
    )
    told.tell(
        {"correct": {"event": "died", "changes": {"cause": "trauma"}, "reason": "learnt",
                     "recorded": "2024-03-05T09:00:00Z"}}
    )  # fmt: skip
    assert found(told, "2024-03-06", "cause") == []
    assert len(found(told, "2024-03-06", "cause", known=before)) == 1


def test_an_unknown_sex_is_open_until_it_is_found() -> None:
    told = Told(animal("MS-1", "u"), animal("MS-2", "f"), lot("MS-3", 4))
    assert [r["what"] for r in found(told, "2024-01-01", "sex")] == ["MS-1"]
    told.tell(entry("sexing", "2024-02-01", animal="MS-1", to="m"))
    assert found(told, "2024-02-01", "sex") == []
    assert [r["what"] for r in found(told, "2024-01-31", "sex")] == ["MS-1"]


def test_permits_that_end_are_there_until_extended() -> None:
    told = Told(
        entry("permit", "2023-01-01", permit="P-1", authority="CWO", until="2024-03-01"),
        entry("permit", "2023-01-01", permit="P-2", authority="CWO", until="2026-03-01"),
    )
    (row,) = found(told, "2024-02-01", "permit ends", ahead=60)
    assert (row["what"], row["about"], row["days"]) == ("P-1", "Coastal Wardens Office", -29)
    assert found(told, "2024-02-01", "permit ends", ahead=10) == []
    assert [r["days"] for r in found(told, "2024-03-11", "permit ends")] == [10]
    told.tell(entry("permit_changed", "2024-03-12", permit="P-1", until="2025-03-01"))
    assert found(told, "2024-03-12", "permit ends") == []


def test_a_loan_ends_with_its_agreement_while_animals_are_away() -> None:
    told = Told(
        animal("MS-1"),
        entry(
            *("agreement", "2023-07-01"),
            agreement="C-1", terms="loan", parties=["MS", "OSC"], ends="2024-03-01",
        ),
        entry(
            *("transfer", "2023-08-01"), animal="MS-1", **{"from": "MS"}, to="OSC", terms="loan", agreement="C-1"
        ),
    )  # fmt: skip
    (ends,) = found(told, "2024-02-15", "agreement ends")
    assert (ends["what"], ends["about"]) == ("C-1", "loan Ostrey Sea Centre")
    (loan,) = found(told, "2024-02-15", "loan ends")
    assert (loan["what"], loan["about"]) == ("MS-1", "1 lent to Ostrey Sea Centre, C-1")
    told.tell(
        entry("transfer", "2024-02-20", animal="MS-1", **{"from": "OSC"}, to="MS", terms="loan_return", enclosure="T3")
    )
    assert found(told, "2024-02-21", "loan ends") == []


def test_a_question_stands() -> None:
    told = Told(animal("MS-1"), entry("note", "2024-01-05", animal="MS-1", topic="question", text="Same animal?"))
    (row,) = found(told, "2024-01-10", "question")
    assert (row["what"], row["about"], row["days"]) == ("MS-1", "Same animal?", 5)


@pytest.mark.parametrize(("closes", "n"), [("#11", 0), ("id-11", 0), ("#10", 1)])
def test_a_later_note_closes_a_question(closes: str, n: int) -> None:
    paper = Paper()
    register(paper)
    opened = ("opening", "2024-01-01", {"animal": ref("a-1", "AA-1"), "enclosure": ref("e-1", "T1")})
    asked = ("note", "2024-01-02", {"animal": ref("a-1", "AA-1"), "topic": "question", "text": {"commit": "00"}})
    paper.batch([opened, asked])
    known = paper.batch([("note", "2024-01-09", {"topic": "behaviour", "text": {"commit": "00"}, "closes": closes})])
    copy = Copy(paper)
    for on, open_then in ((date(2024, 1, 8), 1), (date(2024, 1, 9), n)):
        asof = AsOf(on, known)
        rows = open_items(copy, Names(copy, asof), asof, "h-a").filter(item="question")
        assert rows.height == open_then


def test_what_nobody_saw() -> None:
    told = Told(animal("MS-1"), animal("MS-2"), lot("MS-3", 4))
    assert found(told, "2023-08-30", "not seen", unseen=90) == []
    assert [r["what"] for r in found(told, "2023-08-31", "not seen", unseen=90)] == ["MS-1", "MS-2", "MS-3"]
    told.tell(entry("sighting", "2023-08-31", animal="MS-1", seen=True))
    told.tell(entry("sighting", "2023-08-31", animal="MS-2", seen=False))
    told.tell(entry("count", "2023-08-31", lot="MS-3", how_many=4))
    (row,) = found(told, "2023-09-01", "not seen", unseen=90)
    assert (row["what"], row["since"].isoformat()) == ("MS-2", "2023-08-31")
    assert "looked for and not seen" in row["about"]


def test_a_section_that_went_quiet() -> None:
    told = Told(
        entry("sheet_received", "2024-01-01", house="MS", section="back row"),
        entry("sheet_received", "2024-01-01", house="MS", section="north hall"),
        entry("sheet_received", "2024-01-05", house="MS", section="back row"),
    )
    assert found(told, "2024-01-08", "sheet", sheets=7) == []
    (row,) = found(told, "2024-01-09", "sheet", sheets=7)
    assert (row["what"], row["days"]) == ("north hall", 8)


def test_young_whose_owner_is_not_settled() -> None:
    told = Told(
        entry(
            *("transfer", "2023-01-05"), animal="MS-1", sex="f", taxon="Phoca vitulina", enclosure="T3",
            **{"from": "OSC"}, to="MS", terms="loan",
        ),
        entry("birth", "2024-01-05", animal="MS-2", sex="f", taxon="Phoca vitulina", enclosure="T3", dam="MS-1",
              owner="not_settled"),
    )  # fmt: skip
    (row,) = found(told, "2024-01-10", "owner")
    assert (row["what"], row["days"]) == ("MS-2", 5)
    told.tell(entry("title_change", "2024-02-01", animal="MS-2", owner="OSC", terms="other"))
    assert found(told, "2024-02-01", "owner") == []


@pytest.mark.parametrize(("permits", "n"), [({}, 1), ({"permits": ["P-9"]}, 0)])
def test_a_listed_animal_without_papers(permits: dict[str, Any], n: int) -> None:
    listing = [{"instrument": "CITES", "listing": "II", "since": "2004-05-15", "source": "read there"}]
    told = Told(
        entry("taxon", "2020-01-01", taxon="Hippocampus comes", rank="species", listings=listing),
        entry(
            *("transfer", "2023-01-05"), animal="MS-1", sex="f", taxon="Hippocampus comes", enclosure="T3",
            **{"from": "OSC"}, to="MS", terms="donation", **permits,
        ),
    )  # fmt: skip
    rows = found(told, "2023-02-01", "permit missing")
    assert len(rows) == n and all("Appendix II" in r["about"] for r in rows)


def test_deaths_of_a_lot_are_one_line_of_work_and_each_taxon_not_seen_another() -> None:
    told = Told(
        lot("MS-1", 40),
        lot("MS-2", 8),
        animal("MS-3", sex="u"),
        animal("MS-4", sex="u"),
        entry("death", "2024-03-03", lot="MS-1", how_many=2),
        entry("death", "2024-04-09", lot="MS-1", how_many=10),
        entry("death", "2024-03-05", lot="MS-1", how_many=1, cause="trauma"),
        entry("death", "2024-03-30", lot="MS-2", how_many=1),
        entry("sighting", "2024-03-30", animal="MS-4", seen=False),
    )
    copy, names, asof = told.asked("2024-05-01")
    frame = open_items(copy, names, asof, names.find("house", "MS"))
    lines = grouped(frame)
    assert lines["entries"].sum() == frame.height and lines.height < frame.height
    causes = lines.filter(lines["item"] == "cause").to_dicts()
    assert [(r["what"], r["about"], r["entries"]) for r in causes] == [
        ("MS-1", "12 deaths without a cause, 3 March 2024 to 9 April 2024", 2),
        ("MS-2", "1 died, cause not determined", 1),
    ]
    assert (causes[0]["since"], causes[0]["until"], causes[0]["days"]) == (date(2024, 3, 3), date(2024, 4, 9), 59)
    (sex,) = lines.filter(lines["item"] == "sex").to_dicts()
    assert (sex["what"], sex["about"]) == ("MS-3 and 1 more", "2 harbour seal under 2 numbers, sex not known")
    unseen = {r["what"]: r["about"] for r in lines.filter(lines["item"] == "not seen").iter_rows(named=True)}
    assert unseen["MS-4"] == "1 harbour seal, looked for and not seen" and "MS-3" in unseen
