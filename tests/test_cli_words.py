"""What people type: days by name, `field=value`, numbers in a row."""

from __future__ import annotations

from datetime import date

import pytest

from reports import cli_words as words

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("typed", "iso"),
    [
        ("today", "2026-11-25"),
        (" Yesterday ", "2026-11-24"),
        ("tuesday", "2026-11-24"),
        ("Monday", "2026-11-23"),
        ("thursday", "2026-11-19"),
        ("2026-11", "2026-11"),
        ("2026-11-01/2026-11-04", "2026-11-01/2026-11-04"),
        ("t", "t"),
        ("someday", "someday"),
    ],
)
def test_days(typed: str, iso: str) -> None:
    assert words.day(typed, WEDNESDAY) == iso


def test_a_weekday_that_is_today_is_not_guessed() -> None:
    with pytest.raises(words.Mistyped, match="Write today, or 2026-11-18"):
        words.day("wednesday", WEDNESDAY)


def test_the_weekday_is_shown_with_the_day() -> None:
    assert words.spoken("2026-11-23") == "2026-11-23 (Monday)"
    assert words.spoken("2026-11") == "2026-11"


def test_pairs() -> None:
    typed = ["animal=MS-1", "how_many.m=2", "how_many.f=1", "permits=A", "note=a=b", 'facts=[{"fact":"x"}]']
    assert words.pairs(typed, frozenset({"permits"})) == {
        "animal": "MS-1",
        "how_many": {"m": 2, "f": 1},
        "permits": ["A"],
        "note": "a=b",
        "facts": [{"fact": "x"}],
    }
    assert words.pairs(["permits=A", "permits=B"]) == {"permits": ["A", "B"]}


@pytest.mark.parametrize("typed", [["animal"], ["=x"], ["a="], ["A b=1"], ["a=[1"], ["a=1", "a.b=2"], ["a.b=2", "a=1"]])
def test_pairs_that_cannot_be_read(typed: list[str]) -> None:
    with pytest.raises(words.Mistyped):
        words.pairs(typed)


def test_an_entry_has_its_envelope_beside_the_payload() -> None:
    fields = words.pairs(["occurred=yesterday", "observed_by=JD", "source=day_sheet: page 2", "born=today", "animal=A"])
    assert words.entry("death", fields, WEDNESDAY) == {
        "kind": "death",
        "occurred": "2026-11-24",
        "observed_by": ["JD"],
        "source": {"kind": "day_sheet", "ref": "page 2"},
        "payload": {"born": "2026-11-25", "animal": "A"},
    }


def test_numbers_in_a_row_keep_their_width_and_what_follows_them() -> None:
    assert words.in_a_row("MS-2026-0099", 2) == ["MS-2026-0099", "MS-2026-0100"]
    assert words.in_a_row("9/b", 2) == ["9/b", "10/b"]
    with pytest.raises(words.Mistyped):
        words.in_a_row("Nemora", 2)


def test_several_animals_with_their_sexes_dealt_out() -> None:
    one = {"kind": "acquisition", "occurred": "2026-11-25", "payload": {"animal": "A-08", "sex": "1.0.2"}}
    made = [entry["payload"] for entry in words.several(one, 3)]
    assert made == [
        {"animal": "A-08", "sex": "m"},
        {"animal": "A-09", "sex": "u"},
        {"animal": "A-10", "sex": "u"},
    ]


@pytest.mark.parametrize(
    ("payload", "count"),
    [
        ({"animal": "A-1", "sex": "1.1.1"}, 2),
        ({"animal": "A-1", "name": "Pell"}, 2),
        ({"lot": "A-1"}, 2),
        ({"animal": "A-1"}, 0),
        ({"animal": "A-1"}, 1000),
    ],
)
def test_several_that_cannot_be(payload: dict[str, str], count: int) -> None:
    with pytest.raises(words.Mistyped):
        words.several({"kind": "hatching", "payload": payload}, count)


def test_the_next_number_of_a_house() -> None:
    taken = ["MS-2026-0007", "MS-2026-0012", "MS-2025-0100", "MS-2026-7x", "DX-2026-0900"]
    assert words.next_number("MS-{year}-{n:04}", 2026, taken) == "MS-2026-0013"
    assert words.next_number("MS-{year}-{n:04}", 2027, taken) == "MS-2027-0001"
    assert words.next_number("{n}", 2027, ["9", "x"]) == "10"
    assert words.next_number("no place for it", 2027, []) == ""


def test_events_are_named_by_position_or_id() -> None:
    assert words.event_ref("#812") == words.event_ref("812") == 812
    assert words.event_ref("019CBD46-8B78-75D0-8A1B-9C8E7F60D1E2") == "019cbd46-8b78-75d0-8a1b-9c8e7f60d1e2"
    with pytest.raises(words.Mistyped):
        words.event_ref("the last one")


@pytest.mark.parametrize("typed", ["5", "0", "2.3.1", "2.3.1+4h", "2.3.1 + 4 h", " 30 "])
def test_numbers_of_animals(typed: str) -> None:
    assert words.pairs([f"how_many={typed}"]) == {"how_many": typed.strip()}


@pytest.mark.parametrize("typed", ["5?", "2.3", "1.2.3.4", "five", "-3", "2.3.1+h"])
def test_what_is_no_number_of_animals_names_the_forms(typed: str) -> None:
    with pytest.raises(words.Mistyped, match=r"2\.3\.1\+4h"):
        words.pairs([f"how_many={typed}"])
