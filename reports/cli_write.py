"""The commands that write, with their options; what they do is imported when it is asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reports.cli_options import Accept, Because, BookAt, By, DryRun, Event, Fields, Flag, Reason, Yes


def add(app: typer.Typer) -> None:
    """Give the commands to the app, in the order of its help."""
    app.command(short_help="Begin a book.")(new)
    app.command(short_help="Record what happened.")(record)
    app.command(short_help="Load files of entries.")(load)
    app.command(short_help="Put an event right.")(correct)
    app.command("strike-out", short_help="Strike an event out, for good.")(strike_out)
    app.command(short_help="Put two swapped animals round.")(reassign)


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
    observed_by=, source=. A field that takes several is given again: order=A order=B. For several animals
    that arrive, count=12 and the first number. At a terminal missing fields are asked for.
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
    aside: Annotated[
        Path | None, Flag("--set-aside", metavar="FILE", help="Land the good rows; the rest go here, with why.")
    ] = None,
) -> None:
    """Load files of entries: judged whole first, then written; a repeat goes on where it stopped.

    Any refusal keeps the whole file out, unless --set-aside names a new file: then rows that share no animal
    or lot with a refused one land, and the others go there with their findings, to be mended and loaded again.
    """
    from reports import cli_load
    from reports.cli_record import Ways

    cli_load.load(files, Ways(book, by, accept or [], because, dry_run), aside)


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
    with_all: Annotated[bool, Flag("--with-all", help="And all that hangs on it; shown first, and asked for.")] = False,
    yes: Yes = False,
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Strike an event out, with all its corrections. That is final; what did happen is entered anew."""
    from reports import cli_record

    ways = cli_record.Ways(book, by, accept or [], because, dry_run)
    if with_all:
        from reports import cli_strike

        cli_strike.strike_out(event, reason, ways, yes=yes)
    else:
        cli_record.strike_out(event, reason, ways)


def reassign(
    one: Annotated[str, typer.Argument(metavar="A", help="Accession number of the one.")],
    other: Annotated[str, typer.Argument(metavar="B", help="And of the other.")],
    first: Annotated[str, Flag("--from", metavar="DAY", help="The first day on which they were swapped.")],
    last: Annotated[str | None, Flag("--until", metavar="DAY", help="The last such day; else today.")] = None,
    yes: Yes = False,
    book: BookAt = None,
    by: By = None,
    accept: Accept = None,
    because: Because = None,
    dry_run: DryRun = False,
) -> None:
    """Two animals were taken for one another: what was entered of A is entered anew for B, and the other way.

    One batch strikes the entries of that time out and enters them anew, each naming the one it replaces.
    Arrivals stay. It shows what moves, and asks; without a terminal --yes is needed, and always --because.
    """
    from reports import cli_reassign
    from reports.cli_record import Ways

    cli_reassign.reassign(one, other, first, last, Ways(book, by, accept or [], because, dry_run), yes=yes)
