"""The diary: lines as stories tell them, put in the order in which they were typed, with numbers and times.

A *sheet* is the day whose sheet a line was typed from. Sheets are typed the same day or the next morning,
those of some weekends on Monday; a line that came late stands on the sheet of the day it turned up. So
recording runs on a schedule of its own and still never puts a subject's later day before its earlier one.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from demo_events.dice import Dice
from demo_events.roster import SINCE, TYPISTS
from demo_events.subjects import Subject, Words

LISBON = ZoneInfo("Europe/Lisbon")
FRIDAY, SATURDAY = 4, 5
SEASON_END = {21: (5, 31), 22: (8, 31), 23: (11, 30)}


def last_day(occurred: str) -> date:
    """The last possible day of an `occurred`: of the forms this house writes (northern seasons)."""
    text = occurred.rpartition("/")[2].rstrip("?~%")
    parts = [int(p) for p in text.split("-")]
    if len(parts) == 3:
        return date(*parts)
    if len(parts) == 1:
        return date(parts[0], 12, 31)
    year, part = parts
    if part == 24:
        return date(year + 1, 3, 1) - timedelta(days=1)
    if part in SEASON_END:
        return date(year, *SEASON_END[part])
    return date(year + part // 12, part % 12 + 1, 1) - timedelta(days=1)


@dataclass(eq=False)
class Line:
    """One line of the event files before it is typed. `marked`: a later line supersedes it, so it bears an id."""

    kind: str
    occurred: str
    payload: dict[str, Any]
    sheet: date
    house: str
    order: tuple[int, int]
    by: str = ""
    seen: tuple[str, ...] = ()
    source: dict[str, str] | None = None
    reason: dict[str, str] | None = None
    accept: dict[str, str] = field(default_factory=dict)
    batch: str = ""
    supersedes: Line | None = None
    marked: bool = False
    slip: bool = False  # the accession number was typed with its last two digits the wrong way round
    id: str = ""


@dataclass(eq=False)
class NewNumber:
    """Stands in a payload where the receiving member house gives a number of its own."""

    subject: Subject
    house: str


def sitting(sheet: date) -> datetime:
    """When the sheet of a day was typed (start of the sitting, local time)."""
    monday = sheet - timedelta(days=sheet.weekday())
    week = Dice(f"sitting/{monday}")
    weekend_waits = week.happens(0.5)
    minutes = week.between(0, 50)
    if sheet.weekday() >= SATURDAY and weekend_waits:
        return datetime.combine(monday + timedelta(days=7), time(8, 5), LISBON) + timedelta(minutes=minutes // 3)
    if sheet.weekday() < FRIDAY and Dice(f"sitting/{sheet}").happens(0.35):
        return datetime.combine(sheet + timedelta(days=1), time(8, 35), LISBON) + timedelta(minutes=minutes)
    return datetime.combine(sheet, time(16, 10), LISBON) + timedelta(minutes=minutes)


class Diary:
    """All lines; `typed()` puts them in order and gives times, recorders, accession numbers and ids."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self._given: Counter[tuple[str, int]] = Counter()

    def typed(self) -> list[dict[str, Any]]:
        """The lines as they are written, by time of recording."""
        out: list[dict[str, Any]] = []
        clock = datetime(2023, 1, 1, 9, 30, tzinfo=UTC)
        batch = ""
        dice = Dice("typing")
        for line in sorted(self.lines, key=lambda x: (sitting(x.sheet), x.sheet, x.order)):
            start = sitting(line.sheet)
            if not line.batch or line.batch != batch:
                clock = max(clock + timedelta(seconds=dice.between(25, 95)), start.astimezone(UTC))
            batch = line.batch
            out.append(self._type(line, clock, start))
        return out

    def _type(self, line: Line, clock: datetime, start: datetime) -> dict[str, Any]:
        if line.marked:
            line.id = _uuid7(clock, line)
        entry: dict[str, Any] = {"kind": line.kind, "occurred": line.occurred}
        entry["payload"] = self._fill(line.payload, line)
        if line.slip:
            number = entry["payload"]["animal"]
            entry["payload"]["animal"] = number[:-2] + number[-1] + number[-2]
        if line.marked:
            entry["event_id"] = line.id
        if line.supersedes:
            entry["supersedes"] = line.supersedes.id
        if line.reason:
            entry["reason"] = line.reason
        if line.seen:
            entry["observed_by"] = list(line.seen)
        if line.source:
            entry["source"] = line.source
        if line.batch:
            entry["batch"] = line.batch
        wrapped: dict[str, Any] = {"recorded": f"{clock:%Y-%m-%dT%H:%M:%S}Z"}
        wrapped["by"] = line.by or _typist(line.house, start)
        if line.accept:
            wrapped["accept"] = line.accept
        return wrapped | {"entry": entry}

    def _fill(self, value: Any, line: Line) -> Any:
        if isinstance(value, Subject):
            return self._give(value, value.house, line) if not value.numbers else value.number(line.house)
        if isinstance(value, NewNumber):
            return self._give(value.subject, value.house, line)
        if isinstance(value, Words):
            return value.say(line.house)
        if isinstance(value, Line):
            return value.id  # told and typed before, as a count is before the body that it had missed
        if isinstance(value, dict):
            return {k: self._fill(v, line) for k, v in value.items()}
        if isinstance(value, list | tuple):
            return [self._fill(v, line) for v in value]
        return value

    def _give(self, subject: Subject, house: str, line: Line) -> str:
        if house not in subject.numbers:
            year = last_day(line.occurred).year
            self._given[house, year] += 1
            subject.numbers[house] = f"{house}-{year}-{self._given[house, year]:04}"
        return subject.numbers[house]


def _typist(house: str, start: datetime) -> str:
    weekdays, weekends = TYPISTS[house]
    there = [(code, n) for code, n in (weekends if start.weekday() >= SATURDAY else weekdays) if _on_staff(code, start)]
    return Dice(f"typist/{house}/{start.date()}/{start.hour}").weighted(there)


def _on_staff(code: str, start: datetime) -> bool:
    return SINCE[code] <= start.date()


def _uuid7(clock: datetime, line: Line) -> str:
    """A UUIDv7: 48 bits of milliseconds of the recording, then seeded chance."""
    dice = Dice(f"id/{line.order}")
    value = int(clock.timestamp() * 1000) << 80 | 7 << 76 | dice.bits(12) << 64 | 2 << 62 | dice.bits(62)
    text = f"{value:032x}"
    return "-".join((text[:8], text[8:12], text[12:16], text[16:20], text[20:]))
