"""Broods and their young: against plain walking, against the truth of a told story, and by hand."""

from __future__ import annotations

import os
import random
from datetime import date, timedelta
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from oracle_broods import CHROMIS, DAYS, START, Story, day, plain, true_survival, truth
from told_books import Told, animal, entry

from ledger.read import AsOf, Copy, Names
from reports.brood_lanes import at_once, busiest, lanes
from reports.brood_rates import BY, rates
from reports.broods import broods, frame
from reports.clutches import clutches
from reports.fates import Aged, Fate
from reports.hatch import Days, within
from reports.young import STATES, Young, product_limit, states, survival, young

EXAMPLES = int(os.environ.get("TIDEMARK_EXAMPLES", "1"))
SUMS = ("alive", "dead_30", "left_30", "not_yet", "cannot_say")


class Asked:
    """A story's book, asked about its young on a day, as known at a position."""

    def __init__(self, story: Story) -> None:
        self.story, self.copy = story, Copy(story.told.run.book.store)
        self.head = self.copy.head.position
        self.events = list(story.told.run.book.events())
        self.rng = random.Random(story.seed)

    def young(self, on: int, known: int) -> list[Young]:
        asof = AsOf(START + timedelta(days=on), known)
        return young(self.copy, Names(self.copy, asof), asof)

    def moments(self) -> list[tuple[int, int]]:
        ends = [end for _, end, _ in self.copy.ends()]
        some = [(self.rng.randint(0, DAYS + 5), known) for known in (self.head, self.head, *self.rng.sample(ends, 2))]
        return [(DAYS + 40, self.head), *some]


@pytest.fixture(scope="module", params=range(6 * EXAMPLES))
def asked(request: pytest.FixtureRequest) -> Asked:
    return Asked(Story(request.param + 5).tell(40))


def test_five_states_sum_to_the_live_born(asked: Asked) -> None:
    for on, known in asked.moments():
        for one in asked.young(on, known):
            told = states([one])
            assert sum(told[key] for key in SUMS) == told["live"], (on, known, one)
            assert all(n >= 0 for n in told.values()) and told["not_yet_low"] <= told["not_yet"], (on, known, one)


def test_exact_figures_are_those_of_plain_walking(asked: Asked) -> None:
    for on, known in asked.moments():
        found = {one.event: states([one]) for one in asked.young(on, known)}
        for event, wanted in plain(asked.events, known, START + timedelta(days=on)).items():
            assert {key: found[event][key] for key in wanted} == wanted, (asked.story.seed, on, known, event)


def test_the_truth_lies_in_the_bounds(asked: Asked) -> None:
    for on in (DAYS + 40, *(on for on, known in asked.moments() if known == asked.head)):
        found = {one.event: one for one in asked.young(on, asked.head)}
        for number in range(asked.story.hatchings):
            one = found.get(asked.story.told.seq(f"h{number}"))
            if one is None:
                continue
            told, true = states([one]), truth(asked.story, number, on)
            open_ones = told["cannot_say"] + told["not_yet"] - told["not_yet_low"]
            for key in ("dead_30", "left_30"):
                assert told[key] <= true[key] <= told[key] + open_ones, (asked.story.seed, on, key, one, true)
            # of an uncertain birth day 30 is past for certain only once the last possible one is
            there = true["alive"] + true["not_yet"]
            assert told["alive"] + told["not_yet_low"] <= there, (asked.story.seed, on, one, true)
            assert there <= told["alive"] + told["not_yet"] + told["cannot_say"], (asked.story.seed, on, one, true)
            bounds, share = survival([one], START + timedelta(days=on)), true_survival(asked.story, number)
            if bounds is not None and share is not None:
                assert bounds.low - 1e-9 <= share <= bounds.high + 1e-9, (asked.story.seed, on, one, share)


def test_rows_hold_the_same_young(asked: Asked) -> None:
    for on, known in asked.moments():
        asof = AsOf(START + timedelta(days=on), known)
        names = Names(asked.copy, asof)
        parts = young(asked.copy, names, asof)
        found = clutches(asked.copy, names, asof, parts)
        rows = frame(found, names, asof.on)
        assert {key: int(rows[key].sum()) for key in ("live", *STATES)} == {
            key: n for key, n in states(parts).items() if key != "not_yet_low"
        }
        for by in BY:
            told = rates(found, names, asof.on, by)
            assert int(told["broods"].sum()) == len(found) - sum(bool(c.shared) for c in found)
            assert (told["counted"] + told["left_out"]).sum() == len(
                [c for c in found if by in ("taxon", "year", "all") or not c.shared]
            )


# --- the ledger of a nest ---------------------------------------------------------------------------


