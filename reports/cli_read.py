"""The reading commands: each asks one report, and says what it stands on in one head line."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reports import cli_say as out
from reports.cli_book import Asked, Reading, reading
from reports.cli_guard import FOUND, Stop, end

if TYPE_CHECKING:
    import polars as pl

    from reports.common import Period

MOST_DAYS: Final = 3_700  # of one question over time: ten years by the day
_DRAWN: Final = (".svg", ".png")
_STEPS: Final = {"day": 0, "week": 0, "month": 1, "quarter": 3, "year": 12}


def census(asked: Asked, on: str | None, keys: str) -> None:
    """`tidemark census`."""
    from reports import census as report
    from reports.cli_pages import census_page

    by = [key.strip() for key in keys.split(",") if key.strip()]
    if not by or any(key not in report.KEYS for key in by):
        raise Stop(f"A census is by {', '.join(report.KEYS)}; not by “{keys}”.")
    with reading(asked) as book:
        day = book.day(on) if on else book.today
        asof = book.asof(day)
        names = book.named(day)
        frame = report.census(book.copy, names, asof, book.basis, by)
        lost = report.lost(book.copy, names, asof, book.basis)
        balance = book.balance(day)
    page = census_page(book, day, by, frame, lost, balance)
    out.show(page, asked.form)
    if balance.wrong:
        end(FOUND)


def year(asked: Asked, number: int, starts: str, *, hint: bool = True) -> None:
    """`tidemark year`."""
    from reports import rollforward as report
    from reports.census import in_part
    from reports.cli_pages import year_page

    period = period_of(number, starts)
    with reading(asked) as book:
        frame = report.rollforward(book.copy, book.named(period.last), period, book.known, book.basis)
        parts = in_part(book.copy, book.named(period.last), book.asof(period.last), book.house, ["class"])
    page = year_page(book, period, frame, f"tidemark report {number}" if hint else "")
    joint = sum(int(part["total"].sum()) for part in parts)
    if joint and book.basis.how == "owned":
        page = page._replace(sums=f"{page.sums} Not in it: {joint:,} ours in part (tidemark census --owned).")
    out.show(page, asked.form)
    if not frame["adds_up"].all():
        end(FOUND)


def register(asked: Asked, first: str | None, last: str | None) -> None:
    """`tidemark register`."""
    from reports import register as report
    from reports.cli_pages import register_page

    with reading(asked) as book:
        period = period_asked(book, first, last)
        frame = report.register(book.copy, book.named(period.last), period, book.known, book.basis)
    out.show(register_page(book, period, frame), asked.form)


def over_time(asked: Asked, first: str | None, last: str | None, every: str, chart: Path | None) -> None:
    """`tidemark over-time`."""
    from reports import over_time as report
    from reports.cli_pages import over_time_page

    if every not in _STEPS:
        raise Stop(f"--every is {', '.join(_STEPS)}; not “{every}”.")
    if chart is not None and chart.suffix not in _DRAWN:
        raise Stop(f"A chart is drawn as {' or '.join(_DRAWN)}; not “{chart.name}”.")
    with reading(asked) as book:
        end_day = book.day(last) if last else book.today
        begin = book.day(first) if first else _back(end_day, 12)
        days = days_of(begin, end_day, every)
        frame = report.over_time(book.copy, book.named(end_day), days, book.known, book.basis)
    page = over_time_page(book, begin, end_day, frame)
    out.show(page, asked.form)
    if chart is not None:
        _draw(frame, page.head, chart)
        out.say(f"Drawn in {chart}.", err=True)


def _draw(frame: pl.DataFrame, head: str, chart: Path) -> None:
    """Small lines, one a class, to a file; the head line over them says what they stand on."""
    from reports import charts, theme

    if frame.is_empty():
        raise Stop("There is nothing to draw.")
    alt = theme.altair()
    drawn = [
        charts.line(points, " · ".join(str(w).replace("_", " ") for w in key if w not in ("animals", "collection")))
        for key, points in frame.group_by("class", "unit", "standing", maintain_order=True)
    ]
    for small in drawn:
        for whole in ("autosize", "background", "config", "padding"):
            small[whole] = alt.Undefined  # said once, of all of them together
    alt.concat(*drawn, columns=4, title=head, background="white").save(str(chart), scale_factor=2)


# --- days -------------------------------------------------------------------------------------


def period_of(number: int, starts: str) -> Period:
    """The year that starts on `MM-DD` of a calendar year."""
    from reports.common import year as year_from

    try:
        month, day = (int(part) for part in starts.split("-"))
        return year_from(number, month, day)
    except ValueError:
        raise Stop(f"“{starts}” starts no year; write --starts 04-01 for 1 April (29 February cannot be).") from None


def period_asked(book: Reading, first: str | None, last: str | None) -> Period:
    """The days from `first` to `last` as typed; without them, this year up to today."""
    from reports.common import Period

    end_day = book.day(last) if last else book.today
    begin = book.day(first) if first else date(end_day.year, 1, 1)
    if begin > end_day:
        raise Stop(f"The period begins on {begin}, after its end on {end_day}; turn --from and --to round.")
    return Period(begin, end_day)


def days_of(first: date, last: date, every: str) -> list[date]:
    """The days of a series: from `last` backwards by steps, so that the last day asked about is always one."""
    if first > last:
        raise Stop(f"The period begins on {first}, after its end on {last}; turn --from and --to round.")
    days: list[date] = []
    day, n = last, 0
    while day >= first:
        days.append(day)
        if len(days) > MOST_DAYS:
            raise Stop(f"More than {MOST_DAYS} days; take a longer step with --every, or a shorter period.")
        n += 1
        months = _STEPS[every]
        day = _back(last, n * months) if months else last - timedelta(days=n * (7 if every == "week" else 1))
    return days[::-1]


def _back(day: date, months: int) -> date:
    """So many months before; the end of a month goes to the end of a month."""
    month = day.year * 12 + day.month - 1 - months
    if month < 12:
        return date.min
    year, month = divmod(month, 12)
    length = monthrange(year, month + 1)[1]
    at_end = day.day == monthrange(day.year, day.month)[1]
    return date(year, month + 1, length if at_end else min(day.day, length))
