"""The census and its range against every possible world, and the census over time against day after day."""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import date, timedelta
from itertools import product
from typing import Any

import polars as pl
import pytest
from paper_books import Paper, day, legs, register

from ledger.read import AsOf, Copy, Names
from reports.census import KEYS, census, lost
from reports.common import SIDES, Basis
from reports.over_time import month_ends, over_time

BORN = ("t-x", "unknown", "born", "", "")
HERE = ("t-x", "unknown", "e-1", "h-a", "h-a")
ON = date(2025, 6, 1)
PLACES = [("e-1", "h-a"), ("e-2", "h-a"), ("e-9", "h-b"), ("o-p", "o-p"), ("escaped", "")]


def read(paper: Paper, known: int, on: date = ON) -> tuple[Copy, Names, AsOf]:
    copy = Copy(paper)
    asof = AsOf(on, known)
    return copy, Names(copy, asof), asof


def random_cell(rng: random.Random) -> tuple[str, ...]:
    place, holder = rng.choice(PLACES)
    owner = rng.choice(("h-a", "h-b", "o-p"))
    return (rng.choice(("t-x", "t-y")), rng.choice(("male", "unknown")), place, holder, owner, "collection")


def random_book(rng: random.Random) -> tuple[Paper, int, dict[str, dict], dict[tuple, list[dict]]]:
    """What the book says of each subject by cell, and of each choice its states as changes against state 0."""
    paper = Paper()
    register(paper)
    lines, open_rows = [], []
    said: dict[str, dict] = {}
    choices: dict[tuple, list[dict]] = {}
    for n in range(rng.randint(1, 4)):
        subject = f"g-{n}"
        cells = {random_cell(rng): rng.randint(1, 9) for _ in range(rng.randint(1, 2))}
        said[subject] = cells
        for cell, k in cells.items():
            lines += legs(10 + n, subject, "2025-01-01", ("t-x", "unknown", "born", "", ""), cell, k, "born")
        for choice in range(rng.randint(0, 2)):
            whole = choice == 0 and rng.random() < 0.5
            states = [cells] if whole else [{}]
            for _ in range(rng.randint(1, 2)):
                changes = {random_cell(rng): rng.randint(1, 4) for _ in range(rng.randint(0, 2))}
                states.append(changes if whole else {c: k * rng.choice((1, -1)) for c, k in changes.items()})
            part = 0 if whole else 1
            for state, rows in enumerate(states):
                stretch = (subject, 20 + choice, part, "2025-05-01", "2025-07-01", state)
                open_rows += [(*stretch, *cell, k, 1) for cell, k in rows.items()] or [(*stretch, *("",) * 6, 0, 1)]
            base = states[0] if whole else {}
            against = [defaultdict(int, {c: s.get(c, 0) - base.get(c, 0) for c in {*s, *base}}) for s in states]
            choices[subject, choice] = against
    known = paper.batch([("note", "2025-01-01", {})], lines, open_rows)
    return paper, known, said, choices


def side_of(cell: tuple[str, ...], house: str) -> str | None:
    _, _, place, holder, owner, _ = cell
    here = place[:2] == "e-" and holder == house
    if here:
        return "ours_here" if owner == house else "others_here"
    return "ours_elsewhere" if owner == house and place[:2] in ("e-", "o-") else None


@pytest.mark.parametrize("seed", range(25))
def test_the_range_is_that_of_every_world(seed: int) -> None:
    paper, known, said, choices = random_book(random.Random(seed))
    copy, names, asof = read(paper, known)
    frame = census(copy, names, asof, Basis("both", "h-a"), ["taxon"])
    found = {(r["taxon_id"], r["whose"]): (r["total"], r["low"], r["high"]) for r in frame.iter_rows(named=True)}
    for key in product(("t-x", "t-y"), SIDES):

        def counts(cells: Any, key: tuple[str, str] = key) -> int:
            return sum(n for c, n in cells.items() if (c[0], side_of(c, "h-a")) == key)

        figure = sum(counts(cells) for cells in said.values())
        worlds = [figure + sum(counts(s) for s in world) for world in product(*choices.values())]
        expected = (figure, max(0, min(worlds)), max(worlds))
        assert found.get(key, (0, 0, 0)) == expected


def test_three_sides_and_the_basis() -> None:
    paper = Paper()
    register(paper)
    cells = {
        "ours_here": HERE,
        "others_here": ("t-x", "male", "e-1", "h-a", "o-p"),
        "ours_elsewhere": ("t-x", "female", "o-p", "o-p", "h-a"),
        "at the other member": ("t-x", "female", "e-9", "h-b", "h-a"),
        "escaped": ("t-x", "female", "escaped", "", "h-a"),
        "sold": ("t-x", "female", "o-p", "o-p", "o-p"),
    }
    lines = [
        x for n, cell in enumerate(cells.values()) for x in legs(10, f"a-{n}", "2025-01-01", BORN, cell, 1, "born")
    ]
    copy, names, asof = read(paper, paper.batch([("note", "2025-01-01", {})], lines))

    def sides(how: str, house: str = "h-a") -> dict[str, str]:
        frame = census(copy, names, asof, Basis(how, house), ["taxon"])  # type: ignore[arg-type]
        return dict(frame.select("whose", "mfu").iter_rows())

    assert sides("held") == {"ours_here": "0.0.1", "others_here": "1.0.0"}
    assert sides("owned") == {"ours_here": "0.0.1", "ours_elsewhere": "0.2.0"}
    assert list(sides("both")) == list(SIDES)
    assert sides("held", "") == {"ours_here": "0.1.1", "others_here": "1.0.0"}
    assert lost(copy, names, asof, Basis("held", "h-a")).select("where", "mfu").rows() == [("escaped", "0.1.0")]