def nest(rng: random.Random) -> tuple[list[dict[str, Any]], dict[str, int]]:
    """Entries of a nest whose eggs are counted whenever somebody looks, and what truly became of them."""
    true = dict.fromkeys(("laid", "lost", "untold", "infertile", "unhatched", "live", "sent", "received"), 0)
    there = rng.randint(1, 3)
    true["laid"] = there
    fact = {"taxon": CHROMIS, "mode": "nest", "enclosure": "T3", "eggs_are": "exact"}
    out = [entry("brood", day(0), brood="B1", eggs=there, **fact)]
    for n in range(1, rng.randint(2, 4)):
        new = rng.randint(0, 2)
        there, true["laid"] = there + new, true["laid"] + new
        out.append(entry("brood_check", day(n), brood="B1", eggs=there, eggs_are="exact"))
    out.append(entry("brood_check", day(5), brood="B1", eggs=there, eggs_are="exact", clutch_complete=True))
    for n in range(6, 10):
        what = rng.choice(("lost", "untold", "sent", "received", "nothing"))
        if what == "received":
            true[what] += 1
            there += 1
            out.append(entry("brood_move", day(n), brood="B1", how_many=1, from_party="OSC"))
        elif what != "nothing" and there > 1:
            true[what] += 1
            there -= 1
            if what == "lost":
                out.append(entry("brood_check", day(n), brood="B1", lost=1, how="eaten", eggs=there, eggs_are="exact"))
            elif what == "sent":
                out.append(entry("brood_move", day(n), brood="B1", how_many=1, to_party="OSC"))
    for n in (20, 22):
        young_ones = rng.randint(0, there)
        there, true["live"] = there - young_ones, true["live"] + young_ones
        if young_ones:
            facts = {"taxon": CHROMIS, "enclosure": "N1", "brood": "B1", "how_many": young_ones}
            out.append(entry("hatching", day(n), lot=f"Y{n}", **facts))
    true["infertile"] = rng.randint(0, there)
    true["unhatched"] = there - true["infertile"]
    out.append(entry("brood_end", day(25), brood="B1", infertile=true["infertile"], unhatched=true["unhatched"]))
    return out, true


@pytest.mark.parametrize("seed", range(12 * EXAMPLES))
def test_every_ledger_balances(seed: int) -> None:
    entries, true = nest(random.Random(seed))
    copy, names, asof = Told(*entries).asked(day(30))
    for n in range(0, 31, 3):
        asof = asof._replace(on=START + timedelta(days=n))
        (one,) = clutches(copy, names, asof)
        (row,) = frame([one], names, asof.on).to_dicts()
        parts = ("stillborn", "infertile", "unhatched", "lost", "sent", "in_care", "not_accounted")
        assert row["eggs"] + row["received"] == one.hatched + sum(row[key] for key in parts), (n, row)
        assert row["in_care"] >= 0
    assert {key: row[key] for key in ("eggs", "lost", "live", "infertile", "unhatched", "sent", "received")} == {
        "eggs": true["laid"], **{k: true[k] for k in ("lost", "live", "infertile", "unhatched", "sent", "received")}
    }  # fmt: skip
    assert row["not_accounted"] == true["untold"] and row["state"] == "ended"
    if not true["sent"]:
        assert row["hatch_rate"] == float(Fraction(true["live"], true["laid"] + true["received"]))


# --- survival ----------------------------------------------------------------------------------------


def one_of(fate: Fate, born: int = 0) -> Young:
    days = (START + timedelta(days=born),) * 2
    return Young(1, "birth", "g-1", (), "", "", "t-1", "", days, days, late=False, fate=fate)


def test_product_limit_of_two_deaths_and_two_leavings() -> None:
    """At risk 5, 4, 2: 4/5 · 3/4 · 1/2; who leaves on a day is at risk on it, and day 0 is one."""
    exits = [(1, -1, 0, True), (1, -1, 10, True), (1, -1, 10, False), (1, -1, 20, True), (1, -1, 30, False)]
    assert product_limit(exits, 30) == pytest.approx(4 / 5 * 3 / 4 * 1 / 2)
    late = [*exits, (1, 14, 30, False)]  # came on day 15: at risk only from there
    assert product_limit(late, 30) == pytest.approx(4 / 5 * 3 / 4 * 2 / 3)
    assert product_limit([(3, -1, 5, False)], 30) is None
    assert product_limit([(3, -1, 5, True)], 30) == 0


def test_survival_bounds_are_the_least_and_most_of_all_that_can_be() -> None:
    rng = random.Random(3)
    tried = 0
    for _ in range(120):
        ages = [sorted((rng.randint(0, 6), rng.randint(0, 6))) for _ in range(rng.randint(1, 4))]
        dead = [Aged(1, *a) for a in ages[::2]]
        left = [Aged(1, *a) for a in ages[1::2]]
        alive, open_ones = rng.randint(0, 2), rng.randint(0, 1)
        fate = Fate(len(ages) + alive + open_ones, alive, len(dead), len(left), 0, open_ones, 0, dead, left)
        bounds = survival([one_of(fate)], START + timedelta(days=40), limit=6)
        if bounds is None:
            continue
        days = [range(a.low, a.high + 1) for a in (*dead, *left)]
        every = [(d, died) for d in range(7) for died in (True, False)] + [(6, False)] if open_ones else [(6, False)]
        shares = []
        for chosen in product(*days):
            told = [(1, -1, d, n < len(dead)) for n, d in enumerate(chosen)] + [(alive, -1, 6, False)]
            for last, died in every:
                share = product_limit([*told, (open_ones, -1, last, died)], 6)
                shares += [share] if share is not None else []
        assert bounds.low == pytest.approx(min(shares)) and bounds.high == pytest.approx(max(shares)), (fate, bounds)
        tried += 1
    assert tried > 60


