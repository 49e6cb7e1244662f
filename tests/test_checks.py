"""The checks as a whole: complete, apart from each other, undone with a refused batch, and asked of what stands."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
from case_files import CASES, cases_of
from case_runner import Run

from ledger.checks import CHECKS, modules
from ledger.checks.page import PAGE, page
from ledger.checks.standing import plausible
from ledger.findings import BY_NAME, CODES
from ledger.lookup import mark_key, skeletons

APART = {"__init__", "base", "page", "standing"}
FIRST_CODE = 80  # from here on codes are of checks; and one below, which needs the register
BELOW = {"not-open", "not-only-learnt", "nothing-changed"}


def test_every_check_is_complete():
    in_folder = {path.stem for path in Path(PAGE).parent.glob("*.py")} - APART
    assert in_folder == set(CHECKS)
    assert len(CHECKS) == len(set(CHECKS))
    for name in CHECKS:
        assert len(cases_of((CASES / "checks" / f"{name}.yaml").read_text(encoding="utf-8"))) >= 2, name


def test_every_code_is_of_one_check():
    given = [code for module in modules() for code in module.CODES]
    assert len(given) == len(set(given))
    assert set(given) == {code.name for code in CODES if code.number >= FIRST_CODE} | BELOW


def test_every_code_of_a_check_has_a_case():
    for name, module in zip(CHECKS, modules(), strict=True):
        cases = cases_of((CASES / "checks" / f"{name}.yaml").read_text(encoding="utf-8"))
        outcomes = [step.then for case in cases for step in case.when if not isinstance(step.then, list)]
        told = {code for then in outcomes for code in (then.refused or []) + (then.warned or [])}
        assert set(module.CODES) <= told, name
        assert any(then.landed for then in outcomes), f"{name} has no case of what it lets pass"


def test_the_page_is_fresh():
    assert PAGE.read_text(encoding="utf-8") == page(), "python -m ledger.checks.page"


# --- through the book -----------------------------------------------------------------------------------


def told(*given):
    run = Run()
    for one in given:
        run.give(one)
    return run


def opening(number, **more):
    base = {"kind": "opening", "occurred": "2024-01-01", "animal": number, "taxon": "Hippocampus kuda"}
    return base | {"sex": "m", "enclosure": "T3"} | more


RING = {"kind": "marking", "occurred": "2024-02-01", "animal": "MS-1", "scheme": "ring", "value": "L2"}


def tables(index):
    return copy.deepcopy((index.named, index.alike, index.names, index.made_by, index.of_subject))


def test_a_refused_batch_leaves_no_key_behind():
    run = told(opening("MS-1"), RING)
    before = tables(run.book.index)
    outcome = run.book.append(
        [
            run.typed(RING | {"value": "L3"}),
            run.typed(opening("MS-2")),
            run.typed({"kind": "death", "occurred": "2023-01-01", "animal": "MS-1"}),
        ],
        by="ADA",
    )
    assert not outcome.landed
    assert tables(run.book.index) == before


def test_what_was_accepted_is_not_asked_of_what_stands():
    birth = {"kind": "birth", "occurred": "2024-02-01", "animal": "MS-2", "taxon": "Hippocampus kuda"}
    run = told(opening("MS-1"), birth | {"enclosure": "T3", "dam": "MS-1"})
    assert plausible(run.book.index) == []


def test_what_nobody_accepted_is_asked_of_what_stands():
    """A sexing that came later makes a standing birth unlikely: its dam is found to be male since birth."""
    birth = {"kind": "birth", "occurred": "2024-02-01", "animal": "MS-2", "taxon": "Hippocampus kuda"}
    run = told(opening("MS-1", sex="u"), birth | {"enclosure": "T3", "dam": "MS-1"})
    sexing = {"kind": "sexing", "occurred": "2024-03-01", "animal": "MS-1", "to": "m", "holds_since": "birth"}
    run.give(sexing)
    found = plausible(run.book.index)
    assert [f.code for f in found] == ["parent-sex"]
    assert "the birth of MS-2" in found[0].where


def test_a_book_read_again_knows_what_was_accepted():
    from ledger.index import Index
    from ledger.replay import extend

    birth = {"kind": "birth", "occurred": "2024-02-01", "animal": "MS-2", "taxon": "Hippocampus kuda"}
    run = told(opening("MS-1"), birth | {"enclosure": "T3", "dam": "MS-1", "label": "birth"})
    again = Index()
    extend(again, run.book.store.events())
    root = run.labels["birth"]
    assert again.standing[root].accepted == run.book.index.standing[root].accepted == ("parent-sex",)
    assert plausible(again) == []
    assert (again.named, again.alike) == (run.book.index.named, run.book.index.alike)


def test_each_finding_says_the_way_out():
    run = told(opening("MS-1"))
    outcome = run.batch(RING | {"kind": "unmarking"}, {})
    (finding,) = outcome.findings
    assert finding.code == "mark-not-borne" and finding.code in BY_NAME
    assert finding.where == "entry 1 (unmarking of MS-1)" and finding.entry == 0
    assert finding.sentence().endswith("or enter the marking first.")


# --- keys -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ("MS-2024-0117", "MS-2O24-0117"),
        ("MS-2024-0117", "MS-2024-0I17"),
        ("MS-2024-0117", "MS-2024-01l7"),
        ("MS-2024-0117", "ms-2024-0117"),
        ("MS-2024-0117", "MS20240117"),
        ("MS-2024-0117", "MS-2024-117"),
        ("MS-2024-0117", "MS 2024 0117"),
        ("MS-2024-0117", "MS_2024/0117"),
    ],
)
def test_numbers_that_look_alike(a, b):
    assert set(skeletons(a)) & set(skeletons(b))


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ("MS-2024-0117", "MS-2024-0118"),
        ("MS-2024-0117", "MS-2024-1170"),
        ("MS-2024-0117", "SK-2024-0117"),
        ("MS-2024-0001", "MS-2024-0010"),
        ("MS-1", "MS-10"),
        ("L-001-b", "N-001-b"),
    ],
)
def test_numbers_that_do_not(a, b):
    assert not set(skeletons(a)) & set(skeletons(b))


def test_a_transponder_is_compared_by_its_digits():
    assert mark_key("transponder", "985 112-001234567") == mark_key("transponder", "985112001234567")
    assert mark_key("ring", "L  2") == mark_key("ring", "l 2") != mark_key("tag", "L 2")
