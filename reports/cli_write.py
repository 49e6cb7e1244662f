"""The commands that write, with their options; what they do is imported when it is asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reports.cli_options import Accept, Because, BookAt, By, DryRun, Event, Fields, Flag, Reason


def add(app: typer.Typer) -> None:
    """Give the commands to the app, in the order of its help."""
    app.command(short_help="Begin a book.")(new)
    app.command(short_help="Record what happened.")(record)
    app.command(short_help="Load files of entries.")(load)
    app.command(short_help="Put an event right.")(correct)
    app.command("strike-out", short_help="Strike an event out, for good.")(strike_out)


def new(
    book: BookAt = None,
    house: Annotated[str | None, Flag("--house", help="Name of the first house.")] = None,
    code: Annotated[str | None, Flag("--code", help="Its short code.")] = None,
    zone: Annotated[str | None, Flag("--time-zone", help="Its time zone, such as Europe/Lisbon.")] = None,
    hemisphere: Annotated[str | None, Flag("--hemisphere", help="north or south, for seasons.")] = None,
    pattern: Annotated[str | None, Flag("--number-pattern", help="Of accession numbers: MS-{year}-{n:04}.")] = None,
    person: Annotated[str | None, Flag("--person", help="Short code of the first person.")] = None,
    name: Annotated[str | None, Flag("--name", help="Name of the first person.")] = None,
) -> None:
    """Begin a book: its first event, the first person and the first house."""
    from reports import cli_new

    cli_new.new(book, house, code, zone, hemisphere, pattern, person, name)


def record(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="What happened; `tidemark kinds` lists them.")],
    fields: Fields = None,
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Record what happened, and show what it does before it is written.

    Fields are those of the kind, and occurred= (2026-03-04, 2026-03, today, yesterday, monday),
    observed_by=, source=. For several animals that arrive, count=12 and the first number.
    At a terminal missing fields are asked for.
    """
    from reports import cli_record

    cli_record.record(kind, fields or [], cli_record.Ways(book, by, accept or [], because, dry_run))


def load(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="JSON Lines: an entry a line.")],
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Load files of entries: judged whole first, then written; a repeat goes on where it stopped."""
    from reports import cli_load
    from reports.cli_record import Ways

    cli_load.load(files, Ways(book, by, accept or [], because, dry_run))


def correct(
    event: Event,
    reason: Reason,
    fields: Fields = None,
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Put an event right: what is given replaces those fields, the rest stays. The old one stays readable."""
    from reports import cli_record

    cli_record.correct(event, fields or [], reason, cli_record.Ways(book, by, accept or [], because, dry_run))


def strike_out(
    event: Event,
    reason: Reason,
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Strike an event out, with all its corrections. That is final; what did happen is entered anew."""
    from reports import cli_record

    cli_record.strike_out(event, reason, cli_record.Ways(book, by, accept or [], because, dry_run))
