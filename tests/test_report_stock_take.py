"""The stock take: what is expected, the sheet for the finder, and the filled sheet read back; blank is not zero."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from told_books import Told, animal, entry, lot

from reports.stock_take import BadSheet, as_csv, as_page, expected, read_back


@pytest.fixture(scope="module")
def told() -> Told:
    return Told(
        entry("enclosure", "2020-01-01", enclosure="T3A", name="Kelp side pool", house="MS", parent="T3",
              purpose="exhibit"),
        animal("MS-1", name="Brill"),
        entry("marking", "2023-07-01", animal="MS-1", scheme="tag", value="A7", colour="red"),
        lot("MS-2", "2.3.4", enclosure="T3A"),
        animal("MS-3", enclosure="R2"),
        animal("MS-4"),
        entry("death", "2023-08-01", animal="MS-4"),
    )  # fmt: skip


def test_what_is_expected_there_and_inside(told: Told) -> None:
    copy, names, asof = told.asked("2023-09-01")
    rows = expected(copy, names, asof, names.find("enclosure", "T3")).to_dicts()
    assert [(r["enclosure"], r["number"], r["sort"], r["mfu"], r["total"]) for r in rows] == [
        ("T3", "MS-1", "animal", "0.1.0", 1),
        ("T3A", "MS-2", "lot", "2.3.4", 9),
    ]
    assert rows[0]["marks"] == "tag A7, red" and rows[0]["last_seen"] == date(2023, 7, 1)
    before = expected(*told.asked("2023-07-31"), names.find("enclosure", "T3"))
    assert before["number"].to_list() == ["MS-1", "MS-4", "MS-2"]


def test_the_sheet_goes_out_and_comes_back(told: Told) -> None:
    copy, names, asof = told.asked("2023-09-01")
    text = as_csv(expected(copy, names, asof, names.find("enclosure", "T3")))
    assert read_back(text, asof.on, {}) == []  # nobody filled anything in
    lines = list(csv.DictReader(io.StringIO(text)))
    assert [(x["number"], x["expected"], x["found"]) for x in lines] == [("MS-1", "female", ""), ("MS-2", "2.3.4", "")]
    lines[0] |= {"found": "Yes"}
    lines[1] |= {"found": "0", "note": "pool was drained"}
    further = dict.fromkeys(lines[0], "") | {"number": "MS-3", "found": "yes", "enclosure": "T3A"}
    out = io.StringIO()
    writer = csv.DictWriter(out, list(lines[0]))
    writer.writeheader()
    writer.writerows([*lines, further])
    entries = read_back(out.getvalue(), asof.on, {"MS-3": "animal"})
    assert [e["kind"] for e in entries] == ["sighting", "count", "sighting"]
    assert [e["payload"] for e in entries] == [
        {"animal": "MS-1", "seen": True, "enclosure": "T3"},
        {"lot": "MS-2", "how_many": 0, "enclosure": "T3A", "note": "pool was drained"},
        {"animal": "MS-3", "seen": True, "enclosure": "T3A"},
    ]
    told.run.chance.at("2023-09-01T20:00:00Z")
    assert not told.run.book.append(entries, by="ADA", dry_run=True).refusals


@pytest.mark.parametrize(
    ("found", "sort", "said"),
    [("perhaps", "animal", "yes or no"), ("a few", "lot", "a number"), ("3", "", "neither an animal nor a lot")],
)
def test_every_line_that_cannot_be_read_is_named(found: str, sort: str, said: str) -> None:
    text = f"number,sort,found\nMS-1,animal,yes\nMS-9,{sort},{found}\n"
    with pytest.raises(BadSheet, match=f"line 3: .*{said}"):
        read_back(text, date(2023, 9, 1), {})


def test_another_file_is_refused() -> None:
    with pytest.raises(BadSheet, match="no column found"):
        read_back("number,name\n1,2\n", date(2023, 9, 1), {})


def test_a_formula_stays_text() -> None:
    assert read_back("number,sort,found,note\n'=1+1,animal,no,'-x\n", date(2023, 9, 1), {})[0]["payload"] == {
        "animal": "=1+1",
        "seen": False,
        "note": "-x",
    }


def test_the_printed_sheet(told: Told) -> None:
    copy, names, asof = told.asked("2023-09-01")
    place = names.find("enclosure", "T3")
    text = as_page(expected(copy, names, asof, place), names, place, f"@{asof.known}")
    for said in ("Stock take, Kelp tank", "1 September 2023", f"@{asof.known}", "Blank says nothing", "tag A7, red"):
        assert said in text
    assert "://" not in text and "<script" not in text
