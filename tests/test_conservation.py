"""Nobody comes from nowhere: over all accounts every taxon sums to zero, on every day, as known at every position."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import histories
import pytest
from histories import SPAN, START
from oracle.journal import live
from oracle.trial import Trial

from ledger.read import NotAPosition
from ledger.words import LOST, PASSED, SINKS, SOURCES


def random_book(number: int, steps: int = 16) -> Trial:
    """A book of one seeded history with corrections and strikings out."""
    chance = random.Random(number)
    pick = chance.randrange
    trial = Trial()
    trial.send([histories.arrival(pick, trial.scene, START)])
    for _ in range(steps):
        choice = pick(10)
        if choice < 7:
            entry = histories.entry(pick, trial.scene)
            if entry:
                trial.send([entry])
        elif choice < 9:
            found = histories.correction(pick, trial.scene)
            if found:
                trial.correct(*found)
        else:
            seq = histories.struck(pick, trial.scene)
            if seq:
                trial.strike(seq)
    return trial


@pytest.fixture(scope="module", params=range(12))
def trial(request: pytest.FixtureRequest) -> Trial:
    return random_book(700 + request.param)


def test_every_taxon_sums_to_zero(trial: Trial) -> None:
    for known in trial.ends:
        for on in range(START - 1, START + SPAN + 3, 3):
            taxa: Counter[str] = Counter()
            for key, n in trial.cells(on, known).items():
                taxa[key[1]] += n
            assert not any(taxa.values()), (on, known, taxa)


def test_the_reading_side_says_the_same(trial: Trial) -> None:
    """The frame that questions get is the sum over the journal, and sums to zero by taxon."""
    for known in trial.ends[-3:]:
        for on in range(START - 1, START + SPAN + 3, 9):
            frame = trial.book.as_of(on=date.fromordinal(on), known=known).cells
            got = {tuple(row[:-1]): row[-1] for row in frame.iter_rows()}
            assert got == trial.cells(on, known)


def test_the_reading_side_says_the_same_of_what_is_open(trial: Trial) -> None:
    """Every choice that stands on a day, state by state and cell by cell."""
    for on in range(START - 1, START + SPAN + 3, 6):
        frame = trial.book.as_of(on=date.fromordinal(on), known=trial.known).possible
        got: dict[tuple[str, int, int], dict[int, dict[tuple[str, ...], int]]] = {}
        for subject, choice, part, state, *cell, n in frame.iter_rows():
            states = got.setdefault((subject, choice, part), {}).setdefault(state, {})
            if cell[0]:
                states[tuple(cell)] = n
        assert got == trial.states(on, trial.known)


def test_a_position_inside_a_batch_is_refused_at_the_door(trial: Trial) -> None:
    before, end = trial.ends[0], trial.ends[1]
    assert end - before > 1
    with pytest.raises(NotAPosition) as refused:
        trial.book.as_of(on="2024-03-04", known=before + 1)
    assert f"@{before}" in str(refused.value) and f"@{end}" in str(refused.value)


def test_no_cell_is_ever_below_zero(trial: Trial) -> None:
    """Animals that stand somewhere are counted from zero up; only sources and parties may give."""
    for known in trial.ends:
        for on in range(START - 1, START + SPAN + 3):
            bad = {k: n for k, n in trial.cells(on, known).items() if n < 0 and live(k[1:])}
            assert not bad, (on, known, bad)


def test_accounts_carry_what_they_should(trial: Trial) -> None:
    """Sources and sinks carry no holder and no owner; escaped and missing keep the owner; enclosures have both."""
    for row in trial.rows:
        _, _, place, holder, owner, _ = row.cell
        if place in SOURCES or place in SINKS:
            assert (holder, owner) == ("", ""), row
        elif place in LOST:
            assert holder == "" and owner, row
        elif place.startswith("e-"):
            assert holder == trial.oracle.homes[place] and owner, row
        elif place.startswith("o-"):
            assert holder == place and owner, row


def test_what_passes_between_numbers_meets(trial: Trial) -> None:
    passed: Counter[tuple[object, ...]] = Counter()
    for row in trial.rows:
        if row.cell[2] == PASSED:
            passed[row.known_from, row.effect, row.counts_on, row.cell] += row.delta
    assert not any(passed.values())


def test_a_line_is_known_only_from_the_end_of_its_batch(trial: Trial) -> None:
    ends = set(trial.ends)
    for row in trial.rows:
        assert row.known_from in ends
        assert row.effect <= row.known_from and row.because <= row.known_from


def test_arrivals_less_departures_are_what_stands(trial: Trial) -> None:
    """By reason: what came in less what went out is what is followed, whatever was moved between."""
    on, known = START + SPAN + 5, trial.known
    stands = sum(n for k, n in trial.cells(on, known).items() if live(k[1:]))
    moved = sum(r.delta for r in trial.rows if r.known_from <= known and r.counts_on <= on and live(r.cell))
    accounts = sum(r.delta for r in trial.rows if r.known_from <= known and r.counts_on <= on and not live(r.cell))
    assert stands == moved == -accounts
