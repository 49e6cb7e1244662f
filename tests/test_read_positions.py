"""From what a person writes for *as known at* to a log position."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from ledger.read import NotAPosition, position_of

ENDS = [
    (1, 4, "2025-01-01T10:00:00.000004Z"),
    (5, 5, "2025-03-29T23:59:59.999999Z"),
    (6, 9, "2025-03-30T22:59:59.999999Z"),
    (10, 10, "2025-03-30T23:00:00.000000Z"),
]


@pytest.mark.parametrize(
    ("known_at", "zone", "position"),
    [
        ("@10", "UTC", 10),
        (9, "UTC", 9),
        ("@0", "UTC", 0),
        ("2024-12-31", "UTC", 0),
        ("2025-01-01", "UTC", 4),
        (date(2025, 3, 29), "UTC", 5),
        ("2025-03-30", "UTC", 10),
        ("2025-03-30", "Europe/Lisbon", 9),  # summer time began that night: the day ends at 23:00 UTC
        ("2025-03-29", "America/New_York", 5),  # ends there at 04:00 UTC of the 30th
        ("2025-01-01T10:00Z", "UTC", 0),
        ("2025-01-01T10:01Z", "UTC", 4),
        (datetime(2025, 3, 30, 23, tzinfo=UTC), "UTC", 10),
    ],
)
def test_a_position(known_at: object, zone: str, position: int) -> None:
    assert position_of(known_at, ENDS, zone) == position  # type: ignore[arg-type]


@pytest.mark.parametrize("inside", ["@1", "@7", 8])
def test_inside_a_batch_is_refused_with_its_two_ends(inside: str | int) -> None:
    with pytest.raises(NotAPosition, match=r"inside the batch") as refusal:
        position_of(inside, ENDS, "UTC")
    ends = ("@0", "@4") if inside == "@1" else ("@5", "@9")
    assert all(end in refusal.value.way_out for end in ends)


@pytest.mark.parametrize("text", ["@11", "yesterday", "2025", "2025-13-01", "2025-01-01T10:00", "@-1", ""])
def test_what_names_no_position_is_refused(text: str) -> None:
    with pytest.raises(NotAPosition):
        position_of(text, ENDS, "UTC")


def test_nothing_is_known_in_an_empty_book() -> None:
    assert position_of("2025-01-01", [], "UTC") == 0
