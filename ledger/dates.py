"""Days of the book: what an `occurred` can mean, a day as it is typed, a day in words."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final, NamedTuple

from ledger.edtf import LAST_MONTH, DateRefused, Day, Edtf, End, Hemisphere, month_length, parse, refuse

__all__ = [
    "DateRefused",
    "Day",
    "Edtf",
    "End",
    "Hemisphere",
    "Resolved",
    "parse",
    "resolve",
    "spoken",
    "spoken_range",
    "typed_day",
]


class Resolved(NamedTuple):
    """The days of an `occurred`: `first` None means an open start, read as the book's floor."""

    edtf: str
    first: date | None
    last: date


def resolve(text: str, *, hemisphere: Hemisphere, floor: date, recorded_on: date) -> Resolved:
    """The first and last possible day of an `occurred`.

    `floor` is the first day the book keeps, `recorded_on` the civil date of the house when the event is
    recorded. The last day is narrowed to `recorded_on`; a first day before the floor becomes the floor; an
    open start stays open. Raises `DateRefused`: `bad-date` (not EDTF, a time of day, an open or unknown end,
    an unknown start), `after-recording`, `before-floor` (wholly outside).
    """
    value = parse(text, hemisphere=hemisphere)
    if value.timed:
        refuse(f"{text!r} has a time of day", f"Write the day alone: {text.partition('T')[0]}.")
    if isinstance(value.last, End):
        known = text.partition("/")[0]
        refuse(f"the end of {text!r} is {value.last.value}", f"Say the last day on which it can have been: {known}/….")
    if value.first is End.UNKNOWN:
        refuse(f"the start of {text!r} is unknown", f"If it can have been any day before, write ..{text}.")
    lowest, highest = Day(*floor.timetuple()[:3]), Day(*recorded_on.timetuple()[:3])
    first = None if isinstance(value.first, End) else value.first
    if first is not None and first > highest:
        raise DateRefused(
            "after-recording",
            f"{text!r} is after the day of recording",
            f"a day not after {spoken(recorded_on)}",
            "Record it once it has happened, or mend the date.",
        )
    if value.last < lowest:
        raise DateRefused(
            "before-floor",
            f"{text!r} is before the first day the book keeps",
            f"a day not before {spoken(floor)}",
            "What stood at the floor comes in as an opening.",
        )
    begin = None if first is None else date(*max(first, lowest))
    return Resolved(text, begin, date(*min(value.last, highest)))


_WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def typed_day(text: str, today: date) -> str:
    """`today`, `yesterday` and the English names of weekdays as an ISO day; any other text unchanged.

    A weekday is the last such day before today. On that weekday itself it would be a guess (today, or a week
    ago?), so it raises `DateRefused` with both days. `today` is the civil date of the house, given by the caller.
    Upper and lower case are the same.
    """
    word = text.strip().lower()
    if word in ("today", "yesterday"):
        return (today - timedelta(days=word == "yesterday")).isoformat()
    if word not in _WEEKDAYS:
        return text
    back = (today.weekday() - _WEEKDAYS.index(word)) % len(_WEEKDAYS)
    if not back:
        week_ago = (today - timedelta(days=len(_WEEKDAYS))).isoformat()
        refuse(f"today is {word.capitalize()}", f"Write today, or {week_ago} for a week ago.")
    return (today - timedelta(days=back)).isoformat()


_MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def spoken(day: date) -> str:
    """A day in words, `31 December 2025`, in English whatever the machine's locale."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def spoken_range(first: date | None, last: date) -> str:
    """Possible days in words, as months where they fill months (so a season is shown back as its months).

    `4 March 2025`, `1 to 10 March 2025`, `March 2025`, `December 2025 to February 2026`, `2025`, and
    `by 31 December 2004` where the start is open.
    """
    if first is None:
        return f"by {spoken(last)}"
    if first == last:
        return spoken(last)
    if (first.day, last.day) != (1, month_length(last.year, last.month)):
        shared = first.timetuple()[:2] == last.timetuple()[:2]
        return f"{first.day if shared else spoken(first)} to {spoken(last)}"
    if (first.month, last.month) == (1, LAST_MONTH):
        return str(last.year) if first.year == last.year else f"{first.year} to {last.year}"
    begin, end = _MONTHS[first.month - 1], f"{_MONTHS[last.month - 1]} {last.year}"
    if first.year != last.year:
        return f"{begin} {first.year} to {end}"
    return end if first.month == last.month else f"{begin} to {end}"
