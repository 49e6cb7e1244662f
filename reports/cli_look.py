"""The commands that a registrar looks things up with, with their options; what they do is imported when asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reports.cli_options import (
    Accept,
    Because,
    BookAt,
    By,
    DryRun,
    Event,
    Flag,
    Form,
    From,
    House,
    KnownAt,
    On,
    Owned,
    To,
)


def add(app: typer.Typer) -> None:
    """Give the commands to the app, in the order of its help."""
    app.command("open-items", short_help="What the record waits for.")(open_items)
    app.command("stock-take", short_help="A sheet to fill, and back.")(stock_take)
    app.command(short_help="What was put right, and why.")(corrections)
    app.command(short_help="The entries as recorded.")(log)
    app.command(short_help="One entry whole.")(show)


def open_items(
    on: On = None,
    unseen: Annotated[int, Flag("--unseen", metavar="DAYS", min=1, help="Not seen for longer than that.")] = 90,
    ahead: Annotated[int, Flag("--ahead", metavar="DAYS", min=0, help="What ends within so many days.")] = 60,
    sheets: Annotated[int, Flag("--sheets", metavar="DAYS", min=1, help="No day sheet for longer than that.")] = 7,
    since: Annotated[
        str | None, Flag("--since", metavar="DAY", help="Only what is open since that day or later.")
    ] = None,
    every: Annotated[bool, Flag("--all", help="A line for each, not one for the deaths of a lot.")] = False,
    known_at: KnownAt = None,
    house: House = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """What is still to be filled, answered or renewed: causes, sexes, owners, permits, loans, questions, sheets."""
    from reports import cli_book, cli_open

    asked = cli_book.Asked(book, known_at, house, owned=False, form=form)
    cli_open.open_items(asked, on, cli_open.Limits(unseen, ahead, sheets), since, every=every)


def stock_take(
    enclosure: Annotated[str | None, typer.Argument(metavar="[ENCLOSURE]", show_default=False)] = None,
    on: On = None,
    into: Annotated[Path | None, Flag("--into", metavar="FILE", help="The sheet, as .csv or .html to print.")] = None,
    read: Annotated[Path | None, Flag("--read", metavar="FILE", help="A filled sheet (.csv), to be recorded.")] = None,
    seen_by: Annotated[list[str] | None, Flag("--seen-by", metavar="CODE", help="Who counted; with --read.")] = None,
    known_at: KnownAt = None,
    form: Form = "table",
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """What is expected in an enclosure, as a sheet to fill; with --read the filled sheet comes back as entries.

    A blank says nothing: neither not seen nor zero. --on is the day of the stock take, else today.
    """
    from reports import cli_book, cli_open
    from reports.cli_guard import Stop
    from reports.cli_record import Ways

    if (enclosure is None) == (read is None):
        raise Stop("Name an enclosure to get its sheet, or --read FILE to record a filled one.")
    if read is not None:
        cli_open.read_back(read, on, seen_by or [], Ways(book, by, accept or [], because, dry_run))
    elif enclosure is not None:
        cli_open.stock_take(cli_book.Asked(book, known_at, None, owned=False, form=form), enclosure, on, into)


def corrections(
    first: From = None,
    last: To = None,
    completed: Annotated[bool, Flag("--completed", help="What was learnt later and filled in, instead.")] = False,
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """What was corrected or struck out, by days of recording: by whom, why, and what it moved; else of this year.

    Slips, mistakes and merged records are told apart. What was learnt later completes an entry: --completed.
    """
    from reports import cli_book, cli_open

    cli_open.corrections(cli_book.Asked(book, known_at, house, owned, form), first, last, completed=completed)


def log(
    last: Annotated[
        int | None, Flag("--last", metavar="N", min=1, help="The newest N; else 20, or 200 of a search.")
    ] = None,
    animal: Annotated[str | None, Flag("--animal", metavar="NUMBER", help="About this animal or lot.")] = None,
    first: Annotated[str | None, Flag("--from", metavar="DAY", help="Recorded on that day or later.")] = None,
    until: Annotated[str | None, Flag("--to", metavar="DAY", help="Recorded on that day or before.")] = None,
    on: Annotated[str | None, Flag("--on", metavar="DAY", help="That can have occurred on this day.")] = None,
    kind: Annotated[str | None, Flag("--kind", metavar="KIND", help="Of this kind.")] = None,
    by: Annotated[str | None, Flag("--by", metavar="CODE", help="Written by this person.")] = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """The entries as they were recorded, the newest last, each with its number for `correct` and `show`."""
    from reports import cli_log

    cli_log.log(book, cli_log.Sought(last, animal, first, until, on, kind, by), form)


def show(
    event: Event, form: Annotated[str, Flag("--format", help="table or json.")] = "table", book: BookAt = None
) -> None:
    """One entry whole: its fields, its texts opened, its corrections, and what it did to the figures."""
    from reports import cli_show

    cli_show.show(event, book, form)
