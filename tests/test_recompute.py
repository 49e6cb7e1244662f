"""The journal derived a second, set-based way: line by line what the fold tells, and a planted fault is found."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import cli_house
import pytest
from test_conservation import random_book

from ledger.book import Book
from ledger.recompute import recompute
from tests.bench.books import begin, in_bulk

SEEN: Counter[str] = Counter()


@pytest.mark.parametrize("seed", range(40))
def test_random_books_come_to_the_same_lines(seed: int) -> None:
    trial = random_book(8_000 + seed, steps=14)
    found = recompute(trial.book.store)
    assert found.agrees, found.sentence()
    SEEN.update(subjects=found.subjects, left=found.left, lines=found.lines)


def test_enough_of_them_are_derived() -> None:
    if SEEN["subjects"]:  # with the books above told by this worker
        assert SEEN["lines"] > SEEN["subjects"], SEEN


@pytest.fixture(scope="module")
def long() -> Book:
    """The benchmark's world: late entries, corrections, groups with counts."""
    book, chance, world = begin(":memory:", 5)
    in_bulk(book, chance, world, 9_000)
    return book


def test_a_long_book_is_mostly_derived_and_the_same(long: Book) -> None:
    found = recompute(long.store)
    assert found.agrees, found.sentence()
    assert found.subjects > found.left and found.lines > 2_000, found[:3]


@pytest.mark.parametrize("planted", [{"delta": 1}, {"counts_on": 1}, {"reason": "born"}, {"effect": 1}])
def test_another_line_than_the_acts_say_is_found(
    long: Book, monkeypatch: pytest.MonkeyPatch, planted: dict[str, Any]
) -> None:
    """Canary: the fold and the log untouched, one line of the journal another."""
    postings = list(long.store.postings())
    victim = next(p for p in postings if p.line.reason == "died" and p.line.subject.startswith("a-"))
    changed = {k: v if isinstance(v, str) else getattr(victim.line, k) + v for k, v in planted.items()}
    wrong = [p._replace(line=p.line._replace(**changed)) if p is victim else p for p in postings]
    monkeypatch.setattr(long.store, "postings", lambda: iter(wrong), raising=False)
    found = recompute(long.store)
    assert not found.agrees and "differ" in found.sentence()


def test_the_command_says_it(tmp_path: Path) -> None:
    house = cli_house.fresh(tmp_path)
    said = house.run("verify", "--recompute")
    assert said.exit_code == 0 and "Derived a second way: " in said.output and "all the same" in said.output
