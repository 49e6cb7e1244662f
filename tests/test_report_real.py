"""Roll-forward and register over random real books: late entries, corrections, strikings out, two houses, loans."""

from __future__ import annotations

import random
from datetime import date
from typing import Any

import polars as pl
import pytest
from histories import SPAN, START
from oracle.trial import Trial
from test_conservation import random_book
from test_report_rollforward import walk

from ledger.read import AsOf, Copy, Names
from reports.common import Basis, Period
from reports.register import register
from reports.rollforward import DIED, IN, MOVEMENTS, OUT, RARE, rollforward

HOW = (("held", "AA"), ("owned", "AA"), ("held", "BB"), ("held", ""), ("owned", ""))


@pytest.fixture(scope="module", params=range(8))
def trial(request: pytest.FixtureRequest) -> Trial:
    return random_book(900 + request.param, steps=24)


def lines_at(trial: Trial, known: int) -> list[dict[str, Any]]:
    """The journal as known at a position, as the walk of the roll-forward's own test wants it."""
    names = ("taxon", "sex", "place", "holder", "owner", "standing")
    return [
        {
            "effect": row.effect,
            "subject": row.subject,
            "counts_on": date.fromordinal(row.counts_on).isoformat(),
            **dict(zip(names, row.cell, strict=True)),
            "reason": row.reason,
            "delta": row.delta,
        }
        for row in trial.rows
        if row.known_from <= known
    ]


def test_the_year_ties_out_to_the_animal(trial: Trial) -> None:
    rng = random.Random(len(trial.rows))
    copy = Copy(trial.book.store)
    for known in (trial.ends[-1], rng.choice(trial.ends)):
        first = rng.randint(START, START + SPAN)
        period = Period(date.fromordinal(first), date.fromordinal(rng.randint(first, START + SPAN)))
        names = Names(copy, AsOf(period.last, known))
        lines = lines_at(trial, known)
        for how, code in HOW:
            house = names.find("house", code) if code else ""
            basis = Basis(how, house)  # type: ignore[arg-type]
            frame = rollforward(copy, names, period, known, basis)
            assert frame["adds_up"].all(), frame
            expected = walk(lines, how, house, period)
            found = {}
            for row in frame.iter_rows(named=True):
                row["died"] = sum(row[c] for c in DIED)
                wanted = ("opening", "closing", "died", *MOVEMENTS, *(c for c in RARE if c in row))
                found[row["taxon_id"], row["standing"], row["sex"]] = {
                    c: row[c] for c in wanted if row[c] and c not in DIED
                }
            kept = {row: {c: n for c, n in columns.items() if n} for row, columns in expected.items()}
            assert found == {row: columns for row, columns in kept.items() if columns}


def test_the_register_speaks_of_the_same_animals(trial: Trial) -> None:
    copy, known = Copy(trial.book.store), trial.ends[-1]
    period = Period(date.fromordinal(START + 3), date.fromordinal(START + SPAN))
    names = Names(copy, AsOf(period.last, known))
    for how, code in HOW:
        basis = Basis(how, names.find("house", code) if code else "")  # type: ignore[arg-type]
        right = {"held": "custody", "owned": "title"}[how]
        rows = register(copy, names, period, known, basis).filter(pl.col("right").str.contains(right))
        sign = pl.when(pl.col("way") == "in").then(1).otherwise(-1)
        rolled = rollforward(copy, names, period, known, basis)
        plus = [c for c in (*IN, "propagated", "count_difference") if c in rolled.columns]
        minus = [c for c in (*OUT, "fed_out") if c in rolled.columns]
        moved = sum(rolled[c].sum() for c in plus) - sum(rolled[c].sum() for c in minus)
        assert rows.select(n=pl.col("total") * sign)["n"].sum() == moved
        assert (rows["manner"] != "").all() and (rows["number"] != "").all()
