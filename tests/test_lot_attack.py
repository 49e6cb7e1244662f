"""Lots in several places, first and apart: part acts, loans of part and of all, counts of one place, two houses.

Every day of every history is compared, and ranges by place, by sex, and by both.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from oracle.compare import TALLY, tally
from oracle.journal import live
from oracle.log import subjects
from oracle.lots import lot_act
from oracle.machine import EXAMPLES, NUMBERS, PHASES, SEED, picker
from oracle.planted import act, day, shoal
from oracle.scene import SPAN, START, TAXA
from oracle.trial import Trial


def spread(trial: Trial) -> str:
    """A lot of 4.4.6 in two enclosures of one house, one of the other, and with the party; id of the lot."""
    trial.send([shoal("L-1", day(0), how_many={"m": 4, "f": 4, "u": 6})])
    trial.send([act("move", day(1), lot="L-1", how_many={"m": 1, "f": 1, "u": 2}, to="A2")])
    loan: dict[str, Any] = {"from": "AA", "terms": "loan", "leaving": "A1"}
    trial.send([act("transfer", day(1), lot="L-1", how_many={"f": 1, "u": 1}, to="BB", enclosure="B1", **loan)])
    outcome = trial.send([act("transfer", day(1), lot="L-1", how_many={"m": 1, "u": 1}, to="PX", **loan)])
    assert outcome.landed, [f.sentence() for f in outcome.findings]
    return trial.scene.subjects("g-")[0]


@pytest.mark.parametrize("part", range(4))
def test_lots_in_several_places(part: int) -> None:
    before = Counter(TALLY)

    @seed(SEED + 1000 + part)
    @settings(
        max_examples=max(1, round(100 * EXAMPLES)),
        deadline=None,
        database=None,
        phases=PHASES,
        suppress_health_check=list(HealthCheck),
    )
    @given(st.lists(NUMBERS, min_size=5, max_size=9))
    def attack(steps: list[int]) -> None:
        trial = Trial()
        lot = spread(trial)
        trial.scene.today = START + 3
        for pick in map(picker, steps):
            late = pick(3) == 0
            if not late:
                trial.scene.today = min(trial.scene.today + pick(4), START + SPAN)
            when = START + 2 + pick(trial.scene.today - START - 1) if late else trial.scene.today
            entry = lot_act(pick, trial.scene, lot, when)
            if entry:
                trial.send([entry])
        for on in range(START - 1, START + SPAN + 4):
            trial.compare(on, trial.known)
            trial.ranges(on, trial.known)
        trial.still()
        trial.book.close()
        TALLY["lots"] += 1

    attack()
    seen = tally(before, f"lots {part}")
    assert seen["refused"] <= 0.6 * (seen["accepted"] + seen["refused"])
    if EXAMPLES >= 1:
        assert seen["ranges open"], "no range was ever open"


def figure(trial: Trial, on: int, place: str = "") -> dict[str, int]:
    """Numbers by sex at a place (by name), or everywhere that is followed."""
    out: Counter[str] = Counter()
    for key, n in trial.cells(START + on, trial.known).items():
        if live(key[1:]) and (not place or trial.scene.name(key[3]) == place):
            out[key[2]] += n
    return {k: n for k, n in out.items() if n}


def total_range(trial: Trial, on: int, place: str = "") -> tuple[int, int] | None:
    return trial.range_of(START + on, trial.known, lambda k: not place or trial.scene.name(k[3]) == place)


def codes(outcome: Any) -> set[str]:
    return {f.code for f in outcome.findings}


def test_part_acts_take_from_the_place_they_name() -> None:
    trial = Trial()
    spread(trial)
    assert trial.send([act("death", day(3), lot="L-1", how_many={"u": 1}, from_="A2")]).landed
    assert trial.send([act("death", day(3), lot="L-1", how_many={"m": 1}, from_="PX")]).landed
    assert figure(trial, 3, "A2") == {"male": 1, "female": 1, "unknown": 1}
    assert figure(trial, 3, "PX") == {"unknown": 1}
    assert figure(trial, 3, "A1") == {"male": 2, "female": 2, "unknown": 2}


def test_a_part_without_its_place_is_refused_where_there_are_several() -> None:
    trial = Trial()
    spread(trial)
    outcome = trial.send([act("death", day(3), lot="L-1", how_many={"u": 1})])
    assert not outcome.landed


def test_a_count_levels_one_place_and_no_other() -> None:
    trial = Trial()
    spread(trial)
    assert trial.send([act("count", day(4), lot="L-1", how_many={"m": 2, "f": 1}, enclosure="A1")]).landed
    assert figure(trial, 4, "A1") == {"male": 2, "female": 1}
    assert figure(trial, 4, "A2") == {"male": 1, "female": 1, "unknown": 2}
    trial.compare(START + 4, trial.known)


def test_a_count_difference_may_have_happened_on_any_day_since_the_last() -> None:
    trial = Trial()
    trial.send([shoal("L-1", day(0))])
    trial.send([act("count", day(5), lot="L-1", how_many={"u": 10})])
    trial.send([act("count", day(12), lot="L-1", how_many={"u": 7})])
    assert total_range(trial, 4) == (10, 10)
    for on in range(6, 12):
        assert total_range(trial, on) == (7, 10), on
    assert total_range(trial, 12) == (7, 7)


def test_deaths_that_commute_are_each_their_own_choice() -> None:
    trial = Trial()
    trial.send([shoal("L-1", day(0), how_many={"u": 100})])
    before = len(trial.open)
    for _ in range(12):
        assert trial.send([act("death", day(2, 20), lot="L-1", how_many={"u": 2})]).landed
    assert total_range(trial, 10) == (76, 100)
    assert total_range(trial, 20) == (76, 76)
    assert len([r for r in trial.open[before:] if r.weight > 0]) <= 3 * 12


def test_a_range_across_a_count_is_refused_and_cured_by_narrowing() -> None:
    trial = Trial()
    trial.send([shoal("L-1", day(0))])
    trial.send([act("count", day(5), lot="L-1", how_many={"u": 9})])
    assert codes(trial.send([act("death", day(3, 7), lot="L-1", how_many={"u": 1})])) == {"straddles-a-count"}
    assert trial.send([act("death", day(3, 5), lot="L-1", how_many={"u": 1})]).landed
    assert trial.send([act("death", day(6, 7), lot="L-1", how_many={"u": 1})]).landed
    assert figure(trial, 5) == {"unknown": 9}
    assert figure(trial, 7) == {"unknown": 8}


def test_a_whole_move_needs_its_order_against_the_parts() -> None:
    trial = Trial()
    spread(trial)
    assert trial.send([act("move", day(8), lot="L-1", how_many={"u": 1}, from_="A1", to="A3")]).landed
    assert codes(trial.send([act("redetermination", day(6, 9), lot="L-1", taxon=TAXA[1])])) == {"order-assumed"}


def test_too_few_on_some_possible_day_is_refused() -> None:
    trial = Trial()
    trial.send([shoal("L-1", day(0))])
    trial.send([act("move", day(4, 8), lot="L-1", how_many={"u": 5}, to="A2")])
    outcome = trial.send([act("death", day(5, 6), lot="L-1", how_many={"u": 1}, from_="A2")])
    assert not outcome.landed


def test_two_owners_in_one_place_want_a_name() -> None:
    trial = Trial()
    trial.send([shoal("L-1", day(0))])
    assert trial.send([act("title_change", day(2), lot="L-1", how_many={"u": 4}, owner="PX")]).landed
    assert "which-owner" in codes(trial.send([act("death", day(3), lot="L-1", how_many={"u": 1})]))
    assert trial.send([act("death", day(3), lot="L-1", how_many={"u": 1}, owned_by="PX")]).landed
    trial.compare(START + 3, trial.known)


def test_what_passes_out_of_one_lot_passes_into_the_other() -> None:
    trial = Trial()
    spread(trial)
    assert trial.send([act("split", day(3), lot="L-1", new="L-2", how_many={"u": 2}, from_="A1", to="A3")]).landed
    assert trial.send([act("merge", day(5), lot="L-2", how_many={"u": 1}, into="L-1", to="A2")]).landed
    trial.compare(START + 5, trial.known)
    passed = Counter()
    for row in trial.rows:
        if row.cell[2] == "passed":
            passed[row.effect, row.counts_on, row.cell] += row.delta
    assert passed and not any(passed.values())
    assert all(subjects(e["payload"]) for e in trial.oracle.events if e["kind"] in ("split", "merge"))
