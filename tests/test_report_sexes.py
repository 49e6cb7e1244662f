"""Sex transitions against a plain walk on random histories at random days and positions, and rules one by one."""

from __future__ import annotations

import random
import re
from datetime import date, timedelta
from typing import Any

import polars as pl
import pytest
from case_files import cases_of
from case_runner import Wrong, run
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle_sexes import Walker, answers, day
from told_books import Told, entry, lot
from unit_books import LAST, TAXON, book_of, facts_of

from ledger.read import AsOf, Copy, Names
from reports.common import Basis, Period
from reports.rollforward import rollforward
from reports.sex_changes import STAGES
from reports.sex_findings import sex_findings
from reports.sex_page import finding, from_words, rows
from reports.sexes import EXPECTED, SCHEMA, fits, sexes
from reports.succession import succession

SEEDS = range(8)


def asked(copy: Copy, known: int, on: int) -> tuple[Copy, Names, AsOf]:
    asof = AsOf(day(on), known)
    return copy, Names(copy, asof), asof


def without_days(loss: str) -> str:
    return re.sub(r" (by )?\d{4}-.*", "", loss)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_change_is_what_the_walk_finds(seed: int) -> None:
    rng = random.Random(seed)
    facts = facts_of(rng)
    paper, positions = book_of(facts)
    copy = Copy(paper)
    for _ in range(3):
        known, on = rng.randint(10, len(facts)), rng.randint(5, LAST + 10)
        _, wanted = answers(facts, known, on)
        frame = sexes(*asked(copy, positions[known - 1], on))
        got = [row | {"loss": without_days(row["loss"])} for row in frame.to_dicts()]
        columns = list(wanted[0]) if wanted else []
        assert sorted(str([row[c] for c in columns]) for row in got) == sorted(
            str([row[c] for c in columns]) for row in wanted
        ), (known, on)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_was_known_is_not_moved_by_later_entries(seed: int) -> None:
    facts = facts_of(random.Random(seed))
    rng = random.Random(seed)
    known, on = rng.randint(20, len(facts) - 1), rng.randint(5, LAST)
    whole, positions = book_of(facts)
    short, _ = book_of(facts[:known])
    for report in (sexes, succession):
        later = report(*asked(Copy(whole), positions[known - 1], on))
        assert later.equals(report(*asked(Copy(short), positions[known - 1], on)))


@pytest.mark.parametrize("seed", SEEDS)
def test_intervals_are_in_order_and_stages_are_known(seed: int) -> None:
    facts = facts_of(random.Random(seed + 100))
    paper, positions = book_of(facts)
    frame = sexes(*asked(Copy(paper), positions[-1], LAST))
    assert dict(frame.schema) == dict(SCHEMA)
    assert set(frame["stage"]) <= set(STAGES)
    for name in ("loss_to_sign", "loss_to_completed", "sign_to_completed", "age_at_sign", "sign", "completed"):
        both = frame.drop_nulls([f"{name}_low", f"{name}_high"])
        assert (both[f"{name}_low"] <= both[f"{name}_high"]).all()
    assert (frame["sign_to_completed_low"].drop_nulls() >= 0).all()
    assert frame.filter(pl.col("stage") == "completed")["completed_low"].null_count() == 0
    assert frame.filter(pl.col("stage") != "completed")["completed_low"].drop_nulls().len() == 0


@pytest.mark.parametrize("seed", SEEDS)
def test_the_rollforward_by_sex_ties_out_through_any_number_of_changes(seed: int) -> None:
    rng = random.Random(seed + 200)
    facts = facts_of(rng, steps=60)
    paper, positions = book_of(facts)
    copy = Copy(paper)
    assert any(f.kind == "done" for f in facts)
    for _ in range(3):
        known, a = rng.randint(30, len(facts)), rng.randint(0, LAST - 1)
        z = rng.randint(a, LAST)
        names = Names(copy, AsOf(day(z), positions[known - 1]))
        table = rollforward(copy, names, Period(day(a), day(z)), positions[known - 1], Basis("held", "h-a"))
        assert table["adds_up"].all()
        assert (table.group_by("taxon").agg(pl.col("re_sexed").sum())["re_sexed"] == 0).all()
        walker = Walker(facts, known, z)
        for taxon, sex, closing in table.select("taxon", "sex", "closing").iter_rows():
            stands = [walker.at(who, z) for who, own in TAXON.items() if own == taxon and who in walker.taxon]
            assert closing == sum(counts.get(sex, 0) for place, counts in stands if place)


