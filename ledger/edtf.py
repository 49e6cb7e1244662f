"""EDTF levels 0 and 1: what a date as people write it can mean, as a first and a last possible day.

Source of the grammar: Extended Date/Time Format, Library of Congress, 4 February 2019 (ISO 8601-2).
It gives no numeric bounds. Here the bounds of a value are the first and the last calendar day over all
its completions, in the proleptic Gregorian calendar; `? ~ %` do not move them.

Why a parser of our own: two kept libraries were tried against the table of 32 rows in `tests/test_dates.py`.
`edtf` 5.0.2 (MIT) reads winter as December alone (row 25) and makes ten years of an unknown end (rows 28
and 29); it has no hemisphere. `edtf-validate` 2.0.0 (BSD) says yes or no and gives no bounds.
"""

from __future__ import annotations

import calendar
import re
from enum import Enum
from typing import Final, Literal, NamedTuple, NoReturn

Hemisphere = Literal["north", "south"]


class End(Enum):
    """An end of a range that is no day: `open` (`..`, without limit) or `unknown` (left empty)."""

    OPEN = "open"
    UNKNOWN = "unknown"


class Day(NamedTuple):
    """A calendar day of any year, also of those outside Python's `date` (before 1, after 9999)."""

    year: int
    month: int
    day: int


Bound = Day | End


class Edtf(NamedTuple):
    """An EDTF value: its text, the lowest level it belongs to, its first and last possible day."""

    text: str
    level: int  # 0 or 1
    first: Bound
    last: Bound
    timed: bool = False  # carries a time of day


class DateRefused(ValueError):
    """A date that is not taken: `code` (of `findings.CODES`), what was `found`, `expected`, the `way_out`."""

    def __init__(self, code: str, found: str, expected: str, way_out: str) -> None:
        super().__init__(f"{found}; expected {expected}. {way_out}")
        self.code, self.found, self.expected, self.way_out = code, found, expected, way_out


EXPECTED: Final = "a date such as 2025-03-04, 2025-03, 2025, 2025-03-01/2025-03-04, 2019~ or 2021-23"
_LONGEST: Final = 60  # characters; far above any value of levels 0 and 1 that a keeper writes

# months of the four seasons 21 to 24: first, last; a last before a first is in the next year
_SEASONS: Final[dict[Hemisphere, tuple[tuple[int, int], ...]]] = {
    "north": ((3, 5), (6, 8), (9, 11), (12, 2)),
    "south": ((9, 11), (12, 2), (3, 5), (6, 8)),
}
LAST_MONTH: Final = 12
_SPRING: Final = 21
_WINTER: Final = 24

_DAY: Final = re.compile(r"(-?[0-9]{4})(?:-([0-9]{2}|XX)(?:-([0-9]{2}|XX))?)?")
_ROUND_YEAR: Final = re.compile(r"([0-9]{2})(?:XX|([0-9])X)")  # 20XX, 201X
_LONG_YEAR: Final = re.compile(r"Y(-?[1-9][0-9]{4,17})")
_TIME: Final = re.compile(
    r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:(?:[0-5][0-9]|60)(?:Z|[+-](?:[01][0-9]|2[0-3])(?::[0-5][0-9])?)?"
)
_LEVEL_2: Final = re.compile(
    r"[\[\]{}]|^[?~%]|[?~%]-|-[?~%]|[SE][0-9]|[0-9]X{3}|X[0-9]|X-|-(?:2[5-9]|3[0-9]|4[01])$|[0-9]X$"
)


def refuse(found: str, way_out: str = "") -> NoReturn:
    """Raise `DateRefused` with the code `bad-date`: what was `found`, and the `way_out` if there is a nearer one."""
    raise DateRefused("bad-date", found, EXPECTED, way_out or "Write the day, the month or the year that is known.")


def month_length(year: int, month: int) -> int:
    """Days of a month of the proleptic Gregorian calendar, in any year."""
    return 28 + calendar.isleap(year) if month == 2 else 30 + (month in (1, 3, 5, 7, 8, 10, 12))


def _years(first: int, last: int) -> tuple[Day, Day]:
    return Day(first, 1, 1), Day(last, 12, 31)


def _season(year: int, number: int, hemisphere: Hemisphere) -> tuple[Day, Day]:
    begin, end = _SEASONS[hemisphere][number - _SPRING]
    year_of_end = year + (end < begin)
    return Day(year, begin, 1), Day(year_of_end, end, month_length(year_of_end, end))


