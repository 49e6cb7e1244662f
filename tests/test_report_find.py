"""Find: every bearer of a mark, from when to when; held to a plain reading of every entry."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from oracle.scene import SPAN, START
from oracle_life import Walked
from test_conservation import random_book
from told_books import Told, animal, entry, lot

from ledger.read import AsOf, Copy, Names
from reports.find import FOUND, find, squeezed


def found(told: Told, text: str, on: str = "2025-01-01", known: int = 0) -> list[dict[str, Any]]:
    copy, names, asof = told.asked(on, known)
    frame = find(copy, names, asof, text)
    assert dict(frame.schema) == dict(FOUND)
    return frame.to_dicts()


def numbers_given(event: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """(id, number) of an entry that brings in or names an animal or lot by its number, read off its payload."""
    payload = event["payload"]
    if event["kind"] not in ("opening", "hatching", "birth", "acquisition", "transfer", "split", "draw"):
        return
    field = next((f for f in ("new", "animal", "lot") if payload.get(f)), None)
    if field:
        yield payload[field]["id"], payload[field]["as"].rpartition(":")[2]


@pytest.mark.parametrize("seed", range(4))
def test_every_number_ever_given_finds_its_bearer(seed: int) -> None:
    trial = random_book(5200 + seed, steps=20)
    copy, walked = Copy(trial.book.store), Walked(trial.book)
    rng = random.Random(seed)
    for known in (trial.ends[-1], rng.choice(trial.ends)):
        asof = AsOf(date.fromordinal(START + SPAN + 5), known)
        names = Names(copy, asof)
        given = {pair for e in walked.events if e["seq"] <= known for pair in numbers_given(e)}
        texts = {number for _, number in given}
        assert texts or known < trial.ends[-1]
        for text in texts:
            rows = find(copy, names, asof, text).filter(find(copy, names, asof, text)["sort"] == "accession number")
            whole = {(r["subject"], r["value"]) for r in rows.to_dicts() if r["value"] == text}
            assert whole == {pair for pair in given if pair[1] == text}
        assert find(copy, names, asof, "no such mark").height == 0


@pytest.mark.parametrize("seed", range(4))
def test_an_enclosure_finds_all_that_stood_there_and_their_stay(seed: int) -> None:
    trial = random_book(5300 + seed, steps=24)
    copy, walked = Copy(trial.book.store), Walked(trial.book)
    rng = random.Random(seed)
    hits = 0
    for on in sorted(rng.sample(range(START, START + SPAN), 3)):
        asof = AsOf(date.fromordinal(on), trial.ends[-1])
        names = Names(copy, asof)
        for place in names.of("enclosure"):
            rows = find(copy, names, asof, place.code).filter(
                find(copy, names, asof, place.code)["sort"] == "enclosure"
            )
            days = {s: walked.places(s, date.fromordinal(START + SPAN + 9), asof.known) for s in walked.subjects()}
            there = {s for s, closes in days.items() if closes.get(asof.on, {}).get(place.id, 0) > 0}
            assert set(rows["subject"]) == there
            for row in rows.to_dicts():
                stay = [d for d, stand in days[row["subject"]].items() if stand.get(place.id, 0) > 0]
                assert row["from"] in stay and all(
                    date.fromordinal(d) in stay for d in range(row["from"].toordinal(), on + 1)
                )
                assert date.fromordinal(row["from"].toordinal() - 1) not in stay
                assert row["until"] is None or row["until"] not in stay
                hits += 1
    assert hits


def test_a_mark_of_two_bearers_shows_both_with_their_days() -> None:
    told = Told(
        animal("MS-1"),
        animal("MS-2"),
        entry("marking", "2023-07-01", animal="MS-1", scheme="ring", value="A-1 2"),
        entry("unmarking", "2023-09-01", animal="MS-1", scheme="ring", value="A-1 2"),
        entry("marking", "2023-10-01", animal="MS-2", scheme="ring", value="A-1 2"),
    )
    rows = found(told, "a12")
    assert [(r["number"], r["from"], r["until"]) for r in rows] == [
        ("MS-1", date(2023, 7, 1), date(2023, 9, 1)),
        ("MS-2", date(2023, 10, 1), None),
    ]
    assert {r["taxon"] for r in rows} == {"Phoca vitulina"}
    assert found(told, "a1") == [] and found(told, "  ") == []
    assert len(found(told, "-12")) == 0


def test_a_mark_put_on_twice_is_taken_off_in_its_turn() -> None:
    told = Told(
        animal("MS-1"),
        entry("marking", "2023-07-01", animal="MS-1", scheme="tag", value="B77"),
        entry("unmarking", "2023-09-01", animal="MS-1", scheme="tag", value="B77"),
        entry("marking", "2023-10-01", animal="MS-1", scheme="tag", value="B77"),
    )
    assert [(r["from"].month, r["until"]) for r in found(told, "b77")] == [(7, date(2023, 9, 1)), (10, None)]


def test_what_is_struck_out_is_found_and_says_so_and_was_not_known_before() -> None:
    told = Told(animal("MS-1"), entry("marking", "2023-07-01", animal="MS-1", scheme="tag", value="B77", label="tag"))
    before = told.seq("tag")
    told.tell({"strike_out": {"event": "tag", "reason": "mistake", "recorded": "2023-08-01T09:00:00Z"}})
    (row,) = found(told, "b77")
    assert row["state"] == f"struck out by #{before + 1}"
    assert found(told, "b77", known=before)[0]["state"] == "stands"
    assert found(told, "b77", known=before - 1) == []


def test_an_animal_of_two_houses_is_found_by_both_numbers_and_by_that_of_a_party() -> None:
    told = Told(
        animal("MS-1"),
        entry("transfer", "2023-08-01", animal="MS-1", **{"from": "MS"}, to="VC", terms="sale", new_number="VC-9",
              enclosure="V1"),
        entry("transfer", "2023-09-01", animal="VC:VC-9", **{"from": "VC"}, to="OSC", terms="loan",
              number_there="O-551"),
        lot("MS-3", 4),
    )  # fmt: skip
    assert [(r["value"], r["about"], r["number"]) for r in found(told, "vc9")] == [
        ("VC-9", "Veldt Cove Aquarium", "MS-1")
    ]
    assert [(r["sort"], r["about"]) for r in found(told, "551")] == [("number elsewhere", "Ostrey Sea Centre")]


def test_spaces_hyphens_and_capitals_do_not_matter() -> None:
    assert squeezed("MS-2024 0117") == squeezed("ms.2024/0117") == "ms20240117"
    assert squeezed("É_1") == "é1"