def test_a_hatching_known_by_its_month() -> None:
    """Thirty hatched some day in March, recorded on the 10th."""
    paper = Paper()
    register(paper)
    lines = legs(10, "g-1", "2025-03-10", BORN, HERE, 30, "hatched", could="2025-03-01")
    rows = [
        ("g-1", 10, 0, "2025-03-01", "2025-03-10", 0, *("",) * 6, 0, 1),
        ("g-1", 10, 0, "2025-03-01", "2025-03-10", 1, *HERE, "collection", 30, 1),
    ]
    known = paper.batch([("hatching", "2025-03-01/2025-03-10", {})], lines, rows)
    seen = {}
    for on in ("2025-02-28", "2025-03-01", "2025-03-09", "2025-03-10"):
        copy, names, asof = read(paper, known, day(on))
        frame = census(copy, names, asof, Basis("held", "h-a"), ["taxon"])
        seen[on] = frame.select("total", "low", "high").rows()
    assert seen == {
        "2025-02-28": [],
        "2025-03-01": [(0, 0, 30)],
        "2025-03-09": [(0, 0, 30)],
        "2025-03-10": [(30, 30, 30)],
    }


def test_a_range_that_is_not_known_is_null_wherever_the_subject_could_be() -> None:
    paper = Paper()
    register(paper)
    there = ("t-x", "unknown", "e-2", "h-a", "h-a")
    lines = [
        *legs(10, "g-1", "2025-01-01", BORN, HERE, 5, "born"),
        *legs(11, "g-1", "2025-08-01", HERE, there, 5, "re_housed"),
        *legs(12, "g-2", "2025-01-01", BORN, ("t-y", *HERE[1:]), 3, "born"),
    ]
    rows = [("g-1", 11, 0, "2025-05-01", "2025-07-01", -1, *("",) * 6, 0, 1)]
    copy, names, asof = read(paper, paper.batch([("note", "2025-01-01", {})], lines, rows))
    frame = census(copy, names, asof, Basis("held", "h-a"), ["taxon", "enclosure"])
    found = {(r["taxon_id"], r["enclosure_id"]): (r["total"], r["low"], r["high"]) for r in frame.iter_rows(named=True)}
    assert found == {("t-x", "e-1"): (5, None, None), ("t-x", "e-2"): (0, None, None), ("t-y", "e-1"): (3, 3, 3)}


@pytest.mark.parametrize("by", [[k] for k in KEYS] + [["section", "enclosure", "taxon"]])
def test_every_grouping_counts_the_same_animals(by: list[str]) -> None:
    paper, known, *_ = random_book(random.Random(3))
    copy, names, asof = read(paper, known)
    basis = Basis("both", "h-a")
    whole = census(copy, names, asof, basis, ["taxon"])["total"].sum()
    frame = census(copy, names, asof, basis, by)
    assert frame["total"].sum() == whole
    assert frame.drop("low", "high").null_count().sum_horizontal().item() == 0


@pytest.mark.parametrize("seed", range(6))
def test_over_time_is_the_census_of_each_day(seed: int) -> None:
    rng = random.Random(seed)
    paper, known, *_ = random_book(rng)
    copy, names, _ = read(paper, known)
    days = sorted(date(2025, 1, 1) + timedelta(days=rng.randint(-3, 250)) for _ in range(5))
    basis = Basis("held", "h-a")
    series = over_time(copy, names, days, known, basis)
    for on in set(days):
        one = census(copy, names, AsOf(on, known), basis, ["class"])
        expected = {r[0]: r[1:] for r in one.group_by("class").agg(pl.col("total", "low", "high").sum()).iter_rows()}
        found = {
            r[0]: r[1:] for r in series.filter(pl.col("day") == on).select("class", "total", "low", "high").iter_rows()
        }
        assert {c: n for c, n in found.items() if n != (0, 0, 0)} == expected


def test_month_ends_of_a_year() -> None:
    days = month_ends(date(2024, 4, 1), date(2025, 3, 31))
    assert len(days) == 13
    assert days[0] == date(2024, 3, 31) and days[-1] == date(2025, 3, 31) and date(2025, 2, 28) in days
    assert month_ends(date(2025, 1, 10), date(2025, 2, 5)) == [date(2025, 1, 9), date(2025, 1, 31), date(2025, 2, 5)]
