"""Units and open places against a plain walk on random histories, ranges against every true day, rules one by one."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle_sexes import answers, day
from told_books import Told, entry
from unit_books import LAST, book_of, facts_of

from ledger.read import AsOf, Copy, Names
from reports.succession import SCHEMA, STATES, succession
from reports.unit_orders import agree, rank_by_size
from reports.units import Days, Order, Size

SEEDS = range(8)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_unit_is_what_the_walk_finds(seed: int) -> None:
    rng = random.Random(seed)
    facts = facts_of(rng)
    paper, positions = book_of(facts)
    copy = Copy(paper)
    for _ in range(3):
        known, on = rng.randint(10, len(facts)), rng.randint(5, LAST + 10)
        wanted, _ = answers(facts, known, on)
        asof = AsOf(day(on), positions[known - 1])
        got = {row["unit_id"]: row for row in succession(copy, Names(copy, asof), asof).to_dicts()}
        assert set(got) == set(wanted), (known, on)
        for unit, row in wanted.items():
            assert {column: got[unit][column] for column in row} == row, (unit, known, on)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_columns_keep_their_rules(seed: int) -> None:
    facts = facts_of(random.Random(seed + 300))
    paper, positions = book_of(facts)
    copy = Copy(paper)
    asof = AsOf(day(LAST), positions[-1])
    frame = succession(copy, Names(copy, asof), asof)
    assert dict(frame.schema) == dict(SCHEMA)
    for row in frame.to_dicts():
        assert row["state"] in STATES
        assert (row["days_open"] is None) == (row["open_since"] is None)
        assert row["days_open"] is None or row["days_open"] >= 0
        assert not row["presumed_next"] or row["presumed_for"]
        assert row["without_days"] is None or (row["dominant"] == "" and row["without_days"] == row["days_open"])
        assert row["state"] != "stands" or row["dominant"]
        waiting = (row["places_open"] or 0) + (row["places_taken"] or 0)
        assert (waiting > 0) == (row["open_since"] is not None)
        assert row["state"] != "place open" or row["places_open"] > 0


# --- low ≤ figure ≤ high, and no true day outside ------------------------------------------------------------


def spread(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


@pytest.mark.parametrize("seed", range(4))
def test_the_range_of_a_unit_holds_every_possible_world(seed: int) -> None:
    rng = random.Random(seed)
    fish = {"taxon": "Amphiprion ocellaris", "enclosure": "R2"}
    told = Told(
        entry("social_unit", "2024-01-01", unit="U", sort="other", taxa=["Amphiprion ocellaris"], enclosure="R2")
    )
    begin, on = date(2024, 2, 1), date(2024, 2, 8)
    worlds: list[list[tuple[date, str]]] = []  # per animal: (true day, what) for each possible day
    sexes = []
    for n in range(4):
        sex = rng.choice("mfu")
        sexes.append(sex)
        told.tell(entry("opening", "2024-01-01", animal=f"A{n}", **fish, **({"sex": sex} if sex != "u" else {})))
        told.tell(entry("association", "2024-01-01", animal=f"A{n}", relation="member", unit="U"))
        first = begin + timedelta(days=rng.randint(0, 9))
        last = first + timedelta(days=rng.randint(0, 6))
        kinds = {"m": ["death", "change"], "f": ["death"], "u": ["death", "sexing"]}[sex]
        what = rng.choice(kinds)
        more = {"death": {}, "change": {"to": "f", "stage": "completed"}, "sexing": {"to": "m"}}[what]
        kind = {"change": "sex_change"}.get(what, what)
        told.tell(entry(kind, f"{first}/{last}" if first != last else str(first), animal=f"A{n}", **more))
        worlds.append([(d, what) for d in spread(first, last)])
    copy, names, asof = told.asked(on.isoformat())
    (row,) = succession(copy, names, asof).to_dicts()
    seen = {
        tuple(stand(sex, *choice, on) for sex, choice in zip(sexes, world, strict=True)) for world in product(*worlds)
    }
    ranges = bounds(row["mfu"], row["mfu_range"])
    for world in seen:
        for letter in "mfu":
            low, high = ranges[letter]
            assert low <= world.count(letter) <= high
        low, high = ranges["total"]
        assert low <= sum(s != "" for s in world) <= high
    for letter, figure in zip("mfu", row["mfu"].split("."), strict=True):
        assert ranges[letter][0] <= int(figure) <= ranges[letter][1]
        counts = [world.count(letter) for world in seen]
        assert ranges[letter] == (min(counts), max(counts))  # each event of its own: as narrow as can be


def stand(sex: str, true_day: date, what: str, on: date) -> str:
    """Sex at the close of `on`, empty if gone."""
    if true_day > on:
        return sex
    return {"death": "", "change": "f", "sexing": "m"}[what]


def bounds(mfu: str, words: str) -> dict[str, tuple[int, int]]:
    figures = dict(zip("mfu", map(int, mfu.split(".")), strict=True))
    out = {letter: (n, n) for letter, n in figures.items()} | {"total": (sum(figures.values()),) * 2}
    for part in words.split(", ") if words else []:
        name, _, span = part.partition(" ")
        if name in out:
            low, _, high = span.partition("–")
            out[name] = (int(low), int(high or low))
    return out


# --- order and size ------------------------------------------------------------------------------------------

NAMES = "abcde"


def order_of(groups: list[list[str]]) -> Order:
    return Order(Days(day(0), day(0)), tuple(map(tuple, groups)), (), "")


def sizes_of(values: dict[str, int]) -> dict[str, Size]:
    made = {s: Size(Days(day(0), day(0)), "length", float(v), f"{v} mm") for s, v in values.items()}
    return dict(sorted(made.items(), key=lambda item: -item[1].value))


@given(
    st.permutations(NAMES),
    st.lists(st.integers(0, 4), max_size=3),
    st.dictionaries(st.sampled_from(NAMES), st.integers(1, 9)),
    st.integers(0, 3),
)
@settings(max_examples=200, deadline=None)
def test_order_and_size_disagree_iff_a_pair_is_reversed_beyond_error(
    who: list[str], cuts: list[int], values: dict[str, int], error: int
) -> None:
    groups = [who[a:z] for a, z in zip([0, *sorted(cuts)], [*sorted(cuts), len(who)], strict=True) if a < z]
    place = {s: n for n, group in enumerate(groups) for s in group}
    pairs = [(a, b) for a in values for b in values if place[a] < place[b]]
    wrong = [pair for pair in pairs if values[pair[1]] > values[pair[0]] + error]
    assert agree(order_of(groups), sizes_of(values), error) == (None if not pairs else not wrong)


@given(st.dictionaries(st.sampled_from(NAMES), st.integers(1, 5), min_size=2))
def test_a_rank_by_size_counts_the_larger(values: dict[str, int]) -> None:
    sizes = sizes_of(values)
    for s, v in values.items():
        assert rank_by_size(sizes, s) == 1 + len([w for w in values.values() if w > v])
    assert rank_by_size(sizes, "z") is None


def test_a_rank_counts_all_above_and_equals_share_it() -> None:
    order = order_of([["a"], ["b", "c"], ["d"]])
    assert [order.rank(s) for s in "abcdz"] == [1, 2, 2, 4, None]
    assert order.n == 4


# --- who is presumed next ----------------------------------------------------------------------------------------


def unit(*animals: tuple[str, str], system: str = "female_first", sort: str = "harem") -> list[dict[str, Any]]:
    taxon = {"taxon": "Labroides dimidiatus", "rank": "species", "class": "Actinopterygii", "sexual_system": system}
    out = [
        entry("taxon", "2023-01-01", **taxon),
        entry("social_unit", "2023-06-01", unit="W", sort=sort, taxa=["Labroides dimidiatus"], enclosure="R2"),
    ]
    for number, sex in animals:
        known = {"sex": sex} if sex != "u" else {}
        out += [
            entry("opening", "2023-06-01", animal=number, taxon="Labroides dimidiatus", enclosure="R2", **known),
            entry("association", "2023-06-01", animal=number, relation="member", unit="W"),
        ]
    return out


def presumed(told: Told, on: str = "2023-12-31") -> tuple[str, str, str]:
    (row,) = succession(*told.asked(on)).to_dicts()
    return row["presumed_next"], row["presumed_by"], row["presumed_to_move_up"]


def measured(number: str, value: int) -> dict[str, Any]:
    return entry("measurement", "2023-08-01", animal=number, measure="length", value=str(value), unit="mm")


def test_the_order_rules_the_size_comes_next_and_a_sole_one_last() -> None:
    pack = unit(("M", "m"), ("F1", "f"), ("F2", "f"))
    gone = entry("death", "2023-10-01", animal="M")
    assert presumed(Told(*pack, gone)) == ("one of 2 females, none identified", "", "")
    sized = [measured("F1", 50), measured("F2", 60)]
    assert presumed(Told(*pack, *sized, gone)) == ("F2", "size of 2023-08-01, no order", "")
    ordered = entry("hierarchy", "2023-09-01", unit="W", order=["M", "F1", "F2"])
    assert presumed(Told(*pack, *sized, ordered, gone)) == ("F1", "order of 2023-09-01, before the leaving", "")
    later = entry("hierarchy", "2023-11-01", unit="W", order=["F2", "F1"])
    assert presumed(Told(*pack, ordered, gone, later)) == ("F2", "order of 2023-11-01", "")
    tied = entry("hierarchy", "2023-11-01", unit="W", order=[["F2", "F1"]])
    assert presumed(Told(*pack, gone, tied)) == ("F1 or F2", "order of 2023-11-01", "")
    assert presumed(Told(*unit(("M", "m"), ("F1", "f")), gone)) == ("F1", "the only female", "")


def test_several_open_places_go_to_the_highest_in_turn() -> None:
    pack = unit(("M1", "m"), ("M2", "m"), ("F1", "f"), ("F2", "f"), ("F3", "f"), sort="many_male_group")
    ordered = entry("hierarchy", "2023-09-01", unit="W", order=["F3", "F1", "F2"])
    told = Told(*pack, ordered, entry("death", "2023-10-01", animal="M1"), entry("death", "2023-10-02", animal="M2"))
    assert presumed(told)[0] == "F3, F1"


def test_without_a_functional_male_the_highest_immature_is_next_and_the_largest_of_the_others_moves_up() -> None:
    pack = unit(("F", "f"), ("Y1", "u"), ("Y2", "u"), ("Y3", "u"), system="male_first")
    ordered = entry("hierarchy", "2023-09-01", unit="W", order=["F", "Y1", "Y2", "Y3"])
    gone = entry("death", "2023-10-01", animal="F")
    told = Told(*pack, ordered, gone)
    assert presumed(told) == ("Y1", "order of 2023-09-01, before the leaving", "Y2")
    told = Told(*pack, ordered, measured("Y2", 30), measured("Y3", 40), gone)
    assert presumed(told)[2] == "Y3"


def test_nothing_presumed_moves_a_census_or_stands_where_somebody_leads() -> None:
    told = Told(*unit(("M", "m"), ("F1", "f")))
    assert presumed(told) == ("", "", "")
    copy, names, asof = told.asked("2023-12-31")
    before = copy.cells(asof)
    succession(copy, names, asof)
    assert copy.cells(asof).equals(before)