@pytest.mark.parametrize(
    ("system", "was", "to", "said"),
    [
        ("male_first", "male", "female", "expected"),
        ("male_first", "unknown", "female", "expected"),
        ("male_first", "female", "male", "against"),
        ("female_first", "female", "male", "expected"),
        ("female_first", "male", "female", "known exception"),
        ("some_born_male", "female", "male", "expected"),
        ("some_born_male", "male", "female", "known exception"),
        ("both_ways", "male", "female", "expected"),
        ("both_ways", "female", "male", "expected"),
        ("male_first_then_both", "male", "hermaphrodite", "expected"),
        ("male_first_then_both", "hermaphrodite", "female", "against"),
        ("both_at_once", "hermaphrodite", "male", "against"),
        ("gonochoristic", "male", "female", "against"),
        ("", "male", "female", "not known"),
    ],
)
def test_whether_a_change_fits_the_system(system: str, was: str, to: str, said: str) -> None:
    assert fits(system, was, to) == said


@given(st.sampled_from(sorted(EXPECTED)), st.sampled_from(["female", "male"]))
@settings(max_examples=30, deadline=None)
def test_a_hermaphrodite_never_changes_as_expected(system: str, to: str) -> None:
    assert fits(system, "hermaphrodite", to) == "against"


# --- books told at the door -------------------------------------------------------------------------------


def anthias(**more: Any) -> dict[str, Any]:
    return lot("A", "2.9.0", "2024-01-01", taxon="Pseudanthias squamipinnis", **more)


def change(number: str, occurred: str, stage: str, n: int = 1, **more: Any) -> dict[str, Any]:
    return entry("sex_change", occurred, lot=number, how_many={"f": n}, to="m", stage=stage, **more)


def test_signs_of_several_are_completed_in_parts_oldest_first() -> None:
    told = Told(
        anthias(),
        change("A", "2024-03-01", "first_sign", 3),
        change("A", "2024-03-05", "first_sign", 1),
        change("A", "2024-04-01", "completed", 2),
        change("A", "2024-04-11", "completed", 2),
        change("A", "2024-04-20", "given_up", 1),
    )
    got = sexes(*told.asked("2024-12-31")).select("n", "sign", "completed", "stage").rows()
    assert sorted(got) == [
        (1, "", "", "given up"),
        (1, "2024-03-01", "2024-04-11", "completed"),
        (1, "2024-03-05", "2024-04-11", "completed"),
        (2, "2024-03-01", "2024-04-01", "completed"),
    ]
    assert sorted(sexes(*told.asked("2024-04-05")).select("n", "stage").rows()) == [
        (1, "under way"),
        (1, "under way"),
        (2, "completed"),
    ]


def test_a_change_of_several_is_set_against_as_many_losses() -> None:
    told = Told(
        anthias(),
        entry("death", "2024-02-01", lot="A", how_many={"m": 1}),
        entry("death", "2024-02-05", lot="A", how_many={"m": 1}),
        change("A", "2024-03-01", "first_sign", 2),
    )
    (row,) = sexes(*told.asked("2024-03-31")).to_dicts()
    assert row["loss"] == "A, death 2024-02-01; A, death 2024-02-05"
    assert (row["loss_to_sign_low"], row["loss_to_sign_high"]) == (25, 29)
    assert (row["loss_low"], row["loss_on"], row["unit_range"]) == (date(2024, 2, 1), date(2024, 2, 5), "2 changing")


def test_a_death_and_a_change_of_one_day_are_two_flows() -> None:
    told = Told(
        anthias(),
        entry("death", "2024-02-01", lot="A", how_many={"m": 1}),
        change("A", "2024-02-01", "completed"),
    )
    (row,) = sexes(*told.asked("2024-03-31")).to_dicts()
    assert (row["loss"], row["loss_to_completed"], row["unit_mfu"]) == ("A, death 2024-02-01", "0", "2.8.0")


def test_the_first_brood_in_the_new_sex_is_one_begun_after_the_change() -> None:
    fish = {"taxon": "Amphiprion ocellaris", "enclosure": "R2"}
    told = Told(
        entry("opening", "2024-01-01", animal="C1", sex="m", **fish),
        entry("opening", "2024-01-01", animal="C2", sex="m", **fish),
        entry("brood", "2024-02-01", brood="B0", taxon="Amphiprion ocellaris", sire="C1", mode="nest"),
        entry("sex_change", "2024-03-01", animal="C1", to="f", stage="completed"),
        entry("brood", "2024-05-01", brood="B1", taxon="Amphiprion ocellaris", dam="C1", sire="C2", mode="nest"),
        entry("brood", "2024-06-01", brood="B2", taxon="Amphiprion ocellaris", dam="C1", sire="C2", mode="nest"),
    )
    (row,) = sexes(*told.asked("2024-12-31")).to_dicts()
    assert (row["first_brood"], row["first_brood_on"]) == ("B1", date(2024, 5, 1))
    (row,) = sexes(*told.asked("2024-04-30")).to_dicts()
    assert (row["first_brood"], row["first_brood_on"]) == ("", None)


