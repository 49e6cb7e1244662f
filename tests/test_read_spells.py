"""The same book read as intervals (since, until) and as sums: two ways to one population, on any day, as known."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import polars as pl
import pytest
from histories import SPAN, START
from oracle.trial import Trial
from test_conservation import random_book

from ledger.read import AsOf, Copy

CELL = ("subject", "taxon", "sex", "place", "holder", "owner", "standing")


@pytest.fixture(scope="module", params=range(6))
def trial(request: pytest.FixtureRequest) -> Trial:
    return random_book(4_200 + request.param, steps=30)


def _live(copy: Copy, on: date, known: int) -> Counter[tuple[str, ...]]:
    ours_away = pl.col("place").str.starts_with("o-") & pl.col("owner").str.starts_with("h-")
    live = pl.col("place").str.contains("^e-|^in_transit$|^escaped$|^missing$") | ours_away
    rows = copy.cells(AsOf(on, known)).filter(live).select(*CELL, "n").iter_rows()
    return Counter({row[:-1]: row[-1] for row in rows})


def test_who_stands_on_a_day_is_whom_the_sum_finds(trial: Trial) -> None:
    """As a table with valid time would be asked: since <= day and (until is null or day < until)."""
    rng = random.Random(len(trial.rows))
    copy = Copy(trial.book.store)
    for known in {trial.ends[-1], *(rng.choice(trial.ends) for _ in range(3))}:
        spells = copy.spells(known)
        for day in range(START - 2, START + SPAN + 4, 3):
            on = date.fromordinal(day)
            stands = (pl.col("since") <= on) & (pl.col("until").is_null() | (pl.col("until") > on))
            got = Counter({row[:-1]: row[-1] for row in spells.filter(stands).select(*CELL, "n").iter_rows()})
            assert got == _live(copy, on, known)


def test_spells_of_one_cell_follow_each_other(trial: Trial) -> None:
    """Each begins where another number of that cell ends, or after; what could have been is never after what is."""
    spells = Copy(trial.book.store).spells(trial.known)
    assert (spells["since_possible"] <= spells["since"]).all()
    assert (spells["n"] > 0).all()
    for _, rows in spells.sort("since").group_by(CELL, maintain_order=True):
        untils = [None, *rows["until"].to_list()]
        for before, row in zip(untils, rows.iter_rows(named=True), strict=False):
            assert before is None or before <= row["since"]
            assert row["until"] is None or (row["since"] < row["until"] and row["until_possible"] <= row["until"])
            assert row["since_events"] and bool(row["until_events"]) == (row["until"] is not None)


def test_of_some_subjects_only(trial: Trial) -> None:
    copy = Copy(trial.book.store)
    every = copy.spells(trial.known)
    some = every["subject"].unique().sort().to_list()[::2]
    assert copy.spells(trial.known, some).equals(every.filter(pl.col("subject").is_in(some)))


def test_what_events_told_is_what_their_payloads_hold(trial: Trial) -> None:
    copy = Copy(trial.book.store)
    kinds = ("move", "death", "transfer", "count")
    told = copy.told(kinds, {"animal": "$.animal.id", "lot": "$.lot.id", "to": "$.to.id"}, trial.known)
    standing = copy.standing(kinds, trial.known)
    assert told["root"].to_list() == [event.root for event in standing]
    for row, event in zip(told.iter_rows(named=True), standing, strict=True):
        for part in ("animal", "lot", "to"):
            value = event.payload.get(part)
            assert row[part] == (value["id"] if isinstance(value, dict) else None)
        assert (row["first_day"], row["last_day"], row["kind"]) == (event.first, event.last, event.kind)
