"""The register: who came and went, on what right, and that it speaks of the same animals as the roll-forward."""

from __future__ import annotations

import random
from datetime import date
from typing import Any

import polars as pl
import pytest
from paper_books import Paper, legs, ref, register
from test_report_rollforward import book_of, random_lines

from ledger.read import AsOf, Copy, Names
from reports.common import Basis, Period
from reports.register import register as report
from reports.rollforward import IN, OUT, rollforward

YEAR = Period(date(2025, 1, 1), date(2025, 12, 31))
HERE = ("t-x", "male", "e-1", "h-a", "h-a")
THEIRS = ("t-x", "male", "e-1", "h-a", "o-p")
AWAY = ("t-x", "male", "o-p", "o-p", "h-a")
PARTY = ("t-x", "male", "o-p", "o-p", "o-p")


def told(kind: str, payload: dict[str, Any], lines: list[dict]) -> dict[str, Any]:
    """The one row that an event on 3 March 2025 makes."""
    paper = Paper()
    register(paper)
    opened = ("opening", "2024-01-01", {"animal": ref("a-1", "AA-1"), "enclosure": ref("e-1", "T1")})
    paper.batch([opened], [])
    known = paper.batch([(kind, "2025-03-03", payload)], [x | {"effect": 11} for x in lines])
    copy = Copy(paper)
    frame = report(copy, Names(copy, AsOf(YEAR.last, known)), YEAR, known, Basis("held", "h-a"))
    (row,) = frame.to_dicts()
    assert (row["event"], row["told_by"], row["number"], row["date"]) == (11, 11, "AA-1", date(2025, 3, 3))
    return row


def shown(row: dict[str, Any], *fields: str) -> tuple[Any, ...]:
    return tuple(row[f] for f in ("mfu", "way", "right", "manner", *fields))


def passage(a: tuple[str, ...], b: tuple[str, ...], into: str = "transfer_in") -> list[dict]:
    return legs(0, "a-1", "2025-03-03", a, b, 1, into.replace("_in", "_out"), into)


def test_a_sale_with_its_papers() -> None:
    payload = {
        "animal": ref("a-1", "AA-1"),
        "from": ref("h-a", "AA"),
        "to": ref("o-p", "PX"),
        "terms": "sale",
        "permits": ["P-1", "P-2"],
        "source_code": "C",
        "purpose_code": "Z",
        "pre_convention": True,
    }
    row = told("transfer", payload, passage(HERE, PARTY))
    assert shown(row, "party") == ("1.0.0", "out", "custody and title", "sale out", "Partner P")
    assert (row["permits"], row["source_code"], row["purpose_code"]) == ("P-1, P-2", "C pre-Convention", "Z")


@pytest.mark.parametrize(
    ("a", "b", "terms", "expected"),
    [
        (HERE, AWAY, "loan", ("1.0.0", "out", "custody", "loan out")),
        (AWAY, HERE, "loan_return", ("1.0.0", "in", "custody", "loan return in")),
        (PARTY, THEIRS, "loan", ("1.0.0", "in", "custody", "loan in")),
        (PARTY, HERE, "donation", ("1.0.0", "in", "custody and title", "donation in")),
    ],
)
def test_custody_and_title_apart(a: tuple[str, ...], b: tuple[str, ...], terms: str, expected: tuple[str, ...]) -> None:
    payload = {"animal": ref("a-1", "AA-1"), "from": ref("o-p", "PX"), "to": ref("o-p", "PX"), "terms": terms}
    assert shown(told("transfer", payload, passage(a, b))) == expected


def test_title_changes_name_both_owners() -> None:
    to_us = told(
        "title_change", {"animal": ref("a-1", ""), "owner": ref("h-a", "AA")}, passage(THEIRS, HERE, "title_in")
    )
    assert shown(to_us, "party") == ("1.0.0", "in", "title", "title", "Partner P")
    payload = {"animal": ref("a-1", ""), "owner": ref("o-p", "PX"), "terms": "donation"}
    from_us = told("title_change", payload, passage(HERE, THEIRS, "title_in"))
    assert shown(from_us, "party") == ("1.0.0", "out", "title", "title, by donation", "Partner P")


def test_deaths_at_home_and_away() -> None:
    dead = ("t-x", "male", "dead", "", "")
    at_home = told("death", {"animal": ref("a-1", ""), "cause": "trauma"}, passage(HERE, dead, "died"))
    assert shown(at_home, "cause") == ("1.0.0", "out", "custody and title", "died", "trauma")
    away = told("death", {"animal": ref("a-1", "")}, passage(AWAY, dead, "died"))
    assert shown(away, "cause") == ("1.0.0", "out", "title", "died", "not_determined")


def test_what_moves_within_the_house_is_not_there() -> None:
    paper = Paper()
    register(paper)
    lines = legs(10, "a-1", "2025-03-03", HERE, ("t-x", "male", "e-2", "h-a", "h-a"), 1, "re_housed")
    lines += legs(10, "a-1", "2025-03-03", HERE, ("t-x", "female", "e-1", "h-a", "h-a"), 1, "sexed")
    known = paper.batch([("move", "2025-03-03", {})], lines)
    copy = Copy(paper)
    assert report(copy, Names(copy, AsOf(YEAR.last, known)), YEAR, known, Basis("held", "h-a")).is_empty()


@pytest.mark.parametrize("seed", range(8))
def test_the_register_ties_to_the_roll_forward(seed: int) -> None:
    copy, names, known = book_of(random_lines(random.Random(seed)))
    for how, rights in (("held", ["custody", "custody and title"]), ("owned", ["title", "custody and title"])):
        basis = Basis(how, "h-a")  # type: ignore[arg-type]
        rolled = rollforward(copy, names, YEAR, known, basis)
        rows = report(copy, names, YEAR, known, basis).filter(pl.col("right").is_in(rights))
        rows = rows.with_columns(
            n=pl.when(pl.col("way") == "in").then("total").otherwise(-pl.col("total").cast(pl.Int64))
        )
        moved = sum(rolled[c].sum() for c in IN) - sum(rolled[c].sum() for c in OUT) + rolled["count_difference"].sum()
        assert rows["n"].sum() == moved
        assert (rows["total"] > 0).all()
