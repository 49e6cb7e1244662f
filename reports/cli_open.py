"""`open-items`, `corrections` and `stock-take`: lists a registrar works through, and a sheet that comes back filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reports import cli_say as out
from reports.cli_book import Asked, reading, terminal
from reports.cli_desk import Desk
from reports.cli_guard import REFUSED, Stop
from reports.cli_lists import list_page
from reports.cli_read import period_asked
from reports.cli_record import Ways, finish, write

if TYPE_CHECKING:
    from ledger.outcome import Outcome

STOCK_TAKE: Final = "stock-take-1"  # profile of row keys: a filled sheet read twice is recorded once
_SHEETS: Final = (".csv", ".html")


class Limits(NamedTuple):
    """Days: not seen for longer; ending within so many; a section without a sheet for longer."""

    unseen: int
    ahead: int
    sheets: int


def open_items(asked: Asked, on: str | None, limits: Limits, since: str | None = None, *, every: bool = False) -> None:
    """`tidemark open-items`; as lines of work, or with `every` one line an item. CSV and JSON have one row an item."""
    from reports import open_items as report
    from reports.common import Basis
    from reports.open_groups import grouped

    with reading(asked) as opened:
        book = replace(opened, basis=Basis("both", opened.house))
        day = book.day(on) if on else book.today
        frame = report.open_items(book.copy, book.named(day), book.asof(day), book.house, **limits._asdict())
        frame = frame.filter(frame["since"] >= book.day(since)) if since else frame
    counts = [(item, frame.filter(frame["item"] == item).height) for item in report.ITEMS]
    said = ", ".join(f"{n} {item}" for item, n in counts if n)
    sums = f"{frame.height:,} open: {said}." if said else "Nothing is open."
    head, keep = f"open items on {day}{f', since {since}' if since else ''}", ("item", "what", "about")
    page = list_page(book, head, frame, keep, sums, on=day)
    lines = grouped(frame)
    if not every and lines.height < frame.height:
        short = list_page(book, head, lines, keep, sums, on=day)
        sums = f"{sums} In {lines.height:,} lines; --all shows each."
        page = page._replace(lines=short.lines, columns=short.columns, sums=sums)
    out.show(page, asked.form)


def corrections(asked: Asked, first: str | None, last: str | None, *, completed: bool) -> None:
    """`tidemark corrections`; of days of recording."""
    from reports import corrections as report

    with reading(asked) as book:
        period = period_asked(book, first, last)
        names = book.named(period.last)
        corrected = report.corrections(book.copy, names, period, book.known, book.basis)
        learnt = report.completed(book.copy, names, period, book.known, book.basis)
    frame, other = (learnt, corrected) if completed else (corrected, learnt)
    what = "completed" if completed else "corrections"
    reasons = [(str(word), int(n)) for word, n in frame["reason"].value_counts(sort=True).iter_rows()]
    counted = "correction" if frame.height == 1 and not completed else what
    sums = f"{frame.height:,} {counted}{': ' if reasons else ''}{', '.join(f'{n} {word}' for word, n in reasons)}."
    if other.height:
        more = "corrected" if completed else "completed by what was learnt, no figure moved (--completed lists them)"
        sums += f" {other.height:,} more {more}."
    head = f"{what}, recorded {period.first} to {period.last}"
    keep = ("done", "reason", "what", "changed", "event")
    out.show(list_page(book, head, frame, keep, sums, from_=period.first, to=period.last), asked.form)


# --- stock take -----------------------------------------------------------------------------------


def stock_take(asked: Asked, enclosure: str, on: str | None, into: Path | None) -> None:
    """`tidemark stock-take ENCLOSURE`: what is expected there, as a table or a sheet to fill."""
    from reports import stock_take as report

    if into is not None and into.suffix not in _SHEETS:
        raise Stop(f"A sheet is a {' or '.join(_SHEETS)} file (.csv comes back with --read); not “{into.name}”.")
    if into is not None and into.exists():
        raise Stop(f"Something stands at {into} already; a sheet somebody filled is not written over.")
    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names = book.named(day)
        try:
            place = names.find("enclosure", enclosure)
        except KeyError:
            raise Stop(f"There is no enclosure “{enclosure}” in the book.", REFUSED) from None
        frame = report.expected(book.copy, names, book.asof(day), place)
        text = ""
        if into is not None:
            known = f"{book.instant:%Y-%m-%d %H:%MZ}, @{book.known}"
            text = report.as_csv(frame) if into.suffix == ".csv" else report.as_page(frame, names, place, known)
    if into is None:
        keep = ("number", "taxon", "mfu")
        sums = f"{frame.height:,} numbers are expected there."
        after = f"tidemark stock-take {enclosure} --into sheet.csv"
        what = f"stock take of {enclosure} on {day}"
        return out.show(list_page(book, what, frame, keep, sums, after, on=day), asked.form)
    into.write_text(text, encoding="utf-8")
    out.say(
        f"Wrote {into}: {frame.height:,} numbers expected. A blank says nothing; 0 is a lot of which none was there."
    )
    if into.suffix == ".csv":
        out.say(f"Next: fill the column found, then tidemark stock-take --read {into}")
    return None


def read_back(file: Path, on: str | None, seen_by: Sequence[str], ways: Ways) -> None:
    """`tidemark stock-take --read FILE`: sightings and counts of a filled sheet, shown, then recorded in one batch."""
    from ledger.intake.row_key import row_keys
    from reports import stock_take as report
    from reports.cli_ask import Asking

    try:
        text = file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise Stop(f"{file} is not UTF-8; save the sheet as CSV in UTF-8.") from None
    desk = Desk(ways.book, ways.by)
    try:
        day = _day(desk, on)
        try:
            entries = report.read_back(text, day, _sorts(desk))
        except report.BadSheet as bad:
            raise Stop(f"{file.name}: {bad}. Nothing is recorded.", REFUSED) from None
        if not entries:
            raise Stop(f"Nothing is filled in in {file.name}; blanks say nothing.")
        entries = [{**e, "source": {"kind": "stock_take", "ref": file.name}} for e in entries]
        entries = [{**e, "observed_by": list(seen_by)} for e in entries] if seen_by else entries
        rows = list(zip(entries, row_keys(entries, STOCK_TAKE), strict=True))

        def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
            (outcome,) = desk.book.load([rows], by=desk.by, accept=accept, dry_run=dry)
            return outcome

        out.say(desk.head_line(f"stock take {file.name} of {day} · {len(entries):,} entries"))
        finish(write(desk, attempt, entries, ways, Asking(desk, "", terminal())))
    finally:
        desk.close()


def _day(desk: Desk, on: str | None) -> date:
    try:
        return date.fromisoformat(desk.iso(on)) if on else desk.today()
    except ValueError:
        raise Stop(f"“{on}” is not a day; write 2025-12-31, today, yesterday or the name of a weekday.") from None


def _sorts(desk: Desk) -> dict[str, Any]:
    """Accession number to animal or lot, of all there are."""
    index = desk.book.index
    return {
        text: index.things[id_].sort
        for (space, _, text), id_ in index.names.items()
        if space == "subject" and id_ in index.things
    }
