"""Waiting curves: the test of the definition, open curves with delayed entry, and the cases on which tools differ.

Data: `tests/data/survival`, with source and licence of each in its README. The curves there are R survival's, which
statsmodels and lifelines agree with; to install one of those here would bring in more than all else together.
"""

from __future__ import annotations

import csv
import math
import random
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from reports.waiting import FEW, Episode, curve

DATA = Path(__file__).parent / "data" / "survival"
# (entry, exit, ended by), of the definition D5
TOLD = [(-1, 44, "event"), (-1, 30, "left"), (-1, 0, "event"), (-1, 120, "on"), (-1, 90, "event"), (59, 100, "event")]


def read(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def episodes(rows):
    return [Episode(entry, end, how == "event", how == "left") for entry, end, how in rows]


def test_the_curve_of_the_definition():
    rows = curve(episodes(TOLD)).to_dicts()
    assert [(r["day"], r["at_risk"], r["events"], r["departures"]) for r in rows] == [
        *((0, 5, 1, 0), (44, 3, 1, 1)),
        *((90, 3, 1, 0), (100, 2, 1, 0)),
    ]
    wanted = [Fraction(4, 5), Fraction(8, 15), Fraction(16, 45), Fraction(8, 45)]
    assert [r["surv"] for r in rows] == pytest.approx([float(f) for f in wanted])
    assert rows[-1]["paired"] == pytest.approx(2 / 3)
    assert rows[-1]["paired"] < 1 - rows[-1]["surv"]
    assert [r["few"] for r in rows] == [False, True, True, True]


@pytest.mark.parametrize("name", ["aids_cohort", "psychiatric", "synthetic_collection"])
def test_open_curves_with_delayed_entry(name):
    rows, wanted = (read(DATA / name / file) for file in ("input.csv", "km.csv"))
    assert wanted
    for group in {row["group"] for row in wanted}:
        own = [r for r in rows if group in ("ALL", r["group"])]
        found = curve([Episode(float(r["entry"]), float(r["exit"]), r["event"] == "1") for r in own])
        said = [r for r in wanted if r["group"] == group]
        assert found["day"].to_list() == [float(r["time"]) for r in said]
        assert found["at_risk"].to_list() == [int(r["n_risk"]) for r in said]
        assert found["events"].to_list() == [int(r["n_event"]) for r in said]
        assert found["surv"].to_list() == pytest.approx([float(r["surv"]) for r in said], abs=1e-12)
        # without departures the share that paired is what the product limit leaves
        assert found["paired"].to_list() == pytest.approx([1 - s for s in found["surv"]], abs=1e-12)


EDGES = [
    ("who comes on day 5 is not at risk for what happens on day 5",
     [(0, 5, 1), (0, 9, 0), (0, 9, 1), (5, 8, 1), (5, 12, 0)], [5, 8, 9], [3, 4, 3], [2 / 3, 1 / 2, 1 / 3]),
    ("censored on the day of an event is at risk for it",
     [(0, 5, 1), (0, 5, 0), (0, 5, 0), (0, 8, 1)], [5, 8], [4, 1], [3 / 4, 0]),
    ("nobody left at risk, and then others come: it stays at nothing",
     [(0, 3, 1), (0, 5, 1), (10, 12, 1), (10, 15, 1)], [3, 5, 12, 15], [2, 1, 2, 1], [1 / 2, 0, 0, 0]),
    ("what happens on day 0 counts",
     [(-1, 0, 1), (-1, 5, 1), (-1, 7, 0), (-1, 9, 1)], [0, 5, 9], [4, 3, 1], [3 / 4, 1 / 2, 0]),
    ("no time at risk is no row", [(1, 1, 1), (0, 2, 0)], [], [], []),
    ("one wait in two rows is one wait",
     [(0, 4, 0), (4, 10, 1), (0, 7, 1), (0, 12, 0)], [7, 10], [3, 2], [2 / 3, 1 / 3]),
]  # fmt: skip


@pytest.mark.parametrize(("rows", "days", "at_risk", "surv"), [e[1:] for e in EDGES], ids=[e[0] for e in EDGES])
def test_where_tools_differ(rows, days, at_risk, surv):
    found = curve([Episode(entry, end, event == 1) for entry, end, event in rows])
    assert found["day"].to_list() == days
    assert found["at_risk"].to_list() == at_risk
    assert found["surv"].to_list() == pytest.approx(surv)


def drawn(rng):
    """Episodes of whole days, a third of them delayed, with ties."""
    rows = []
    for _ in range(rng.randint(1, 40)):
        entry = rng.choice((-1, -1, rng.randint(0, 20)))
        rows.append((entry, entry + rng.randint(1, 30), rng.choice(("event", "left", "on"))))
    return rows


def walked(rows):
    """Day by day, by the definition: at risk, S, F as fractions."""
    out, surv, every, paired = [], Fraction(1), Fraction(1), Fraction(0)
    for day in range(max(end for _, end, _ in rows) + 1):
        n = sum(entry < day <= end for entry, end, _ in rows)
        d = sum(end == day and how == "event" for _, end, how in rows)
        c = sum(end == day and how == "left" for _, end, how in rows)
        if n:
            paired += every * Fraction(d, n)
            surv *= 1 - Fraction(d, n)
            every *= 1 - Fraction(d + c, n)
        if d:
            out.append((day, n, d, surv, paired))
    return out


@pytest.mark.parametrize("seed", range(40))
def test_a_curve_is_what_walking_the_days_gives(seed):
    rows = drawn(random.Random(seed))
    found = curve(episodes(rows))
    wanted = walked(rows)
    assert [r[:3] for r in found.select("day", "at_risk", "events").iter_rows()] == [w[:3] for w in wanted]
    for row, (_, n, _, surv, paired) in zip(found.iter_rows(named=True), wanted, strict=True):
        assert math.isclose(row["surv"], surv, abs_tol=1e-12) and math.isclose(row["paired"], paired, abs_tol=1e-12)
        assert row["few"] == (n < FEW)
        assert row["paired"] <= 1 - row["surv"] + 1e-12
    assert all(a >= b - 1e-12 for a, b in pairwise(found["surv"].to_list()))
    assert all(a <= b + 1e-12 for a, b in pairwise(found["paired"].to_list()))
