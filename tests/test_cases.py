"""Every case under `tests/cases` comes out; and the runner itself fails where it must."""

from __future__ import annotations

import json

import pytest
import yaml
from case_files import CASES, WORLD, all_files, cases_of, read_yaml
from case_runner import Run, Wrong, run
from pydantic import ValidationError

from ledger.kinds import KINDS

ALL = [(path, case) for path in all_files() for case in cases_of(path.read_text(encoding="utf-8"))]


@pytest.mark.parametrize(("path", "case"), ALL, ids=[f"{p.stem}: {c.case}" for p, c in ALL])
def test_case(path, case):
    run(case)


def test_every_kind_has_two_cases_or_more():
    for name in KINDS:
        assert len(cases_of((CASES / "kinds" / f"{name}.yaml").read_text(encoding="utf-8"))) >= 2, name


def test_the_world_names_nobody_in_its_bytes():
    stored = json.dumps(list(Run().book.events()))
    assert '"clear"' not in stored
    assert "Ada Quill" not in stored and "Kit Perrow" not in stored
    assert "Ostrey Sea Centre" in stored  # a body, not a person


AN_ID = "019b7db8-7800-70f1-8e2d-3c4b5a697887"


def test_texts_inside_facts_stay_apart_and_a_repeat_is_known():
    told = Run()
    fact = {"fact": "egg_days", "low": 1, "high": 2, "unit": "d", "source": "a keeper's own words", "trust": "practice"}
    entry = {"kind": "taxon", "occurred": "2024-01-02", "event_id": AN_ID, "taxon": "Gobius niger", "rank": "species"}
    told.give(entry | {"facts": [fact], "label": "goby"})
    assert told.book.append(told.typed(entry | {"facts": [fact]}), by="ADA").already
    assert not told.book.append(told.typed(entry | {"facts": [fact | {"source": "others"}]}), by="ADA").landed
    told.give({"correct": {"event": "goby", "changes": {"common_name": "black goby"}, "reason": "mistake"}})
    assert "own words" not in json.dumps(list(told.book.events()))


def test_what_the_book_filled_in_does_not_make_a_repeat_another_event():
    told = Run()
    shoal = {"kind": "opening", "occurred": "2024-01-01", "lot": "MS-1", "taxon": "Chromis viridis", "enclosure": "T3"}
    told.give(shoal | {"how_many": 60})
    loan = {"kind": "transfer", "occurred": "2024-02-01", "event_id": AN_ID, "lot": "MS-1", "how_many": 5}
    loan |= {"from": "MS", "to": "OSC", "terms": "loan"}
    told.give(loan)
    assert told.book.append(told.typed(loan), by="ADA").already
    bought = loan | {"event_id": AN_ID[:-1] + "8", "from": "HQT", "to": "MS", "terms": "sale", "enclosure": "T3"}
    told.give(bought)
    assert told.book.append(told.typed(bought), by="ADA").already


# --- the runner itself ---------------------------------------------------------------------------------

GIVEN = """
- case: One seahorse is on hand when the book begins.
  given:
    - {kind: opening, occurred: 2024-01-01, animal: MS-1, taxon: Hippocampus kuda, sex: f, enclosure: T3, label: first}
  when:
    - {census: {on: 2024-01-01}, then: [{taxon: Hippocampus kuda, mfu: 0.1.0, total: 1}]}
    - {census: {on: 2023-12-31}, then: []}
    - {record: {kind: death, occurred: 2024-02-01, animal: MS-1}, then: {landed: true}}
    - {record: {kind: death, occurred: 2024-03-01, animal: MS-1}, then: {refused: [not-there]}}
    - {rollforward: {first: 2024-01-01, last: 2024-12-31}, then: [{sex: female, brought_forward: 1, died_older: 1}]}
"""


def failing(text):
    (case,) = cases_of(text)
    with pytest.raises(Wrong) as wrong:
        run(case)
    return str(wrong.value)


def test_the_right_case_runs():
    run(cases_of(GIVEN)[0])


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("mfu: 0.1.0", "mfu: 1.0.0"),  # the first expectation
        ("then: []}", "then: [{total: 1}]}"),  # the second
        ("2024-02-01, animal: MS-1}, then: {landed: true}", "2024-02-01, animal: MS-1}, then: {refused: [too-few]}"),
        ("refused: [not-there]", "landed: true"),
        ("refused: [not-there]", "refused: [too-few]"),
        ("refused: [not-there]", "refused: [not-there, too-few]"),
        ("refused: [not-there]", "refused: [not-there], says: never said"),
        ("brought_forward: 1, died_older: 1", "brought_forward: 1"),  # a figure not named is zero
        ("brought_forward: 1, died_older: 1", "brought_forward: 1, died_older: 1, closing: 1"),
        ("[{taxon: Hippocampus kuda, mfu: 0.1.0, total: 1}]", "[]"),  # a row nobody expected
        ("total: 1}", "totals: 1}"),  # no such column
        ("taxon: Hippocampus kuda, sex", "taxon: Hippocampus kudo, sex"),  # what is given must land
    ],
)
def test_a_wrong_expectation_fails(right, wrong):
    assert right in GIVEN
    assert failing(GIVEN.replace(right, wrong))


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("- case: One", "- colour: red\n  case: One"),
        ("census: {on: 2024-01-01}", "census: {on: 2024-01-01, at: noon}"),
        ("census: {on: 2024-01-01}", "census: {on: 2024-01-01}, rollforward: {first: a, last: b}"),
        ("then: {landed: true}", "then: {landed: true, refused: []}"),
        ("then: {landed: true}", "then: {landing: true}"),
        ("then: {landed: true}", "then: []"),
        (", then: []}", "}"),
    ],
)
def test_an_unknown_key_fails(right, wrong):
    assert right in GIVEN
    with pytest.raises(ValidationError):
        cases_of(GIVEN.replace(right, wrong, 1))


def test_a_field_no_kind_has_fails():
    assert "no field 'colour'" in failing(GIVEN.replace("sex: f,", "sex: f, colour: red,"))


def test_a_key_that_stands_twice_fails():
    with pytest.raises(yaml.constructor.ConstructorError, match="stands twice"):
        read_yaml("{a: 1, a: 2}")


def test_text_stays_text():
    assert read_yaml("[2024-01-05, 2024-03, 1.10, 0117, on, 12:30, 5, true, 0.1.0]") == [
        *("2024-01-05", "2024-03", "1.10", "0117", "on", "12:30"),
        *(5, True, "0.1.0"),
    ]


def test_the_world_is_read_strictly():
    assert WORLD.exists() and WORLD not in all_files()
