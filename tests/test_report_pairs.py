"""Pair histories against walking day by day; last year's stands whatever this year says; courtship, fidelity, waits."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta

import pytest
from oracle_pairs import Walk
from pair_books import SPAN, START, PairBook, day
from told_books import Told, animal, entry

from reports.bond_days import days_of
from reports.bonds import bonds
from reports.courting import courting
from reports.fidelity import BETWEEN, BOTH, WITHIN, fidelity
from reports.laid import laid, young_of
from reports.mate_days import mate_days
from reports.meetings import meetings
from reports.pairs import SCHEMA, pairs
from reports.waiting import waiting
from reports.waits import waits

GROUP = {"died": "gone", "released": "gone", "fed_out": "gone", "escaped": "lost", "missing": "lost"}
GONE = ("died", "released", "left", "escaped", "missing")
SEAHORSE = {"taxon": "Hippocampus kuda", "enclosure": "R2"}


def asked(book, on, known=0):
    copy, names, asof = book.asked(on, known)
    return copy, names, asof, bonds(copy, names, asof)


def histories(book, on, known=0):
    copy, names, asof, found = asked(book, on, known)
    return pairs(copy, names, asof, found, "", young_of(found.bonds, laid(copy, names, asof)))


def fast(copy, names, asof):
    """By pairing: what the oracle walks; and whether a place of which no stretch is left was in play."""
    found = bonds(copy, names, asof)
    after = {(w.pair, w.subject): w for w in waits(found, names, asof)}
    out = {}
    for b in found.bonds:
        days = days_of(b, found.own.get(b.a, []), found.own.get(b.b, []))
        counts = (days.stood, days.together, days.apart)
        assert days.together.days + days.apart.days + days.cannot_say == days.stood.days
        assert all(0 <= c.low <= c.days and (c.high is None or c.days <= c.high) for c in counts)
        if b.ended_by in GONE:
            assert not b.stands(b.end), "a bond day after a departure"
        waited = {}
        for x in (b.a, b.b):
            w = after[b.pair, x]
            state = "event" if w.event else "departed" if w.departed else "waiting"
            waited[x] = (w.exit, state) if w.episode else None
            assert not w.episode or (0 <= w.exit_low <= w.exit <= w.exit_high and w.entry < w.exit)
        how = GROUP.get(b.ended_by, b.ended_by)
        told = (b.start, b.end, how, days.stood.days, waited)
        out[b.pair] = (told, (days.together.days, days.apart.days, days.cannot_say))
    return out


@pytest.mark.parametrize("part", range(4))
def test_histories_are_what_walking_the_days_gives(part):
    seen = Counter()
    for seed in range(5 * part, 5 * part + 5):
        rng = random.Random(seed)
        book = PairBook(seed).told
        head = book.asked("2025-06-30")[0]
        ends = [end for _, end, _ in head.ends() if end > 24]
        for known in (ends[-1], rng.choice(ends)):
            on = START + timedelta(days=rng.randint(20, SPAN + 10))
            copy, names, asof = book.asked(on.isoformat(), known)
            slow = {w.pair: w for w in Walk(copy, names, asof, START).bonds()}
            quick = fast(copy, names, asof)
            assert quick.keys() == slow.keys()
            for pair, (told, days) in quick.items():
                w = slow[pair]
                assert told == (w.start, w.end, w.how, w.days, w.waits), (seed, on, known, pair)
                walked = (w.together, w.apart, w.unsaid)
                # never surer than the days allow; a place of which no stretch is left is said to be open
                assert days[0] <= walked[0] and days[1] <= walked[1], (seed, on, known, pair)
                seen["alike"] += days == walked
                seen["bonds"] += 1
                seen[told[2]] += 1
                seen["waits"] += sum(w is not None for w in told[4].values())
    assert seen["alike"] > 0.97 * seen["bonds"] > 30
    assert seen["left"] and seen["parted"] and seen[""] and seen["waits"] > 10, seen


@pytest.mark.parametrize("seed", range(4))
def test_last_year_stands_whatever_this_year_says_of_this_year(seed):
    book = PairBook(seed, entries=25)
    on, head = day(SPAN + 5), book.told.asked("2025-06-30")[0].head.position
    before = histories(book.told, on)
    landed = book.landed
    book.when = lambda: day(SPAN + 10 + book.rng.randint(0, 60))
    for _ in range(25):
        book.try_(*book.story())
    assert book.landed > landed + 5
    assert before.equals(histories(book.told, on)) and before.equals(histories(book.told, on, head))
    assert not before.equals(histories(book.told, day(SPAN + 90)))


def test_an_entry_of_last_year_restates_it():
    told = Told(*two(), entry("pairing", "2025-01-10", a="F1", b="M1", basis="greeting"))
    assert histories(told, "2025-12-31")["days"].to_list() == [356]
    told.tell(entry("death", "2025-05-07", animal="M1") | {"recorded": "2026-02-01T09:00:00Z"})
    assert histories(told, "2025-12-31")["days"].to_list() == [117]


def two(*more):
    names = (("F1", "f"), ("M1", "m"), *more)
    return [animal(name, sex, "2024-01-01", **SEAHORSE) for name, sex in names]


def test_a_book_without_pairs_has_no_history():
    frame = histories(Told(), "2025-01-01")
    assert frame.height == 0
    assert frame.columns == list(SCHEMA)


# --- courtship ----------------------------------------------------------------------------------------


def courted(told, on="2025-12-31"):
    copy, names, asof, found = asked(told, on)
    return courting(copy, names, asof, found, laid(copy, names, asof), "").to_dicts()


def dance(days, **more):
    return entry("courtship", days, **{"who": ["F1", "M1"], "act": "greeting", **more})


def brood(code, days, **more):
    facts = {"brood": code, "taxon": "Hippocampus kuda", "dam": "F1", "sire": "M1", "mode": "pouch"}
    return entry("brood", days, **{**facts, **more})


def test_dances_on_following_days_are_one_bout_and_a_brood_claims_the_last():
    told = Told(
        *two(),
        *(
            dance("2025-03-01"),
            dance("2025-03-02", who=["M1", "F1"]),
            dance("2025-03-03/2025-03-05", seen=2, watched=3),
        ),
        *(dance("2025-03-07"), dance("2025-03-09", act="egg_transfer", outcome="accepted")),
        brood("B1", "2025-03-11"),
        *(dance("2025-05-01", outcome="refused"), brood("B2", "2025-05-09")),
    )
    (row,) = courted(told)
    assert (row["who"], row["whom"], row["bouts"], row["with_eggs"]) == ("F1", "M1", 4, 1)
    assert row["broods_without"] == 1, "B2 began eight days after the last dance"
    assert (row["seen"], row["watched"], row["refused"]) == (2, 3, 1)
    assert row["acts"] == ["egg_transfer", "greeting"]
    (row,) = courted(told, "2025-03-10")
    assert (row["bouts"], row["with_eggs"], row["broods_without"]) == (3, 0, 0)


def test_a_brood_that_names_its_courtship_takes_that_bout_and_no_other():
    told = Told(*two(), dance("2025-03-01", label="first"), dance("2025-03-08"))
    told.tell(brood("B1", "2025-03-10", courtship=f"#{told.seq('first')}"))
    copy, names, asof, _ = asked(told, "2025-12-31")
    assert [b.courtship for b in laid(copy, names, asof)] == [told.seq("first")]
    assert courted(told)[0]["with_eggs"] == 1
    told.tell(brood("B2", "2025-03-12", courtship=f"#{told.seq('first')}"))
    assert courted(told)[0]["with_eggs"] == 1, "two broods of one bout are one bout with eggs"


def test_several_on_a_side_meet_two_by_two():
    told = Told(*two(("M2", "m")), entry("courtship", "2025-03-01", by=["M1", "M2"], **{"with": ["F1"]}, act="display"))
    copy, _, asof = told.asked("2025-12-31")
    assert meetings(copy, asof).height == 2
    assert {(r["who"], r["whom"]) for r in courted(told)} == {("M1", "F1"), ("M2", "F1")}


# --- fidelity ----------------------------------------------------------------------------------------


def steps_of(told, on="2025-12-31", of="dam", gap=BOTH):
    copy, names, asof, _ = asked(told, on)
    frame = fidelity(copy, names, asof, laid(copy, names, asof), "")
    return next((r for r in frame.to_dicts() if (r["of"], r["gap"]) == (of, gap)), None)


def season(code, start, end, **more):
    return [brood(code, start, carrier="M1", **more), entry("brood_end", end, brood=code)]


def test_fidelity_tells_apart_whether_the_former_was_still_there():
    told = Told(*two(("M2", "m"), ("M3", "m")))
    for one in (
        *season("B1", "2024-02-01", "2024-02-20"),
        *season("B2", "2024-03-01", "2024-03-20"),
        *season("B3", "2024-04-01", "2024-04-20", sire="M2"),
        *season("B4", "2024-05-01", "2024-05-20", sire="M3", social_mate="M2"),
        entry("death", "2024-06-01", animal="M2"),
        *season("B5", "2025-02-01", "2025-02-20", sire="M3"),
        brood("B6", "2025-02-10", sire="M3"),
    ):
        told.tell(one)
    row = steps_of(told)
    assert [row[c] for c in ("same", "changed_present", "changed_gone", "concurrent", "cannot_say")] == [2, 1, 1, 1, 0]
    assert (row["fidelity"], row["retention"]) == (pytest.approx(2 / 3), 0.5)
    assert steps_of(told, gap=BETWEEN)["changed_gone"] == 1 and steps_of(told, gap=WITHIN)["same"] == 2
    assert steps_of(told, of="sire", gap=BOTH)["same"] == 2, "M1 with B1 and B2; M3 with B4 and B5"
    assert steps_of(told, "2024-03-31")["changed_present"] == 0


# --- waiting -----------------------------------------------------------------------------------------


def widows(n):
    """n females widowed on one day, the first n - 1 given a male after 1, 2, 3 … days; other males come on day 3."""
    told = Told()
    for k in range(n):
        for name, sex in ((f"F{k}", "f"), (f"M{k}", "m")):
            told.tell(animal(name, sex, "2024-01-01", **SEAHORSE | {"enclosure": "T3"}))
        told.tell(entry("pairing", "2025-01-01", a=f"F{k}", b=f"M{k}", basis="greeting"))
        told.tell(entry("death", "2025-03-01", animal=f"M{k}"))
    for k in range(n - 1):
        more = SEAHORSE | {"enclosure": "T3"}
        told.tell(animal(f"N{k}", "m", day(SPAN), **more) if k == n else animal(f"N{k}", "m", "2025-03-04", **more))
    for k in range(n - 1):
        when = (date(2025, 3, 4) + timedelta(days=k)).isoformat()
        told.tell(entry("pairing", when, a=f"F{k}", b=f"N{k}", basis="introduced" if k % 2 else "courtship"))
    return told


def waited(told, on="2025-12-31", **how):
    copy, names, asof, found = asked(told, on)
    return waiting(copy, names, asof, found, "", **how)


def test_a_curve_comes_with_ten_events_and_the_second_clock_stops_without_a_mate():
    few = waited(widows(10))
    assert few.summary["events"].to_list() == [9] and few.curves.height == 0
    got = waited(widows(11))
    row = got.summary.to_dicts()[0]
    assert (row["episodes"], row["animals"], row["events"], row["introduced"], row["waiting"]) == (11, 11, 10, 5, 1)
    clocks = {clock[0]: frame for clock, frame in got.curves.group_by("clock", maintain_order=True)}
    assert clocks["every day"]["day"].to_list() == list(range(3, 13))
    assert clocks["days with a possible mate"]["day"].to_list() == list(range(10)), "no male was there on days 0 to 2"
    assert clocks["every day"]["surv"].to_list() == pytest.approx([(10 - k) / 11 for k in range(10)])


def test_a_possible_mate_is_free_of_the_other_sex_adult_and_beside_it():
    pup = {"taxon": "Hippocampus kuda", "enclosure": "R2"}
    told = Told(
        *two(("M2", "m"), ("F2", "f")),
        entry("pairing", "2024-02-01", a="F1", b="M1", basis="greeting"),
        entry("pairing", "2024-02-01", a="F2", b="M2", basis="greeting"),
        entry("death", "2024-03-01", animal="M1"),
        entry("parting", "2024-03-11", a="F2", b="M2", cause="kept_apart"),
        entry("move", "2024-03-21", animal="M2", to="R3"),
        entry("opening", "2024-03-26", lot="L1", how_many={"m": 3}, **pup | {"enclosure": "R3"}),
    )
    copy, names, asof, found = asked(told, "2024-03-31")
    own = [w for w in waits(found, names, asof) if w.episode]
    number = {names.number(w.subject): w for w in own}
    assert set(number) == {"F1", "F2", "M2"}

    def days(**how):
        counted = mate_days(copy, names, asof, found, own, **{"in_house": False, **how})
        return {name: counted[w.pair, w.subject] for name, w in number.items()}

    # F1: M2 free beside her on 11 to 20 March; F2 the same; M2: two free females beside him on 11 to 20 March
    assert days() == {"F1": 10, "F2": 10, "M2": 10}
    assert days(in_house=True) == {"F1": 21, "F2": 21, "M2": 21}
