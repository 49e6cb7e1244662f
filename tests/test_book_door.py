"""The one door in: atomic batches, repeats, conflicts, dry runs, two writers, a load that goes on after a crash."""

from __future__ import annotations

import multiprocessing
from pathlib import Path
from typing import Any

import pytest

import ledger
from ledger.book import Book
from ledger.chance import SeededChance
from ledger.store.errors import ReadOnly

PERSON = {"person": "ADA", "name": "Ada Quill", "role": "registrar"}
HOUSE = {"house": "MS", "name": "Marrow Sound Aquarium", "time_zone": "Europe/Lisbon", "hemisphere": "north"}
LATE = {"late": "typed for a test"}
WORLD: list[tuple[str, str, dict[str, Any]]] = [
    ("enclosure", "2025-01-01", {"enclosure": "T3", "name": "Tank 3", "house": "MS", "purpose": "exhibit"}),
    ("enclosure", "2025-01-01", {"enclosure": "T4", "name": "Tank 4", "house": "MS", "purpose": "exhibit"}),
    ("taxon", "2025-01-01", {"taxon": "Hippocampus kuda", "rank": "species", "class": "Actinopterygii"}),
    ("hatching", "2025-02-01", {"animal": "MS-1", "taxon": "Hippocampus kuda", "enclosure": "T3"}),
]


def entry(kind: str, occurred: str, payload: dict[str, Any], **more: Any) -> dict[str, Any]:
    """One entry as people write it."""
    return {"kind": kind, "occurred": occurred, "payload": payload, **more}


def made(place: str = ":memory:") -> Book:
    """A small book at `place`."""
    book = ledger.new_book(
        place, person=PERSON, house=HOUSE, chance=SeededChance(7, at="2025-06-01T08:00:00Z"), occurred="2025-01-01"
    )
    assert book.append([entry(*e) for e in WORLD], by="ADA", accept=LATE).landed
    return book


def where(book: Book, number: str) -> list[str]:
    """Codes of the places where a subject stands now."""
    (subject,) = book.index.find(("animal", "lot"), number)
    return [book.index.name(c.place) for c in book.index.tale(subject).state.cells]


def test_a_batch_lands_whole_or_not_at_all() -> None:
    book = made()
    before = book.head
    good = entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4"})
    bad = entry("move", "2025-03-02", {"animal": "MS-9", "to": "T3"})
    outcome = book.append([good, bad], by="ADA", accept=LATE)
    assert not outcome.landed
    assert [f.code for f in outcome.refusals] == ["unknown-name"]
    assert outcome.refusals[0].entry == 1
    assert book.head == before
    assert where(book, "MS-1") == ["T3"]


def test_a_dry_run_says_what_would_move_and_writes_nothing() -> None:
    book = made()
    before = book.head
    outcome = book.append(entry("death", "2025-03-01", {"animal": "MS-1"}), by="ADA", accept=LATE, dry_run=True)
    assert outcome.landed
    assert [p.line.delta for p in outcome.postings] == [-1, 1] or [p.line.delta for p in outcome.postings] == [1, -1]
    assert book.head == before
    assert where(book, "MS-1") == ["T3"]


def test_the_same_id_and_content_is_recorded_once() -> None:
    book = made()
    event_id = "0194b2a0-0000-7000-8000-000000000001"
    move = entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4", "note": "for the light"}, event_id=event_id)
    first = book.append(move, by="ADA", accept=LATE)
    again = book.append(move, by="ADA", accept=LATE)
    assert first.landed
    assert again.landed
    assert again.events == ()
    assert again.already == (first.position,)
    other = {**move, "payload": {**move["payload"], "note": "for the shade"}}
    assert [f.code for f in book.append(other, by="ADA", accept=LATE).refusals] == ["id-with-other-content"]


def test_a_typo_mended_in_a_note_leaves_the_animal_where_the_second_move_put_it() -> None:
    book = made()
    first = book.append(
        entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4", "note": "lihgt"}), by="ADA", accept=LATE
    )
    book.append(entry("move", "2025-03-01", {"animal": "MS-1", "to": "T3"}), by="ADA", accept=LATE)
    mended = book.correct(first.position, {"note": "light"}, reason="slip", by="ADA", accept=LATE)
    assert mended.landed, mended.findings
    assert mended.postings == ()
    assert where(book, "MS-1") == ["T3"]