def test_a_corrected_change_says_so_and_a_struck_out_one_is_gone() -> None:
    fish = {"taxon": "Amphiprion ocellaris", "enclosure": "R2"}
    told = Told(
        entry("opening", "2024-01-01", animal="C1", sex="m", **fish),
        entry("opening", "2024-01-01", animal="C2", sex="m", **fish),
        {**entry("sex_change", "2024-03-01", animal="C1", to="f", stage="completed"), "label": "one"},
        {**entry("sex_change", "2024-03-02", animal="C2", to="f", stage="completed"), "label": "two"},
        {"correct": {"event": "one", "changes": {}, "occurred": "2024-03-11", "reason": "mistake"}},
        {"strike_out": {"event": "two", "reason": "mistake"}},
    )
    (row,) = sexes(*told.asked("2024-12-31")).to_dicts()
    assert row["animal"] == "C1" and row["completed"] == "2024-03-11"
    assert row["restated"].startswith("re-classed on 2024-03-11, nothing before it moves; corrected by #")
    assert row["restated"].endswith("figures from 2024-03-01 replaced")
    before = told.seq("two")
    assert sexes(*told.asked("2024-12-31", before)).select("animal", "completed").rows() == [
        ("C1", "2024-03-01"),
        ("C2", "2024-03-02"),
    ]
    effects = sex_findings(*told.asked("2024-12-31")).select("animal", "effect", "figures_from").rows()
    assert effects == [("C1", "replaces", date(2024, 3, 1)), ("C2", "struck out", date(2024, 3, 2))]


def test_a_sexing_since_a_day_restates_from_that_day_only() -> None:
    told = Told(
        entry("opening", "2024-01-01", animal="S", taxon="Phoca vitulina", enclosure="T3"),
        entry("sexing", "2024-06-01", animal="S", to="f", holds_since="2024-03-01"),
    )
    (row,) = sex_findings(*told.asked("2024-12-31")).to_dicts()
    assert (row["effect"], row["figures_from"], row["figures_to"]) == ("restates", date(2024, 3, 1), date(2024, 6, 1))


# --- the picture -------------------------------------------------------------------------------------------


def test_the_picture_has_a_row_a_loss_and_its_words_say_the_figures() -> None:
    told = Told(
        anthias(),
        entry("death", "2024-02-01", lot="A", how_many={"m": 1}),
        change("A", "2024-02-11/2024-02-13", "first_sign"),
        change("A", "2024-03-01", "completed"),
        change("A", "2024-05-01", "completed"),
    )
    copy, names, asof = told.asked("2024-12-31")
    frame = sexes(copy, names, asof)
    lines, marks = rows(frame, succession(copy, names, asof), asof.on)
    assert lines.select("start", "stop").rows() == [(0, 29)]
    assert marks.select("low", "high", "what").rows() == [
        (0, 0, "loss, presumed"),
        (10, 12, "first sign"),
        (29, 29, "completed"),
    ]
    assert finding(frame) == (
        "1 sex change after a loss, 1 of the losses presumed. To the first sign 10 to 12 days (1 of them). "
        "To completion 29 days (1 of them). 1 more without a loss on record are in the table only."
    )
    page = from_words(copy, on="2024-12-31", house="MS", known_at=asof.known)
    assert "aria-label" in page.picture.html and "10 to 12 days" in page.picture.html
    assert "none on record" in page.transitions.html
    empty = from_words(copy, on="2023-12-31", house="MS", known_at=asof.known)
    assert "<svg" not in empty.picture.html


def test_a_change_under_way_is_drawn_to_the_day_asked_about() -> None:
    told = Told(
        anthias(), entry("death", "2024-02-01", lot="A", how_many={"m": 1}), change("A", "2024-02-11", "first_sign")
    )
    copy, names, asof = told.asked("2024-03-02")
    _, marks = rows(sexes(copy, names, asof), succession(copy, names, asof), asof.on)
    assert marks.rows()[-1] == ("A to male", 30, 30, "still under way")
    assert asof.on - timedelta(days=30) == date(2024, 2, 1)


def test_a_row_that_must_never_come_out_fails_its_case() -> None:
    text = """
    - case: An animal that is named as never coming out does come out.
      given:
        - {kind: opening, occurred: 2024-01-01, animal: C1, sex: m, taxon: Amphiprion ocellaris, enclosure: R2}
        - {kind: sex_change, occurred: 2024-03-01, animal: C1, to: f, stage: first_sign}
      when:
        - sexes: {on: 2024-12-31}
          then: [{animal: C1}]
          never: [{animal: C1, stage: %s}]
    """
    for case in cases_of(text % "completed"):
        run(case)
    for case in cases_of(text % "under way"):
        with pytest.raises(Wrong, match="must never come out"):
            run(case)
