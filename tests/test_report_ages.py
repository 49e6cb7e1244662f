"""Ages of the dead against a replay of every choice of which animals went (definition D13)."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from itertools import product

import pytest

from reports.ages import Death, Flow, Split, flows, judge

D0 = date(2025, 1, 1)
ROW = ("t", "collection", "unknown")


def on(n: int) -> date:
    return D0 + timedelta(days=n)


def dead(effect: int, subject: str, day: int, n: int, first: int | None = None) -> Death:
    return Death(effect, subject, on(day if first is None else first), on(day), n, {ROW: n})


def born(day: int, effect: int, subject: str, n: int, first: int | None = None) -> Flow:
    begin = day if first is None else first
    return Flow(on(begin), effect, subject, "born", n, (on(begin), on(day)))


def went(day: int, effect: int, subject: str, n: int) -> Flow:
    return Flow(on(day), effect, subject, "outside", -n, None)


def asked(death: Death, told: list[Flow], limit: int = 30, everyone: bool = False) -> Split:
    return judge([death], told, limit=limit, everyone=everyone)[ROW]


@pytest.mark.parametrize(("n", "split"), [(50, Split(0, 10, 40)), (70, Split(10, 30, 30)), (100, Split(40, 60, 0))])
def test_forty_young_and_sixty_old(n: int, split: Split) -> None:
    told = [born(0, 1, "g-1", 60), born(190, 2, "g-1", 40), went(200, 3, "g-1", n)]
    assert asked(dead(3, "g-1", 200, n), told) == split


def test_day_thirty_is_inside() -> None:
    for day, split in ((30, Split(1, 0, 0)), (31, Split(0, 1, 0))):
        assert asked(dead(2, "a-1", day, 1), [born(0, 1, "a-1", 1)]) == split


def test_uncertain_days_are_three_valued() -> None:
    birth = [born(10, 1, "a-1", 1, first=0)]
    assert asked(dead(2, "a-1", 30, 1), birth) == Split(1, 0, 0)  # 20 to 30 days
    assert asked(dead(2, "a-1", 31, 1), birth) == Split(0, 0, 1)  # 21 to 31 days
    assert asked(dead(2, "a-1", 41, 1), birth) == Split(0, 1, 0)  # 31 to 41 days
    assert asked(dead(2, "a-1", 41, 1, first=40), birth) == Split(0, 0, 1)  # 30 to 41 days


def test_what_came_from_outside_is_older_unless_all_are_asked_about() -> None:
    came = Flow(on(0), 1, "a-1", "outside", 1, None)
    death = dead(2, "a-1", 5, 1)
    assert asked(death, [came]) == Split(0, 1, 0)
    assert asked(death, [came], everyone=True) == Split(0, 0, 1)
    assert asked(death, [came._replace(born=(on(-3), on(-3)))], everyone=True) == Split(1, 0, 0)
    assert asked(death, [came._replace(born=(None, on(-40)))], everyone=True) == Split(0, 1, 0)
    assert asked(death, [came._replace(born=(None, on(-3)))], everyone=True) == Split(0, 0, 1)


def test_an_animal_that_was_away_keeps_its_birth() -> None:
    told = [born(0, 1, "a-1", 1), went(5, 2, "a-1", 1), Flow(on(9), 3, "a-1", "outside", 1, None)]
    assert asked(dead(4, "a-1", 12, 1), told) == Split(1, 0, 0)


def test_split_and_drawn_young_keep_their_cohorts() -> None:
    told = [
        born(0, 1, "g-1", 10),
        Flow(on(5), 2, "g-1", "passed", -4, None),
        Flow(on(5), 2, "g-2", "passed", 4, None),
        Flow(on(6), 3, "g-2", "passed", -1, None),
        Flow(on(6), 3, "a-1", "passed", 1, None),
    ]
    assert asked(dead(4, "a-1", 20, 1), told) == Split(1, 0, 0)
    assert asked(dead(4, "a-1", 60, 1), told) == Split(0, 1, 0)
    assert asked(dead(5, "g-2", 20, 3), told) == Split(3, 0, 0)


def test_drawn_from_a_mixed_lot_cannot_be_said() -> None:
    told = [
        born(0, 1, "g-1", 10),
        born(90, 2, "g-1", 10),
        Flow(on(95), 3, "g-1", "passed", -1, None),
        Flow(on(95), 3, "a-1", "passed", 1, None),
    ]
    assert asked(dead(4, "a-1", 100, 1), told) == Split(0, 0, 1)


def test_a_hatching_that_may_have_come_first_is_not_overlooked() -> None:
    """Hatched some day in March, counting from the 31st; of those dead on the 15th some may be of that brood."""
    told = [born(0, 1, "g-1", 10), born(90, 2, "g-1", 10, first=60)]
    assert asked(dead(3, "g-1", 74, 3), sorted(told, key=lambda f: f.day)) == Split(0, 0, 3)


# --- every choice of which animals ------------------------------------------------------------------

World = tuple[tuple[tuple[str, int], int], ...]  # ((subject, cohort), how many), sorted


def choices(counts: dict[int, int], n: int) -> list[dict[int, int]]:
    cohorts = sorted(counts)
    ways = product(*(range(min(n, counts[c]) + 1) for c in cohorts))
    return [dict(zip(cohorts, way, strict=True)) for way in ways if sum(way) == n]


def random_story(rng: random.Random) -> tuple[list[tuple[str, int, str, str, int]], dict[int, int]]:
    """Steps (what, day, subject, other, n) that can happen, and the day each cohort was born."""
    steps: list[tuple[str, int, str, str, int]] = []
    births: dict[int, int] = {}
    stock: Counter[str] = Counter()
    day = 0
    for _ in range(rng.randint(4, 9)):
        day += rng.randint(0, 14)
        subject = rng.choice(("g-1", "g-2"))
        what = rng.choice(("born", "born", "came", "died", "died", "lost", "passed"))
        n = rng.randint(1, 4)
        if what in ("died", "lost", "passed"):
            if not stock[subject]:
                continue
            n = rng.randint(1, stock[subject])
        other = "g-2" if subject == "g-1" else "g-1"
        stock[subject] += n if what in ("born", "came") else -n
        if what == "passed":
            stock[other] += n
        steps.append((what, day, subject, other, n))
        births[len(steps)] = day if what == "born" else -1000
    return steps, births


def worlds_after(
    steps: list[tuple[str, int, str, str, int]], births: dict[int, int], limit: int
) -> dict[int, set[int]]:
    """For every death, in how many ways young animals can be among the dead: number of the step to numbers."""
    worlds: set[World] = {()}
    out: dict[int, set[int]] = {}
    for number, (what, day, subject, other, n) in enumerate(steps, 1):
        then: set[World] = set()
        for world in worlds:
            held = Counter(dict(world))
            if what in ("born", "came"):
                held[subject, number] += n
                then.add(tuple(sorted(held.items())))
                continue
            here = {c: k for (s, c), k in held.items() if s == subject and k}
            for taken in choices(here, n):
                left = Counter(held)
                for cohort, k in taken.items():
                    left[subject, cohort] -= k
                    if what == "passed":
                        left[other, cohort] += k
                then.add(tuple(sorted((key, k) for key, k in left.items() if k)))
                if what == "died":
                    young = sum(k for c, k in taken.items() if day - births[c] <= limit)
                    out.setdefault(number, set()).add(young)
        worlds = then
    return out


def test_bounds_hold_in_every_world_and_are_exact_in_a_lot_alone() -> None:
    rng = random.Random(13)
    checked = exact = 0
    for _ in range(600):
        steps, births = random_story(rng)
        # what came on a day comes before what went on it, as the fold has it
        steps = sorted(steps, key=lambda s: (s[1], {"born": 0, "came": 0, "passed": 1}.get(s[0], 2)))
        if len({s[1] for s in steps if s[0] == "passed"}) < sum(s[0] == "passed" for s in steps):
            continue
        births = {i: s[1] if s[0] == "born" else -1000 for i, s in enumerate(steps, 1)}
        told, deaths = [], []
        for effect, (what, day, subject, other, n) in enumerate(steps, 1):
            if what == "born":
                told.append(born(day, effect, subject, n))
            elif what == "came":
                told.append(Flow(on(day), effect, subject, "outside", n, None))
            elif what == "passed":
                told += [Flow(on(day), effect, s, "passed", k, None) for s, k in ((subject, -n), (other, n))]
            else:
                told.append(went(day, effect, subject, n))
            if what == "died":
                deaths.append(dead(effect, subject, day, n))
        possible = worlds_after(steps, births, 30)
        alone = not any(s[0] == "passed" for s in steps)
        for death in deaths:
            young, older, unsaid = asked(death, told)
            truth = possible[death.effect]
            assert young <= min(truth), (steps, death)
            assert older <= death.dead - max(truth), (steps, death)
            assert young + older + unsaid == death.dead
            if alone:
                assert (young, older) == (min(truth), death.dead - max(truth)), (steps, death)
                exact += 1
            checked += 1
    assert checked > 300 and exact > 100


def test_lines_become_flows() -> None:
    import polars as pl
    from paper_books import legs

    rows = [
        *legs(
            1,
            "g-1",
            "2025-01-01",
            ("t-x", "unknown", "born", "", ""),
            ("t-x", "unknown", "e-1", "h-a", "h-a"),
            9,
            "hatched",
        ),
        *legs(
            2,
            "g-1",
            "2025-01-02",
            ("t-x", "unknown", "e-1", "h-a", "h-a"),
            ("t-x", "unknown", "e-2", "h-a", "h-a"),
            4,
            "re_housed",
        ),
        *legs(
            3,
            "g-1",
            "2025-01-03",
            ("t-x", "unknown", "e-1", "h-a", "h-a"),
            ("t-x", "unknown", "o-p", "o-p", "h-a"),
            2,
            "transfer_out",
        ),
        *legs(
            4,
            "g-1",
            "2025-01-04",
            ("t-x", "unknown", "e-1", "h-a", "h-a"),
            ("t-x", "unknown", "o-p", "o-p", "o-p"),
            1,
            "transfer_out",
        ),
        *legs(
            5,
            "g-1",
            "2025-01-05",
            ("t-x", "unknown", "o-p", "o-p", "h-a"),
            ("t-x", "unknown", "dead", "", ""),
            1,
            "died",
        ),
    ]
    lines = pl.DataFrame(rows).with_columns(pl.col("counts_on", "could_from").str.to_date())
    assert [(f.effect, f.how, f.n) for f in flows(lines, {})] == [
        (1, "born", 9),
        (4, "outside", -1),
        (5, "outside", -1),
    ]