def test_only_the_newest_of_a_line_can_be_superseded_and_a_void_is_final() -> None:
    book = made()
    first = book.append(entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4"}), by="ADA", accept=LATE)
    second = book.correct(first.position, {"to": "T3"}, occurred="2025-03-02", reason="mistake", by="ADA", accept=LATE)
    assert second.landed, second.findings
    taken = book.correct(first.position, {"to": "T4"}, reason="mistake", by="ADA", accept=LATE)
    assert [(f.code, f.event) for f in taken.refusals] == [("not-the-newest", second.position)]
    struck = book.strike_out(second.position, reason="mistake", by="ADA", accept=LATE)
    assert struck.landed, struck.findings
    assert [
        f.code for f in book.correct(second.position, {"to": "T4"}, reason="mistake", by="ADA", accept=LATE).refusals
    ] == ["struck-out"]
    assert [f.code for f in book.strike_out(struck.position, reason="mistake", by="ADA", accept=LATE).refusals] == [
        "struck-out"
    ]


def test_a_correction_may_type_the_number_anew_and_it_is_the_same_animal() -> None:
    book = made()
    (subject,) = book.index.find(("animal",), "MS-1")
    hatching = book.index.made_by[subject]
    outcome = book.correct(hatching, {"animal": "MS-0001"}, reason="slip", by="ADA", accept=LATE)
    assert outcome.landed, outcome.findings
    assert outcome.postings == ()
    assert book.index.find(("animal",), "MS-0001") == [subject]
    assert book.index.find(("animal",), "MS-1") == []
    assert book.append(entry("move", "2025-03-01", {"animal": "MS-0001", "to": "T4"}), by="ADA", accept=LATE).landed


def test_a_book_opened_for_reading_is_not_written(tmp_path: Path) -> None:
    place = str(tmp_path / "tidemark.sqlite")
    made(place).close()
    reader = ledger.open_book(place)
    with pytest.raises(ReadOnly):
        reader.append(entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4"}), by="ADA", accept=LATE)
    assert reader.verify().whole


def test_a_load_that_broke_off_goes_on_where_it_stopped(tmp_path: Path) -> None:
    place = str(tmp_path / "tidemark.sqlite")
    book = made(place)
    rows = [
        (
            entry("hatching", "2025-02-01", {"animal": f"MS-{n}", "taxon": "Hippocampus kuda", "enclosure": "T3"}),
            f"{n:064x}",
        )
        for n in range(10, 40)
    ]
    batches = [rows[n : n + 10] for n in range(0, len(rows), 10)]
    assert [len(b) for b in batches] == [10, 10, 10]
    landed = 0

    def crash(count: int) -> None:
        nonlocal landed
        landed += count
        if landed == 20:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        book.load(batches, by="ADA", accept=LATE, progress=crash)
    book.close()
    again = ledger.open_book(place, write=True)
    outcomes = again.load(batches, by="ADA", accept=LATE)
    assert [len(o.already) for o in outcomes] == [10, 10, 0]
    assert sum(len(o.events) for o in outcomes) == 10
    assert len(list(again.index.of_sort("animal"))) == 31
    assert again.verify().whole


def test_a_refusal_anywhere_keeps_the_whole_file_out() -> None:
    book = made()
    before = book.head
    good = [(entry("move", "2025-03-01", {"animal": "MS-1", "to": "T4"}), None)]
    bad = [(entry("death", "2025-02-30", {"animal": "MS-1"}), None)]
    outcomes = book.load([good, bad], by="ADA", accept=LATE)
    assert [o.landed for o in outcomes] == [True, False]
    assert book.head == before
    assert where(book, "MS-1") == ["T3"]


def _hatch(place: str, who: int, count: int, together: Any) -> None:
    book = ledger.open_book(place, write=True)
    for n in range(count):
        together.wait(60)  # both stand at the door at once, every time
        payload = {"animal": f"W{who}-{n}", "taxon": "Hippocampus kuda", "enclosure": "T3"}
        assert book.append(entry("hatching", "2025-02-01", payload), by="ADA", accept=LATE).landed


def test_two_processes_append_at_once_without_fork_or_gap(tmp_path: Path) -> None:
    place = str(tmp_path / "tidemark.sqlite")
    made(place).close()
    context = multiprocessing.get_context("spawn")
    together = context.Barrier(2)
    writers = [context.Process(target=_hatch, args=(place, who, 20, together)) for who in (1, 2)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(120)
        assert writer.exitcode == 0
    book = ledger.open_book(place)
    animals = [t.code for t in book.index.of_sort("animal")]
    assert len(animals) == 41
    assert [e["seq"] for e in book.events()] == list(range(1, book.head[0] + 1))
    assert book.verify().whole
    order = [a[:2] for a in animals if a.startswith("W")]
    assert order != sorted(order), "the two did not write at the same time: this run shows nothing"
