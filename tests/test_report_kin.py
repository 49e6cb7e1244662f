"""Kin and company against plain ways: every draw of uncertain parents, every close of every possible world."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from datetime import date
from fractions import Fraction
from itertools import product

import polars as pl
import pytest
from histories import SPAN, START
from oracle.census import at
from oracle.trial import Trial
from test_conservation import random_book

from ledger.read import AsOf, Copy, Names
from reports.kin import chances
from reports.kinship import Kinship, Roundabout
from reports.parents import NONE, UNKNOWN, Pair, Parentage
from reports.shared import shared

ANIMALS = [f"a-{n}" for n in range(7)]


def some_parentage(rng: random.Random, older: list[str]) -> Parentage:
    """Up to three pairs of those that are older, with weights that may leave something open."""
    if not older or rng.random() < 0.2:
        return Parentage()
    dams = [*older, UNKNOWN]
    sires = [*older, UNKNOWN]
    pairs = {(rng.choice(dams), rng.choice(sires)) for _ in range(rng.randint(1, 3))} - {(UNKNOWN, UNKNOWN)}
    weights = [Fraction(1, len(pairs) + rng.randint(0, 1)) for _ in pairs]
    return Parentage(tuple(Pair(d, s, w) for (d, s), w in zip(sorted(pairs), weights, strict=True)), kind="parentage")


def draws(parentage: Parentage) -> list[tuple[str, str, Fraction]]:
    """Every outcome: a pair, or nobody known."""
    out = [(p.dam, p.sire, p.weight) for p in parentage.pairs]
    return [*out, (UNKNOWN, UNKNOWN, parentage.rest)] if parentage.rest else out


@pytest.mark.parametrize("seed", range(60))
def test_chances_of_siblings_are_those_of_all_draws(seed: int) -> None:
    """Full: both known and the same two, in whatever role; half: exactly one shared."""
    rng = random.Random(seed)
    a, b = (some_parentage(rng, ANIMALS[:4]) for _ in range(2))
    full = half = Fraction(0)
    for (d1, s1, w1), (d2, s2, w2) in product(draws(a), draws(b)):
        mine, theirs = Counter([d1, s1]), Counter([d2, s2])
        common = (mine & theirs) - Counter({UNKNOWN: 9})
        if UNKNOWN not in (d1, s1, d2, s2) and mine == theirs:
            full += w1 * w2
        elif sum(common.values()):
            half += w1 * w2
    assert chances(a, b) == (full, half)


def plain_kinship(parents: dict[str, tuple[str, str]], a: str, b: str) -> Fraction:
    """The textbook's recursion, on one draw of everybody's parents. Names are in order of birth."""
    if UNKNOWN in (a, b):
        return Fraction(0)
    dam, sire = parents[a]
    if a == b:
        return (1 + (plain_kinship(parents, dam, sire))) / 2
    if a < b:
        return plain_kinship(parents, b, a)
    return (plain_kinship(parents, dam, b) + plain_kinship(parents, sire, b)) / 2


@pytest.mark.parametrize("seed", range(25))
def test_kinship_is_the_mean_over_all_draws(seed: int) -> None:
    rng = random.Random(1000 + seed)
    of = {one: some_parentage(rng, ANIMALS[:k]) for k, one in enumerate(ANIMALS[:5])}
    wanted: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    for drawn in product(*(draws(of[one]) for one in of)):
        chance = Fraction(1)
        parents = {}
        for one, (dam, sire, weight) in zip(of, drawn, strict=True):
            parents[one], chance = (dam, sire), chance * weight
        for a, b in product(of, repeat=2):
            wanted[a, b] += chance * plain_kinship(parents, a, b)
    known = Kinship(of, of)
    for (a, b), value in wanted.items():
        assert known.between(a, b) == pytest.approx(float(value), abs=1e-12), (a, b)


def test_an_animal_that_is_its_own_ancestor_is_named() -> None:
    one = Fraction(1)
    of = {"a-1": Parentage((Pair("a-2", NONE, one),)), "a-2": Parentage((Pair("a-1", UNKNOWN, one),))}
    with pytest.raises(Roundabout, match="a-1"):
        Kinship(of, ["a-1"])


# --- company ------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module", params=range(10))
def trial(request: pytest.FixtureRequest) -> Trial:
    return random_book(5_100 + request.param, steps=26)


def company(trial: Trial, known: int, on: int) -> Counter[tuple[str, str, str]]:
    """(one, other, enclosure) -> closes up to `on` at which animals of both stood in it, by the sums of the journal."""
    out: Counter[tuple[str, str, str]] = Counter()
    for day in range(START - 10, on + 1):
        there: Counter[tuple[str, str]] = Counter()
        for key, n in trial.cells(day, known).items():
            if key[3].startswith("e-"):
                there[key[3], key[0]] += n
        inside: dict[str, set[str]] = defaultdict(set)
        for (place, subject), n in there.items():
            if n > 0:
                inside[place].add(subject)
        out.update((a, b, place) for place, who in inside.items() for a, b in product(who, repeat=2) if a != b)
    return out


def test_company_is_that_of_every_close(trial: Trial) -> None:
    rng = random.Random(len(trial.rows))
    copy = Copy(trial.book.store)
    for known in {trial.ends[-1], rng.choice(trial.ends)}:
        on = rng.randint(START + 2, START + SPAN + 3)
        asof = AsOf(date.fromordinal(on), known)
        names = Names(copy, asof)
        codes = {row["code"]: row["place"] for row in names.enclosures.iter_rows(named=True)}
        wanted = company(trial, known, on)
        for one in {a for a, _, _ in wanted} | set(list(trial.oracle.facts(known))[:2]):
            frame = shared(copy, names, asof, one).filter(pl.col("how") == "enclosure")
            got: Counter[tuple[str, str, str]] = Counter()
            for row in frame.iter_rows(named=True):
                assert row["days_low"] <= row["days"] <= row["days_high"]
                got[one, row["subject"], codes[row["what"]]] += row["days"]
            assert +got == Counter({key: n for key, n in wanted.items() if key[0] == one})


def test_days_together_have_a_range_that_holds_every_world(trial: Trial) -> None:
    """Over all choices of true days of both animals: never fewer than the least, never more than the most."""
    copy, known, on = Copy(trial.book.store), trial.known, START + SPAN
    asof = AsOf(date.fromordinal(on), known)
    names = Names(copy, asof)
    singles = [s for s in trial.oracle.facts(known) if s.startswith("a-") and trial.oracle.told(s, known)]
    checked = 0
    for one in singles[:4]:
        frame = shared(copy, names, asof, one).filter(pl.col("how") == "enclosure")
        for other in (s for s in singles if s != one):
            rows = frame.filter(pl.col("subject") == other)
            low, high = int(rows["days_low"].sum()), int(rows["days_high"].sum())
            mine, theirs = (trial.oracle.told(s, known).worlds[:40] for s in (one, other))  # type: ignore[union-attr]
            for a, b in product(mine, theirs):
                days = sum(_together(a, b, day) for day in range(START - 10, on + 1))
                assert low <= days <= high, (one, other, low, days, high)
                checked += 1
    assert checked or len(singles) < 2


def _together(a: list, b: list, day: int) -> bool:
    places = [{cell[2] for cell, n in at(line, day).items() if n and cell[2].startswith("e-")} for line in (a, b)]
    return bool(places[0] & places[1])
