"""From what a person writes for *as known at* to a log position, which is always the end of a batch."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_AT = re.compile(r"@([0-9]{1,15})\Z")


class NotAPosition(ValueError):
    """What was given names no position. `found` what it was, `way_out` what to write instead."""

    def __init__(self, found: str, way_out: str) -> None:
        super().__init__(f"{found}. {way_out}")
        self.found, self.way_out = found, way_out


def position_of(known_at: str | int | date | datetime, ends: Iterable[tuple[int, int, str]], zone: str) -> int:
    """The log position meant by `known_at`.

    `@500` (in Python also the integer): that position; one inside a batch is refused with the batch's two ends
    named. An instant (`2026-01-31T17:20Z`): the last end at or before it. A date: the end of that day in time
    zone `zone`, an IANA name. `ends` are the batches in order: first position, last position, recorded (UTC).
    Position 0 stands before the first event: nothing was known.
    """
    batches = list(ends)
    if isinstance(known_at, str):
        known_at = _read(known_at)
    if isinstance(known_at, int):
        return _exact(known_at, batches)
    limit = _instant(known_at, zone).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    return max((last for _, last, recorded in batches if recorded <= limit), default=0)


def _read(text: str) -> int | date | datetime:
    text = text.strip()
    if at := _AT.match(text):
        return int(at[1])
    try:
        if len(text) == 10:
            return date.fromisoformat(text)
        return datetime.fromisoformat(text)
    except ValueError:
        raise NotAPosition(
            f"{text!r} is not a date, an instant or a log position",
            "Write 2026-01-31, 2026-01-31T17:20Z or @500.",
        ) from None


def _exact(position: int, batches: list[tuple[int, int, str]]) -> int:
    head = batches[-1][1] if batches else 0
    if position > head:
        raise NotAPosition(f"@{position} is beyond the log's last position, @{head}", f"Write @{head} or lower.")
    for first, last, _ in batches:
        if first <= position < last:
            raise NotAPosition(
                f"@{position} lies inside the batch of events #{first} to #{last}, which became known as one",
                f"Write @{first - 1} for before it, or @{last} for after it.",
            )
    return position


def _instant(known_at: date | datetime, zone: str) -> datetime:
    if isinstance(known_at, datetime):
        if known_at.tzinfo is None:
            raise NotAPosition(
                f"{known_at.isoformat()} does not say its time zone", "Write UTC with a Z: 2026-01-31T17:20Z."
            )
        return known_at
    end = datetime.combine(known_at + timedelta(days=1), time(), ZoneInfo(zone))
    return end.astimezone(UTC) - timedelta(microseconds=1)