def test_whose_day_30_is_to_come_is_not_in_it() -> None:
    assert survival([one_of(Fate(5, not_yet=5))], START + timedelta(days=29)) is None
    assert survival([one_of(Fate(5, alive=5))], START + timedelta(days=30)) == (1, 1)


# --- carrying ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (Days(21, 21), "yes"),
        (Days(18, 24), "yes"),
        (Days(16, 19), "cannot say"),
        (Days(23, 26), "cannot say"),
        (Days(25, 26), "no"),
        (Days(10, 17), "no"),
        (Days(25, None), "no"),
        (Days(20, None), "cannot say"),
        (Days(None, 17), "no"),
        (Days(None, 20), "cannot say"),
        (Days(None, None), "cannot say"),
    ],
)
def test_outside_the_range_only_if_all_that_is_possible_is(days: Days, said: str) -> None:
    assert within(days, 18, 24) == said


# --- one dam, several carriers ------------------------------------------------------------------------


def wader() -> Told:
    """One dam, three males: two clutches overlap, one is handed on."""

    def clutch(code: str, begin: int, male: str) -> dict[str, Any]:
        facts = {"taxon": CHROMIS, "dam": "F1", "sire": male, "carrier": male, "mode": "nest", "eggs": 4}
        return entry("brood", day(begin), brood=code, eggs_are="exact", clutch_complete=True, enclosure="T3", **facts)

    def hatch(code: str, on: int, n: int) -> dict[str, Any]:
        return entry("hatching", day(on), lot=f"Y{code}", how_many=n, taxon=CHROMIS, enclosure="N1", brood=code)

    return Told(
        *(animal(n, "f" if n == "F1" else "m", "2024-12-01", taxon=CHROMIS) for n in ("F1", "M1", "M2", "M3")),
        clutch("N1", 0, "M1"), clutch("N2", 5, "M2"), hatch("N1", 12, 4),
        entry("brood_move", day(13), brood="N2", to_carer="M3"), hatch("N2", 18, 3),
        entry("brood_end", day(19), brood="N2", infertile=1), clutch("N3", 30, "M1"),
    )  # fmt: skip


def test_overlapping_clutches_of_one_dam_on_the_lanes_of_their_carriers() -> None:
    copy, names, asof = wader().asked(day(40))
    found = clutches(copy, names, asof)
    dam = busiest(found)
    drawn = lanes(found, dam, names)
    rows = {(r["brood"], r["carrier"], r["phase"]): (r["begin"], r["until"]) for r in drawn.rows.to_dicts()}

    def span(begin: int, until: int) -> tuple[date, date]:
        return START + timedelta(days=begin), START + timedelta(days=until)

    assert rows == {
        ("N1", "M1", "eggs"): span(0, 12),
        ("N1", "M1", "young"): span(12, 41),
        ("N2", "M2", "eggs"): span(5, 13),
        ("N2", "M3", "eggs"): span(13, 18),
        ("N2", "M3", "young"): span(18, 41),
        ("N3", "M1", "eggs"): span(30, 41),
    }
    assert at_once(found) == (2, START + timedelta(days=5))
    assert drawn.finding.startswith("F1 laid 3 clutches") and "At most 2 were in care at once" in drawn.finding


def test_fosters_are_own_and_received_less_given() -> None:
    copy, names, asof = wader().asked(day(40))
    by_carrier = {r["group"]: r for r in rates(clutches(copy, names, asof), names, asof.on, "carrier").to_dicts()}
    told = {g: (r["broods"], r["own"], r["received"], r["given"]) for g, r in by_carrier.items()}
    assert told == {"M1": (2, 2, 0, 0), "M2": (0, 1, 0, 1), "M3": (1, 0, 1, 0)}
    assert (by_carrier["M3"]["eggs"], by_carrier["M3"]["hatch_rate"]) == (4, 0.75)


def test_hatch_rate_is_pooled_and_says_what_it_leaves_out() -> None:
    copy, names, asof = wader().asked(day(40))
    (row,) = rates(clutches(copy, names, asof), names, asof.on, "dam").to_dicts()
    assert (row["counted"], row["eggs"], row["hatched"], row["hatch_rate"]) == (2, 8, 7, 7 / 8)
    assert (row["left_out"], row["left_out_why"], row["left_30"]) == (1, "1 not over", 0)


def test_a_later_entry_does_not_change_what_was_known() -> None:
    told = wader()
    copy, names, asof = told.asked(day(40))
    before = broods(copy, names, asof)
    told.tell(entry("death", day(16), lot="YN1", how_many=2))
    again, names, now = told.asked(day(40))
    assert broods(again, Names(again, asof), asof).equals(before)
    assert not broods(again, names, now).equals(before)
