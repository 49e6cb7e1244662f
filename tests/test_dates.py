"""EDTF against the published table, the bounds of `occurred`, and days as people type and say them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.dates import DateRefused, Day, End, parse, resolve, spoken, spoken_range, typed_day

# The rows of the project's table, after the grammar of the Library of Congress (4 February 2019), read in
# full. T: the same bounds are asserted in the test file of a general EDTF library (ixc/python-edtf,
# edtf/parser/tests.py at 603859e), read there. The others are worked out by the rule of `ledger.edtf`.
TABLE = """
 1  1985-04-12              0  1985-04-12   1985-04-12
 2  1985-04                 0  1985-04-01   1985-04-30
 3  1985                    0  1985-01-01   1985-12-31
 4  2008-12                 0  2008-12-01   2008-12-31   T
 5  2001-02-03T09:30:01     0  2001-02-03   2001-02-03   T
 6  1964/2008               0  1964-01-01   2008-12-31   T
 7  2004-06/2006-08         0  2004-06-01   2006-08-31   T
 8  2004-02-01/2005-02-08   0  2004-02-01   2005-02-08   T
 9  2004-02-01/2005-02      0  2004-02-01   2005-02-28   T
10  2004-02-01/2005         0  2004-02-01   2005-12-31   T
11  2005/2006-02            0  2005-01-01   2006-02-28   T
12  1984?                   1  1984-01-01   1984-12-31   T
13  2004-06~                1  2004-06-01   2004-06-30
14  2004-06-11%             1  2004-06-11   2004-06-11   T
15  201X                    1  2010-01-01   2019-12-31   a decade
16  20XX                    1  2000-01-01   2099-12-31   a century
17  2004-XX                 1  2004-01-01   2004-12-31
18  1999-01-XX              1  1999-01-01   1999-01-31   T
19  1985-XX-XX              1  1985-01-01   1985-12-31
20  2004-02-XX              1  2004-02-01   2004-02-29   a leap year
21  1900-02-XX              1  1900-02-01   1900-02-28   not one
22  2001-21                 1  2001-03-01   2001-05-31   T, north
23  2003-22                 1  2003-06-01   2003-08-31   T, north
24  2000-23                 1  2000-09-01   2000-11-30   T, north
25  2010-24                 1  2010-12-01   2011-02-28   the wide reading of winter: design, section 4
26  1985-04-12/..           1  1985-04-12   open
27  ../1985                 1  open         1985-12-31
28  1985/                   1  1985-01-01   unknown
29  /1985-04                1  unknown      1985-04-30
30  1984~/2004-06           1  1984-01-01   2004-06-30   T
31  -0999                   1  -0999-01-01  -0999-12-31  T, outside Python's date
32  0000                    0  0000-01-01   0000-12-31   T, outside Python's date
"""
ROWS = [line.split(maxsplit=5)[1:5] for line in TABLE.strip().splitlines()]


def bound(text: str) -> Day | End:
    if text in ("open", "unknown"):
        return End(text)
    year, month, day = text[:-6], text[-5:-3], text[-2:]
    return Day(int(year), int(month), int(day))


def test_the_table_is_whole() -> None:
    assert len(ROWS) == 32


@pytest.mark.parametrize(("text", "level", "first", "last"), ROWS, ids=[row[0] for row in ROWS])
def test_a_row_of_the_table(text: str, level: str, first: str, last: str) -> None:
    value = parse(text)
    assert (value.text, value.level, value.first, value.last) == (text, int(level), bound(first), bound(last))
    assert value.timed is ("T" in text)


# The first four: read in an older test list of the same library; the next five by the standard's text.
REJECTS = ["", "2016-13-08", "2016-02-39", "-0000-01-01", "19850412", "1985-4-1", "199u", "1984?~", "2004-02-30"]
LEVEL_2 = ["2004-06~-11", "?2004-06-~11", "1984-1X", "156X-12-25", "1XXX", "1950S2", "Y-17E7", "[1984,1985]"]
LEVEL_2 += ["{1984,1985}", "2001-25", "2001-41", "1985-XX-12", "2004-06-XX/2004-07-03"]
OTHERS = ["-0000", "2004-00", "2004-00-01", "2004-01-00", "2004-01-32", "2023-02-29", "1900-02-29", "84", "-12"]
OTHERS += ["2001-21-01", "2001-20", "2001-42", "/", "..", "../..", "../", "/..", "1985/1984", "1984/1985/1986"]
OTHERS += [
    "P1Y/1985",
    "2004-01-01T10:00:00/2005",
    "2004-01-01T24:00:00",
    "2004-01-01T10:00",
    "2004-01T10:00:00",
    "2004-01-01T10:00:61",
]
OTHERS += ["2004-01-01T", "T10:00:00", " 1985", "1985 ", "1985\n", "Y1985", "Y01985", "12345"]
OTHERS += [
    "２００４",
    "٢٠٠٤",
    "X" * 999,
    "last spring",
    "2004-1-01",
    "2004/06/11",
    "20XX-05",
    "X01X",
    "2X1X",
    "Y" + "9" * 30,
    "2025-03-04\x00",
]


@pytest.mark.parametrize("text", REJECTS + LEVEL_2 + OTHERS)
def test_what_is_no_date_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(DateRefused) as refused:
        parse(text)
    assert refused.value.code == "bad-date"
    assert 0 < len(refused.value.found) < 120
    assert refused.value.expected
    assert refused.value.way_out.endswith((".", ":"))


@pytest.mark.parametrize("text", LEVEL_2)
def test_level_two_is_named(text: str) -> None:
    with pytest.raises(DateRefused, match=r"level 2|X parts|X in a range"):
        parse(text)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("Y170000002", Day(170000002, 1, 1), Day(170000002, 12, 31)),
        ("Y-170000002", Day(-170000002, 1, 1), Day(-170000002, 12, 31)),
        ("-1985", Day(-1985, 1, 1), Day(-1985, 12, 31)),
        ("-0004-02", Day(-4, 2, 1), Day(-4, 2, 29)),
        ("201X?", Day(2010, 1, 1), Day(2019, 12, 31)),
        ("2024-24/2025-21", Day(2024, 12, 1), Day(2025, 5, 31)),
        ("2003-24", Day(2003, 12, 1), Day(2004, 2, 29)),
        ("9999-24", Day(9999, 12, 1), Day(10000, 2, 29)),
    ],
)
def test_further_values_of_level_one(text: str, first: Day, last: Day) -> None:
    assert parse(text)[1:4] == (1, first, last)


@pytest.mark.parametrize("zone", ["", "Z", "+05", "-04:30"])
def test_a_time_of_day_is_read_and_not_taken(zone: str) -> None:
    text = f"2001-02-03T09:30:01{zone}"
    assert parse(text).level == 0
    with pytest.raises(DateRefused, match="time of day") as refused:
        resolve(text, hemisphere="north", floor=FLOOR, recorded_on=TODAY)
    assert refused.value.way_out == "Write the day alone: 2001-02-03."


FLOOR, TODAY = date(1990, 1, 1), date(2025, 3, 10)


def days(text: str, hemisphere: str = "north", floor: date = FLOOR, on: date = TODAY) -> tuple[str | None, str]:
    found = resolve(text, hemisphere="south" if hemisphere == "south" else "north", floor=floor, recorded_on=on)
    assert found.edtf == text
    return found.first and found.first.isoformat(), found.last.isoformat()


@pytest.mark.parametrize(
    ("text", "hemisphere", "first", "last"),
    [
        ("2023-21", "north", "2023-03-01", "2023-05-31"),
        ("2023-22", "north", "2023-06-01", "2023-08-31"),
        ("2023-23", "north", "2023-09-01", "2023-11-30"),
        ("2023-24", "north", "2023-12-01", "2024-02-29"),
        ("2023-21", "south", "2023-09-01", "2023-11-30"),
        ("2023-22", "south", "2023-12-01", "2024-02-29"),
        ("2023-23", "south", "2023-03-01", "2023-05-31"),
        ("2023-24", "south", "2023-06-01", "2023-08-31"),
    ],
)
def test_seasons_by_hemisphere(text: str, hemisphere: str, first: str, last: str) -> None:
    assert days(text, hemisphere) == (first, last)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2025-03-04", "2025-03-04", "2025-03-04"),
        ("2025-03", "2025-03-01", "2025-03-10"),  # recorded on the 10th: nothing occurs after it was recorded
        ("2025", "2025-01-01", "2025-03-10"),
        ("2024-24", "2024-12-01", "2025-02-28"),
        ("2025-03-10", "2025-03-10", "2025-03-10"),
        ("2025-03-01/2030", "2025-03-01", "2025-03-10"),
        ("../2004-12-31", None, "2004-12-31"),
        ("../2030", None, "2025-03-10"),
        ("198X/1990-06-15", "", ""),
        ("1989-06/1990-06-15", "1990-01-01", "1990-06-15"),  # straddles the floor: clipped
        ("-0500/2000", "1990-01-01", "2000-12-31"),
        ("1990-01-01", "1990-01-01", "1990-01-01"),
        ("2019~", "2019-01-01", "2019-12-31"),
    ],
)
def test_bounds_of_occurred(text: str, first: str | None, last: str) -> None:
    if not last:
        with pytest.raises(DateRefused, match="X in a range"):
            days(text)
        return
    assert days(text) == (first, last)


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("2025-03-11", "after-recording", "a day not after 10 March 2025"),
        ("2025-04", "after-recording", "after the day of recording"),
        ("Y20250", "after-recording", "after the day of recording"),
        ("1989-12-31", "before-floor", "a day not before 1 January 1990"),
        ("../1985", "before-floor", "before the first day"),
        ("-0999", "before-floor", "before the first day"),
        ("2020/..", "bad-date", "is open"),
        ("2020/", "bad-date", "is unknown"),
        ("/2020", "bad-date", r"write \.\./2020"),
        ("today", "bad-date", "not a date"),
    ],
)
def test_days_that_occurred_does_not_take(text: str, code: str, words: str) -> None:
    with pytest.raises(DateRefused, match=words) as refused:
        days(text)
    assert refused.value.code == code


WHEN = st.dates(date(1985, 1, 1), date(2030, 12, 31))
WRITTEN = st.one_of(
    WHEN.map(date.isoformat),
    WHEN.map(lambda d: d.isoformat()[:7] + "~"),
    WHEN.map(lambda d: f"{d.year}-{21 + d.month % 4}"),
    st.tuples(WHEN, WHEN).map(lambda two: "/".join(d.isoformat() for d in sorted(two))),
    WHEN.map(lambda d: f"../{d.isoformat()}"),
)


@given(WRITTEN, WHEN, WHEN, st.sampled_from(["north", "south"]))
def test_what_is_taken_lies_between_floor_and_recording(text: str, a: date, b: date, hemisphere: str) -> None:
    floor, recorded = sorted((a, b))
    try:
        first, last = days(text, hemisphere, floor, recorded)
    except DateRefused as refused:
        assert refused.code in ("after-recording", "before-floor")  # noqa: PT017 - both outcomes are right
    else:
        assert floor.isoformat() <= (first or floor.isoformat()) <= last <= recorded.isoformat()


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        parse(text)
    except DateRefused as refused:
        assert refused.code == "bad-date"  # noqa: PT017 - a date, or this refusal, and nothing else


WEDNESDAY = date(2025, 12, 31)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("today", "2025-12-31"),
        ("Yesterday", "2025-12-30"),
        ("tuesday", "2025-12-30"),
        ("Thursday ", "2025-12-25"),
        ("2025-03", "2025-03"),
        ("tomorrow", "tomorrow"),
    ],
)
def test_a_day_as_typed(typed: str, meant: str) -> None:
    assert typed_day(typed, WEDNESDAY) == meant


@given(WHEN, st.sampled_from(["monday", "saturday", "sunday"]))
def test_a_weekday_is_one_of_the_six_days_before_or_refused(today: date, name: str) -> None:
    number = {"monday": 0, "saturday": 5, "sunday": 6}[name]
    if today.weekday() == number:  # today, or a week ago?
        with pytest.raises(DateRefused, match=(today - timedelta(days=7)).isoformat()):
            typed_day(name, today)
        return
    meant = date.fromisoformat(typed_day(name, today))
    assert timedelta(days=1) <= today - meant <= timedelta(days=6)
    assert meant.weekday() == number


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2025-12-31", "2025-12-31", "31 December 2025"),
        ("2025-03-01", "2025-03-10", "1 to 10 March 2025"),
        ("2025-03-30", "2025-04-02", "30 March 2025 to 2 April 2025"),
        ("2025-03-01", "2025-03-31", "March 2025"),
        ("2025-12-01", "2026-02-28", "December 2025 to February 2026"),
        ("2025-03-01", "2025-05-31", "March to May 2025"),
        ("2024-01-01", "2024-12-31", "2024"),
        ("2020-01-01", "2024-12-31", "2020 to 2024"),
        ("", "2004-12-31", "by 31 December 2004"),
    ],
)
def test_days_in_words(first: str, last: str, words: str) -> None:
    start = date.fromisoformat(first) if first else None
    assert spoken_range(start, date.fromisoformat(last)) == words


def test_a_day_in_words() -> None:
    assert [spoken(date(2025, month, 1)).split()[1][:3] for month in range(1, 13)] == (
        "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
    )