def _calendar_days(text: str, hemisphere: Hemisphere) -> tuple[int, Day, Day]:
    """Level and bounds of a value without qualifier: a year, a season, a month, a day, or `X` for digits."""
    if long := _LONG_YEAR.fullmatch(text):
        return 1, *_years(int(long[1]), int(long[1]))
    if rounded := _ROUND_YEAR.fullmatch(text):
        begin = int(rounded[1]) * 100 + int(rounded[2] or 0) * 10
        return 1, *_years(begin, begin + (9 if rounded[2] else 99))
    parts = _DAY.fullmatch(text)
    if parts is None or text.startswith("-0000"):  # there is one year 0, and it bears no sign
        refuse(f"{text!r} is not a date", _way_out(text))
    year, level = int(parts[1]), int("X" in text or text.startswith("-"))
    month, day = parts[2], parts[3]
    if month is None or (month == "XX" and day in (None, "XX")):
        return level, *_years(year, year)
    if month == "XX":
        refuse(f"{text!r} names a day without its month", _way_out(text))
    number = int(month)
    if _SPRING <= number <= _WINTER and day is None:
        return 1, *_season(year, number, hemisphere)
    if not 1 <= number <= LAST_MONTH:
        refuse(f"{text!r} has a month {month}", _way_out(text))
    length = month_length(year, number)
    if day is None or day == "XX":
        return level, Day(year, number, 1), Day(year, number, length)
    if not 1 <= int(day) <= length:
        refuse(f"{text!r} has a day {day} in a month of {length}")
    return level, Day(year, number, int(day)), Day(year, number, int(day))


def _way_out(text: str) -> str:
    """What to write instead, for the slips that are common."""
    if re.fullmatch(r"[0-9]{8}", text):
        return f"Write it with hyphens: {text[:4]}-{text[4:6]}-{text[6:]}."
    if slip := re.fullmatch(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})", text):
        return f"Months and days have two digits, and there are twelve months: {slip[1]}-MM-DD."
    if re.search(r"[?~%]{2}", text):
        return "Write % for both uncertain and approximate."
    if "u" in text:
        return "Write X for a digit that is not known: 199X."
    if _LEVEL_2.search(text):
        return "That is level 2 of the standard, or none; write the widest range of whole days: 2025-03-01/2025-03-20."
    return ""


def _one(text: str, hemisphere: Hemisphere) -> Edtf:
    """A value that is not a range; a qualifier stands at its end and applies to all of it."""
    body = text[:-1] if text[-1:] in ("?", "~", "%") else text
    level, first, last = _calendar_days(body, hemisphere)
    return Edtf(text, 1 if body != text else level, first, last)


def _range(text: str, hemisphere: Hemisphere) -> Edtf:
    start, slash, end = text.partition("/")
    ends: list[Edtf | End] = []
    for part in (start, end):
        if part in ("", ".."):
            ends.append(End.OPEN if part else End.UNKNOWN)
        elif "X" in part:  # unspecified digits inside a range are level 2 (its section on intervals, from memory)
            refuse(f"{text!r} has X in a range", "Leave the X parts out: 2004-06-XX/2004-07-03 is 2004-06/2004-07-03.")
        else:
            ends.append(_one(part, hemisphere))
    left, right = ends
    if isinstance(left, End) and isinstance(right, End):
        refuse(f"{text!r} names no day")
    first = left if isinstance(left, End) else left.first
    last = right if isinstance(right, End) else right.last
    if isinstance(first, Day) and isinstance(last, Day) and first > last:
        refuse(f"{text!r} ends before it begins", f"Write the earlier date first: {end}{slash}{start}.")
    return Edtf(text, max(1 if isinstance(e, End) else e.level for e in ends), first, last)


def parse(text: str, *, hemisphere: Hemisphere = "north") -> Edtf:
    """Read an EDTF value of level 0 or 1.

    `hemisphere` matters to seasons only (21 to 24 for spring to winter; the standard leaves their months
    open). North: Mar-May, Jun-Aug, Sep-Nov, Dec-Feb of the next year. South: Sep-Nov, Dec-Feb of the next
    year, Mar-May, Jun-Aug. Raises `DateRefused` (`bad-date`) for anything else, level 2 included.
    """
    if len(text) > _LONGEST:
        refuse(f"{text[:_LONGEST]!r}… is too long for a date")
    if re.fullmatch(r"[0-9]{1,2}/[0-9]{1,2}/[0-9]{2,4}", text):
        refuse(f"{text!r} is not a date", "Write year, month and day, in this order and with hyphens.")
    if "/" in text:
        return _range(text, hemisphere)
    day, mark, time = text.partition("T")
    if not mark:
        return _one(text, hemisphere)
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", day) or not _TIME.fullmatch(time):
        refuse(f"{text!r} is not a day with a time", "Write the day alone.")
    return _one(day, hemisphere)._replace(text=text, timed=True)
