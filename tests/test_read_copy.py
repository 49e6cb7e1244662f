"""The reading copy: what it brings, both dates of every question, corrections, and what it rests on."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta

import polars as pl
import pytest
from paper_books import Paper, day, legs, line, ref, register

from ledger.read import AsOf, Copy, Names, View, view

HERE = ("t-x", "male", "e-1", "h-a", "h-a")
SICK = ("t-x", "male", "e-2", "h-a", "h-a")
BORN = ("t-x", "male", "born", "", "")


def small() -> tuple[Paper, list[int]]:
    paper = Paper()
    ends = [register(paper)]
    ends.append(paper.batch([("birth", "2025-01-05", {})], legs(10, "a-1", "2025-01-05", BORN, HERE, 1, "born")))
    ends.append(paper.batch([("move", "2025-02-01", {})], legs(11, "a-1", "2025-02-01", HERE, SICK, 1, "re_housed")))
    # learnt later: the move was a day before
    back = [line(11, "a-1", "2025-02-01", HERE, 1, "re_housed"), line(11, "a-1", "2025-02-01", SICK, -1, "re_housed")]
    moved = legs(11, "a-1", "2025-01-31", HERE, SICK, 1, "re_housed")
    ends.append(paper.batch([("move", "2025-01-31", {})], back + moved, supersedes=11))
    return paper, ends


def where(copy: Copy, on: str, known: int) -> dict[str, int]:
    cells = copy.cells(AsOf(day(on), known))
    return dict(cells.filter(pl.col("place").str.starts_with("e-")).select("place", "n").iter_rows())


def test_both_dates_decide() -> None:
    paper, (registered, born, moved, mended) = small()
    copy = Copy(paper)
    assert where(copy, "2025-01-31", registered) == {}
    assert where(copy, "2025-01-04", mended) == {}
    assert where(copy, "2025-02-01", born) == {"e-1": 1}
    assert where(copy, "2025-01-31", moved) == {"e-1": 1}
    assert where(copy, "2025-01-31", mended) == {"e-2": 1}


def test_lines_that_cancel_are_not_shown() -> None:
    paper, (_, _, moved, mended) = small()
    copy = Copy(paper)
    span = (day("2025-01-01"), day("2025-12-31"))
    assert copy.lines(*span, moved)["delta"].to_list() == [-1, 1, -1, 1]
    days = copy.lines(*span, mended).filter(pl.col("reason") == "re_housed")["counts_on"].unique()
    assert days.to_list() == [day("2025-01-31")]


def test_refresh_brings_only_what_is_new_and_whole_batches() -> None:
    paper, (*_, mended) = small()
    copy = Copy(paper)
    assert copy.head.position == mended
    assert copy.refresh() == 0
    paper.batch(
        [("death", "2025-03-01", {}), ("note", "2025-03-01", {})], legs(13, "a-1", "2025-03-01", SICK, BORN, 1, "died")
    )
    assert copy.refresh() == 2
    assert where(copy, "2025-03-01", mended) == {"e-2": 1}
    assert where(copy, "2025-03-01", mended + 2) == {}


def test_frames_are_typed() -> None:
    paper, (*_, mended) = small()
    seen = view(paper, on="2025-02-01", known=mended)
    assert isinstance(seen, View)
    assert seen.cells.schema["n"] == pl.Int64
    assert seen.cells["n"].sum() == 0
    assert seen.lines(day("2025-01-01")).schema == {
        "effect": pl.Int64,
        "subject": pl.String,
        "counts_on": pl.Date,
        "could_from": pl.Date,
        **dict.fromkeys(("taxon", "sex", "place", "holder", "owner", "standing", "reason"), pl.String),
        "delta": pl.Int64,
    }
    assert seen.possible.is_empty()


def test_an_empty_book_answers_nothing() -> None:
    copy = Copy(Paper())
    assert copy.head.position == 0
    assert copy.cells(AsOf(day("2025-01-01"), 0)).is_empty()
    assert copy.proof(0).agrees


def test_the_journal_digest_is_taken_anew() -> None:
    paper, ends = small()
    copy = Copy(paper)
    assert all(copy.proof(end).agrees for end in ends)
    assert len({copy.proof(end).root for end in ends}) == len(ends)
    row = paper._postings[0]
    paper._postings[0] = (*row[:-1], row[-1] + 1)
    assert not Copy(paper).proof(ends[-1]).agrees


@pytest.mark.parametrize("seed", range(8))
def test_a_series_is_the_sum_of_every_day(seed: int) -> None:
    rng = random.Random(seed)
    paper = Paper()
    known, truth = [register(paper)], []
    for n in range(20):
        on = date(2025, 1, 1) + timedelta(days=rng.randint(0, 90))
        cell = (rng.choice(("t-x", "t-y")), "male", rng.choice(("e-1", "e-2")), "h-a", "h-a")
        k = rng.randint(1, 5)
        known.append(
            paper.batch([("birth", "2025-01-01", {})], legs(10 + n, "g-1", on.isoformat(), BORN, cell, k, "born"))
        )
        truth.append((known[-1], on, cell[0], cell[2], k))
    copy = Copy(paper)
    at = rng.choice(known)
    days = [date(2025, 1, 1) + timedelta(days=rng.randint(-5, 100)) for _ in range(9)]
    found = copy.figures(days, at).filter(pl.col("place").str.starts_with("e-"))
    expected: Counter[tuple[date, str, str]] = Counter()
    for on in set(days):
        for known_from, counts_on, taxon, place, k in truth:
            if known_from <= at and counts_on <= on:
                expected[on, taxon, place] += k
    assert {(d, t, p): n for d, t, p, n in found.select("day", "taxon", "place", "n").iter_rows()} == dict(expected)


# --- names -----------------------------------------------------------------------------------------------


def test_names_are_as_known_and_enclosures_as_on_the_day() -> None:
    paper = Paper()
    first = register(paper)
    wrong = ("opening", "2025-01-01", {"animal": ref("a-1", "AA-2025-0010"), "enclosure": ref("e-1", "T1")})
    entered = paper.batch([wrong])
    moved = (
        "enclosure_changed",
        "2025-06-01",
        {"enclosure": ref("e-1", "T1"), "name": "Kelp wall", "section": "north"},
    )
    changed = paper.batch([moved])
    right = ("opening", "2025-01-01", {"animal": ref("a-1", "AA-2025-0001"), "enclosure": ref("e-1", "T1")})
    mended = paper.batch([right], supersedes=entered)
    copy = Copy(paper)

    def names(on: str, known: int) -> Names:
        return Names(copy, AsOf(day(on), known))

    assert names("2025-12-31", entered).number("a-1") == "AA-2025-0010"
    assert names("2025-12-31", mended).number("a-1") == "AA-2025-0001"
    assert names("2025-12-31", first).number("a-1") == "a-1"
    assert names("2025-05-31", mended).label("e-1") == "Tank 1"
    assert names("2025-06-01", mended).label("e-1") == "Kelp wall"
    assert names("2025-06-01", entered).label("e-1") == "Tank 1"
    sections = dict(names("2025-06-01", changed).enclosures.select("place", "section").iter_rows())
    assert sections["e-1"] == "north" and sections["e-2"] == "hall"


def test_what_is_struck_out_has_no_name() -> None:
    paper = Paper()
    register(paper)
    entered = paper.batch([("party", "2025-01-01", {"party": ref("o-q", "QQ"), "name": "Partner Q"})])
    struck = paper.batch([("void", "2025-01-01", {})], supersedes=entered)
    copy = Copy(paper)
    assert Names(copy, AsOf(day("2025-02-01"), entered)).label("o-q") == "Partner Q"
    assert Names(copy, AsOf(day("2025-02-01"), struck)).label("o-q") == "o-q"


def test_an_animal_bears_a_number_of_each_house() -> None:
    paper = Paper()
    register(paper)
    paper.batch([("opening", "2025-01-01", {"animal": ref("a-1", "AA-1"), "enclosure": ref("e-1", "T1")})])
    passed = {"animal": ref("a-1", "AA-1"), "from": ref("h-a", "AA"), "to": ref("h-b", "BB"), "new_number": "BB-7"}
    known = paper.batch([("transfer", "2025-02-01", passed)])
    names = Names(Copy(paper), AsOf(day("2025-03-01"), known))
    assert [names.number("a-1", h) for h in (None, "h-a", "h-b")] == ["AA-1", "AA-1", "BB-7"]


def test_a_natural_person_goes_by_the_code() -> None:
    paper = Paper()
    register(paper)
    person = {"party": {"id": "o-n"}, "code": "NP", "name": {"commit": "00"}, "sort": "natural_person"}
    known = paper.batch([("party", "2025-01-01", person)])
    names = Names(Copy(paper), AsOf(day("2025-03-01"), known))
    assert names.label("o-n") == "NP"
    assert names.find("party", "NP") == "o-n"
    with pytest.raises(KeyError):
        names.find("party", "nobody")
