"""The roll-forward against a walk over the lines in plain Python on random small books, and known figures."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import polars as pl
import pytest
from paper_books import Paper, legs, register

from ledger.read import AsOf, Copy, Names
from reports import rollforward as report
from reports.common import Basis
from reports.rollforward import DIED, IN, MOVEMENTS, OUT, SIGNED, Period, rollforward, year

START = date(2024, 1, 1)
KEY = ("taxon", "standing", "sex")
PLACES = [("e-1", "h-a"), ("e-2", "h-a"), ("e-9", "h-b"), ("o-p", "o-p")]
OWNERS = ["h-a", "h-b", "o-p"]

# --- the walk: written first, and apart from the code ----------------------------------------------


def in_basis(line: dict[str, Any], how: str, house: str) -> bool:
    def is_house(id: str) -> bool:
        return id == house if house else id[:2] == "h-"

    if how == "held":
        return (line["place"][:2] == "e-" or line["place"] == "in_transit") and is_house(line["holder"])
    return (line["place"][:2] in ("e-", "o-") or line["place"] == "in_transit") and is_house(line["owner"])


def column_of(reason: str) -> tuple[str, int]:
    """The column of a reason and the sign with which it is written."""
    special = {
        "hatched": "hatched_and_born",
        "born": "hatched_and_born",
        "escaped": "escaped_missing",
        "missing": "escaped_missing",
        "sexed": "re_sexed",
        "sex_changed": "re_sexed",
        "passed_in": "passed",
        "passed_out": "passed",
    }
    if reason == "count_deaths_unseen":
        return "died", -1
    name = "count_difference" if reason.startswith("count_") else special.get(reason, reason)
    outward = ("died", "transfer_out", "title_out", "released", "escaped_missing", "fed_out")
    return name, -1 if name in outward else 1


def walk(lines: list[dict[str, Any]], how: str, house: str, period: Period) -> dict[tuple[str, ...], Counter[str]]:
    table: dict[tuple[str, ...], Counter[str]] = defaultdict(Counter)
    families: dict[tuple[Any, ...], Counter[str]] = defaultdict(Counter)
    for line in lines:
        if not in_basis(line, how, house):
            continue
        day, row = date.fromisoformat(line["counts_on"]), tuple(line[k] for k in KEY)
        if day < period.first:
            table[row]["opening"] += line["delta"]
        if day <= period.last:
            table[row]["closing"] += line["delta"]
        if period.first <= day <= period.last:
            family = line["reason"].removesuffix("_in").removesuffix("_out")
            families[line["effect"], line["subject"], line["counts_on"], row, family][line["reason"]] += line["delta"]
    for (*_, row, _), reasons in families.items():
        if sum(reasons.values()) == 0:
            continue
        for reason, delta in reasons.items():
            name, sign = column_of(reason)
            table[row][name] += sign * delta
    return table


# --- random books ----------------------------------------------------------------------------------


def random_lines(rng: random.Random) -> list[dict[str, Any]]:
    """Animals and lots that come, move, change and go, leg by leg; numbers may be what they like, the sums must do."""
    out: list[dict[str, Any]] = []
    stock: dict[str, Counter[tuple[str, ...]]] = defaultdict(Counter)
    for effect in range(10, 10 + rng.randint(10, 40)):
        on = (START + timedelta(days=rng.randint(0, 700))).isoformat()
        subject = f"g-{rng.randint(1, 5)}"
        taxon, sex = rng.choice(("t-x", "t-y")), rng.choice(("male", "female", "unknown"))
        place, holder = rng.choice(PLACES)
        owner = rng.choice(OWNERS)
        cell = (taxon, sex, place, holder, owner, rng.choice(("collection", "collection", "rehabilitation")))
        held = [c for c, n in stock[subject].items() if n > 0]
        if not held or rng.random() < 0.35:
            reason = rng.choice(("hatched", "born", "acquired", "brought_forward", "transfer_in"))
            source = ("o-p", "o-p", "o-p") if reason == "transfer_in" else ("born", "", "")
            out += legs(effect, subject, on, (taxon, sex, *source), cell, n := rng.randint(1, 9), reason)
            stock[subject][cell] += n
            continue
        a = rng.choice(held)
        n = rng.randint(1, stock[subject][a])
        reason, b = random_step(rng, a, (place, holder, owner))
        into = {"transfer_out": "transfer_in", "title_out": "title_in"}.get(reason, reason)
        out += legs(effect, subject, on, a, b, n, reason, into)
        stock[subject][a] -= n
        if b[2][:2] in ("e-", "o-"):
            stock[subject][b] += n
    return out


def random_step(rng: random.Random, a: tuple[str, ...], new: tuple[str, str, str]) -> tuple[str, tuple[str, ...]]:
    taxon, sex, place, holder, owner, standing = a
    there, its_holder, other = new
    reason = rng.choice(
        (
            "died",
            "died",
            "transfer_out",
            "title_out",
            "re_housed",
            "sexed",
            "escaped",
            "count_unaccounted",
            "redetermined",
        )
    )
    return reason, {
        "died": (taxon, sex, "dead", "", "", standing),
        "transfer_out": (taxon, sex, there, its_holder, rng.choice((owner, other)), standing),
        "title_out": (taxon, sex, place, holder, other, standing),
        "re_housed": (taxon, sex, "e-2" if holder == "h-a" else place, holder, owner, standing),
        "sexed": (taxon, rng.choice(("male", "female")), place, holder, owner, standing),
        "escaped": (taxon, sex, "escaped", "", owner, standing),
        "count_unaccounted": (taxon, sex, "unaccounted", "", "", standing),
        "redetermined": ("t-y" if taxon == "t-x" else "t-x", sex, place, holder, owner, standing),
    }[reason]


def book_of(lines: list[dict[str, Any]]) -> tuple[Copy, Names, int]:
    paper = Paper()
    register(paper)
    last = paper.batch([("note", "2024-01-01", {})], lines)
    copy = Copy(paper)
    return copy, Names(copy, AsOf(date(2026, 1, 1), last)), last


@pytest.mark.parametrize("seed", range(12))
def test_every_row_is_what_the_walk_finds(seed: int) -> None:
    rng = random.Random(seed)
    lines = random_lines(rng)
    copy, names, known = book_of(lines)
    for how, house in (("held", "h-a"), ("owned", "h-a"), ("held", "h-b"), ("owned", ""), ("held", "")):
        basis = Basis(how, house)  # type: ignore[arg-type]
        for period in (year(2024, 1, 1), year(2024, 7, 1), Period(date(2025, 2, 3), date(2025, 3, 4))):
            frame = rollforward(copy, names, period, known, basis)
            expected = walk(lines, how, house, period)
            found = {}
            for row in frame.iter_rows(named=True):
                assert row["adds_up"], row
                row["died"] = sum(row[c] for c in DIED)
                moved = {c: row[c] for c in ("opening", "closing", "died", *MOVEMENTS) if row[c] and c not in DIED}
                found[row["taxon_id"], row["standing"], row["sex"]] = moved
            wanted = {row: {c: n for c, n in columns.items() if n} for row, columns in expected.items()}
            assert found == {row: columns for row, columns in wanted.items() if columns}


@pytest.mark.parametrize("seed", range(6))
def test_closing_is_the_next_opening(seed: int) -> None:
    copy, names, known = book_of(random_lines(random.Random(100 + seed)))
    years = [rollforward(copy, names, year(n, 4, 1), known, Basis("held", "h-a")) for n in (2023, 2024, 2025)]
    for one, two in pairwise(years):
        closing = {tuple(r[:3]): r[3] for r in one.select("taxon_id", "standing", "sex", "closing").iter_rows() if r[3]}
        opening = {tuple(r[:3]): r[3] for r in two.select("taxon_id", "standing", "sex", "opening").iter_rows() if r[3]}
        assert closing == opening


@pytest.mark.parametrize("seed", range(6))
def test_re_classing_sums_to_nothing(seed: int) -> None:
    copy, names, known = book_of(random_lines(random.Random(200 + seed)))
    frame = rollforward(copy, names, Period(START, date(2026, 1, 1)), known, Basis("owned", ""))
    assert set(frame.group_by("taxon").agg(pl.col("re_sexed").sum())["re_sexed"]) <= {0}
    assert frame["redetermined"].sum() == 0


# --- figures that must come out ------------------------------------------------------------------------

HERE = ("t-x", "unknown", "e-1", "h-a", "h-a")
SICK = ("t-x", "unknown", "e-2", "h-a", "h-a")
AWAY = ("t-x", "unknown", "o-p", "o-p", "h-a")
DEAD = ("t-x", "unknown", "dead", "", "")
Y2025 = year(2025, 1, 1)


def one(
    lines: list[dict[str, Any]], how: str, house: str, period: Period = Y2025, **asked: Any
) -> list[dict[str, Any]]:
    copy, names, known = book_of(lines)
    rows = rollforward(copy, names, period, known, Basis(how, house), **asked).to_dicts()  # type: ignore[arg-type]
    assert all(row["adds_up"] for row in rows)
    shown = ("sex", "opening", *MOVEMENTS, "closing")
    return [{k: row[k] for k in shown if row[k]} for row in rows]


def test_a_loan_between_members() -> None:
    there = ("t-x", "male", "e-9", "h-b", "h-a")
    here = ("t-x", "male", "e-1", "h-a", "h-a")
    lines = [
        *legs(10, "a-1", "2024-05-01", ("t-x", "male", "brought_forward", "", ""), here, 1, "brought_forward"),
        *legs(11, "a-1", "2025-05-01", here, there, 1, "transfer_out", "transfer_in"),
    ]
    assert one(lines, "held", "h-a") == [{"sex": "male", "opening": 1, "transfer_out": 1}]
    assert one(lines, "held", "h-b") == [{"sex": "male", "transfer_in": 1, "closing": 1}]
    assert one(lines, "held", "") == [{"sex": "male", "opening": 1, "closing": 1}]
    assert one(lines, "owned", "h-a") == [{"sex": "male", "opening": 1, "closing": 1}]
    assert one(lines, "owned", "h-b") == []


def test_a_shoal_in_several_places() -> None:
    lines = [
        *legs(10, "g-1", "2024-05-01", ("t-x", "unknown", "wild", "", ""), HERE, 60, "acquired"),
        *legs(11, "g-1", "2025-02-01", HERE, SICK, 5, "re_housed"),
        *legs(12, "g-1", "2025-02-05", SICK, DEAD, 3, "died"),
        *legs(13, "g-1", "2025-02-09", SICK, HERE, 2, "re_housed"),
        *legs(14, "g-1", "2025-03-01", HERE, AWAY, 20, "transfer_out", "transfer_in"),
    ]
    assert one(lines, "held", "h-a") == [
        {"sex": "unknown", "opening": 60, "died_older": 3, "transfer_out": 20, "closing": 37}
    ]
    assert one(lines, "owned", "h-a") == [{"sex": "unknown", "opening": 60, "died_older": 3, "closing": 57}]


def test_escaped_at_ten_recovered_at_twelve() -> None:
    out = ("t-x", "unknown", "escaped", "", "h-a")
    lines = [
        *legs(10, "a-1", "2024-05-01", ("t-x", "unknown", "born", "", ""), HERE, 1, "hatched"),
        *legs(11, "a-1", "2025-02-01", HERE, out, 1, "escaped"),
        *legs(12, "a-1", "2025-02-01", out, HERE, 1, "recovered"),
    ]
    assert one(lines, "held", "h-a") == [
        {"sex": "unknown", "opening": 1, "recovered": 1, "escaped_missing": 1, "closing": 1}
    ]


def test_the_harem_whose_male_dies() -> None:
    def at(sex: str) -> tuple[str, ...]:
        return ("t-x", sex, *HERE[2:])

    lines = [
        *legs(10, "g-1", "2024-05-01", ("t-x", "male", "wild", "", ""), at("male"), 1, "acquired"),
        *legs(10, "g-1", "2024-05-01", ("t-x", "female", "wild", "", ""), at("female"), 6, "acquired"),
        *legs(11, "g-1", "2025-02-01", at("male"), ("t-x", "male", "dead", "", ""), 1, "died"),
        *legs(12, "g-1", "2025-03-01", at("female"), at("male"), 1, "sex_changed"),
    ]
    assert one(lines, "held", "h-a") == [
        {"sex": "male", "opening": 1, "died_older": 1, "re_sexed": 1, "closing": 1},
        {"sex": "female", "opening": 6, "re_sexed": -1, "closing": 5},
    ]


def test_an_animal_that_dies_away_from_home() -> None:
    lines = [
        *legs(10, "a-1", "2024-05-01", ("t-x", "unknown", "born", "", ""), HERE, 1, "hatched"),
        *legs(11, "a-1", "2025-02-01", HERE, AWAY, 1, "transfer_out", "transfer_in"),
        *legs(12, "a-1", "2025-02-10", AWAY, DEAD, 1, "died"),
    ]
    assert one(lines, "held", "h-a") == [{"sex": "unknown", "opening": 1, "transfer_out": 1}]
    assert one(lines, "owned", "h-a") == [{"sex": "unknown", "opening": 1, "died_older": 1}]


def test_title_alone_moves_nobody_among_the_held() -> None:
    theirs = ("t-x", "unknown", "e-1", "h-a", "o-p")
    lines = [
        *legs(
            10, "a-1", "2024-05-01", ("t-x", "unknown", "o-p", "o-p", "o-p"), theirs, 1, "transfer_out", "transfer_in"
        ),
        *legs(11, "a-1", "2025-02-01", theirs, HERE, 1, "title_out", "title_in"),
    ]
    assert one(lines, "held", "h-a") == [{"sex": "unknown", "opening": 1, "closing": 1}]
    assert one(lines, "owned", "h-a") == [{"sex": "unknown", "title_in": 1, "closing": 1}]


def test_deaths_by_age_and_the_limit() -> None:
    lines = [
        *legs(10, "g-1", "2025-01-01", ("t-x", "unknown", "born", "", ""), HERE, 60, "hatched"),
        *legs(11, "g-1", "2025-07-01", ("t-x", "unknown", "born", "", ""), HERE, 40, "hatched"),
        *legs(12, "g-1", "2025-07-11", HERE, DEAD, 70, "died"),
    ]
    columns = {"sex": "unknown", "hatched_and_born": 100, "closing": 30}
    split = {"died_within_30": 10, "died_older": 30, "died_age_unknown": 30}
    assert one(lines, "held", "h-a") == [columns | split]
    assert one(lines, "held", "h-a", limit=9) == [columns | {"died_older": 70}]


def test_columns_are_as_the_page_says() -> None:
    copy, names, known = book_of([])
    empty = rollforward(copy, names, Y2025, known, Basis("held", "h-a"))
    assert empty.is_empty()
    assert empty.columns == [*report.WHO, "opening", *IN, *OUT, *SIGNED, "closing", "adds_up"]


def test_no_year_starts_on_the_29th_of_february() -> None:
    assert year(2024, 4, 1) == Period(date(2024, 4, 1), date(2025, 3, 31))
    with pytest.raises(ValueError, match="day"):
        year(2024, 2, 29)
